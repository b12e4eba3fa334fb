#include "sim/numeric/scaled_real.hpp"

#include <cmath>  // ldexp only: exact everywhere
#include <limits>

#include "proto/contract.hpp"

namespace sim {

ScaledReal::ScaledReal(double value) {
    proto::require(value >= 0.0 && value <= std::numeric_limits<double>::max(), "ScaledReal: finite, not negative");
    constexpr int stored_bits = 52, least_exponent = -1074;
    const auto bits = std::bit_cast<std::uint64_t>(value);
    const auto field = static_cast<std::int64_t>(bits << 1 >> (stored_bits + 1));
    const std::uint64_t stored = bits & ((std::uint64_t{1} << stored_bits) - 1);
    *this = field == 0 ? normal(stored, least_exponent)
                       : normal(stored | std::uint64_t{1} << stored_bits, least_exponent + field - 1);
}

double ScaledReal::to_double() const {
    constexpr std::int64_t far = 3000;  // beyond any double, either way
    const std::int64_t power = std::clamp(exponent_, -far, far);
    return std::ldexp(static_cast<double>(mantissa_), static_cast<int>(power));
}

ScaledReal operator/(ScaledReal a, ScaledReal b) {
    proto::require(!b.is_zero(), "ScaledReal: division by zero");
    if (a.is_zero()) return {};
    using Double = ScaledReal::Double;
    // two digits to the base 2^62 of a quotient in [1/2, 2)
    const Double first = (Double{a.mantissa_} << 62) / b.mantissa_;
    const Double rest = (Double{a.mantissa_} << 62) % b.mantissa_;
    return ScaledReal::rounded((first << 63) + (rest << 63) / b.mantissa_, a.exponent_ - b.exponent_ - 125);
}

ScaledReal apart(ScaledReal a, ScaledReal b) {
    if (a < b) std::swap(a, b);
    const std::int64_t lower = a.exponent_ - b.exponent_;
    if (lower > 66) return a;
    const ScaledReal::Double high = ScaledReal::Double{a.mantissa_} << 63;
    ScaledReal::Double left = high - (ScaledReal::Double{b.mantissa_} << 63 >> lower);
    if (left == 0) return {};
    const auto upper = static_cast<std::uint64_t>(left >> 64);
    const int shift = upper != 0 ? std::countl_zero(upper) : 64 + std::countl_zero(static_cast<std::uint64_t>(left));
    left <<= shift;
    return ScaledReal::rounded(left, a.exponent_ - 63 - shift);
}

ScaledReal power_of(ScaledReal base, std::uint64_t power) {
    ScaledReal result(1U);
    for (; power != 0; power >>= 1) {
        if ((power & 1) != 0) result *= base;
        base *= base;
    }
    return result;
}

// With f(m) = 1 - (1 - p)^m: f(2m) = f(m) (2 - f(m)) and f(m + 1) = f(m) + (1 - f(m)) p.
ScaledReal once_in(double p, std::uint64_t times) {
    proto::require(p >= 0.0 && p <= 1.0, "once_in: a probability");
    const ScaledReal one(1U), two(2U), each(p);
    ScaledReal result;
    for (int bit = 63; bit >= 0; --bit) {
        result = result * apart(two, result);
        if ((times >> bit & 1) != 0) result += apart(one, result) * each;
    }
    return result;
}

}  // namespace sim
