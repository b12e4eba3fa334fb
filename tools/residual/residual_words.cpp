#include "tools/residual/residual_words.hpp"

#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>

#include "sim/scenario/units.hpp"

namespace tools {

namespace {

/// Of a number beyond what a double holds: it is brought to one digit before the point by powers of ten, which keep
/// far more digits than are shown.
std::string far_out(sim::ScaledReal value) {
    const sim::ScaledReal ten(10U), one(1U);
    constexpr double log10_of_2 = 0.30102999566398120;
    auto power = static_cast<std::int64_t>(static_cast<double>(value.exponent() + 63) * log10_of_2);
    const sim::ScaledReal scale = power_of(ten, static_cast<std::uint64_t>(power < 0 ? -power : power));
    value = power < 0 ? value * scale : value / scale;
    for (; value < one; --power) value *= ten;
    for (; value.to_double() >= 9.99995; ++power) value = value / ten;
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), "%.4fe%+03lld", value.to_double(), static_cast<long long>(power));
    return text.data();
}

}  // namespace

std::string scientific(double value) {
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), "%.4e", value);
    return value == 0 ? "0" : text.data();
}
std::string scientific(sim::ScaledReal value) {
    const double near = value.to_double();
    const bool held = std::isnormal(near) || value.is_zero();
    return held ? scientific(near) : far_out(value);
}
std::string rate_text(double rate) {
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), "%.4g", rate);
    return text.data();
}
std::string factor_text(double factor) {
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), factor < 1e4 ? "%.2f" : "%.1e", factor);
    return text.data();
}
double factor_of(const ResidualRow& row) {
    return row.customary.is_zero() ? 0.0 : (row.exact.value_or(row.at_most) / row.customary).to_double();
}

std::string polynomial_of(const sim::Generator& generator) {
    return sim::written_hex(generator.polynomial, (generator.width + 3) / 4);
}

std::string hd_text(const ResidualStudy& study) {
    return (study.hd_is_bound ? "at least " : "") + std::to_string(study.hd);
}

std::string level_text(unsigned level) { return level == 0 ? "none" : "SIL " + std::to_string(level); }

}  // namespace tools
