#pragma once
// Numbers that are not negative, with 64 bits of mantissa and as good as any exponent: counts of code words and their
// probabilities go from 10^4000 down to 10^-4000. Made of whole numbers only, so that every machine has the same bits;
// what a compiler calls `long double` is another type on each.
#include <algorithm>
#include <bit>
#include <compare>
#include <cstdint>
#include <utility>

namespace sim {

/// mantissa * 2^exponent. Each operation rounds to nearest: its relative error is at most 2^-64.
class ScaledReal {
  public:
    constexpr ScaledReal() = default;
    /// Exactly.
    constexpr explicit ScaledReal(std::uint64_t value) : ScaledReal(normal(value, 0)) {}
    constexpr explicit ScaledReal(unsigned value) : ScaledReal(std::uint64_t{value}) {}
    /// Exactly. Requires 0 <= value < infinity.
    explicit ScaledReal(double value);
    /// Within one unit of the last digit; 0 or infinity beyond the range of a double.
    [[nodiscard]] double to_double() const;

    [[nodiscard]] constexpr bool is_zero() const { return mantissa_ == 0; }
    [[nodiscard]] constexpr std::uint64_t mantissa() const { return mantissa_; }
    [[nodiscard]] constexpr std::int64_t exponent() const { return exponent_; }
    /// This times 2^power, exactly.
    [[nodiscard]] constexpr ScaledReal times_power_of_two(std::int64_t power) const {
        return is_zero() ? *this : ScaledReal(mantissa_, exponent_ + power);
    }

    friend constexpr ScaledReal operator+(ScaledReal a, ScaledReal b) {
        if (a.exponent_ < b.exponent_) std::swap(a, b);
        const std::int64_t lower = a.exponent_ - b.exponent_;
        if (lower > 66 || b.is_zero()) return a;
        return rounded((Double{a.mantissa_} << 62) + (Double{b.mantissa_} << 62 >> lower), a.exponent_ - 62);
    }
    friend constexpr ScaledReal operator*(ScaledReal a, ScaledReal b) {
        if (a.is_zero() || b.is_zero()) return {};
        return rounded(Double{a.mantissa_} * b.mantissa_, a.exponent_ + b.exponent_);
    }
    /// Requires b > 0.
    friend ScaledReal operator/(ScaledReal a, ScaledReal b);
    /// |a - b|.
    friend ScaledReal apart(ScaledReal a, ScaledReal b);
    constexpr ScaledReal& operator+=(ScaledReal other) { return *this = *this + other; }
    constexpr ScaledReal& operator*=(ScaledReal other) { return *this = *this * other; }

    friend constexpr bool operator==(ScaledReal, ScaledReal) = default;
    friend constexpr std::strong_ordering operator<=>(ScaledReal a, ScaledReal b) {
        if (a.exponent_ != b.exponent_) return a.exponent_ <=> b.exponent_;
        return a.mantissa_ <=> b.mantissa_;
    }

  private:
    __extension__ using Double = unsigned __int128;
    static constexpr std::int64_t of_zero = -(std::int64_t{1} << 60);  ///< below every other, so that zero is least

    constexpr ScaledReal(std::uint64_t mantissa, std::int64_t exponent) : mantissa_(mantissa), exponent_(exponent) {}

    static constexpr ScaledReal normal(std::uint64_t value, std::int64_t exponent) {
        if (value == 0) return {};
        const int shift = std::countl_zero(value);
        return {value << shift, exponent - shift};
    }
    /// value * 2^exponent; requires value >= 2^124.
    static constexpr ScaledReal rounded(Double value, std::int64_t exponent) {
        const int shift = std::countl_zero(static_cast<std::uint64_t>(value >> 64));
        value <<= shift;
        const std::uint64_t up = static_cast<std::uint64_t>(value) >> 63;
        const std::uint64_t mantissa = static_cast<std::uint64_t>(value >> 64) + up;
        // all ones that were rounded up are a power of two
        if (mantissa == 0) return {std::uint64_t{1} << 63, exponent + 65 - shift};
        return {mantissa, exponent + 64 - shift};
    }

    std::uint64_t mantissa_ = 0;  ///< its highest bit is set, but for zero
    std::int64_t exponent_ = of_zero;
};

/// base^power, with a relative error of at most 2^-63 * power.
ScaledReal power_of(ScaledReal base, std::uint64_t power);

/// 1 - (1 - p)^times without cancellation. Requires 0 <= p <= 1.
ScaledReal once_in(double p, std::uint64_t times);

}  // namespace sim
