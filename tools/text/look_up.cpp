#include "tools/text/look_up.hpp"

#include <array>
#include <cmath>
#include <cstdio>

namespace tools {

bool is_null(const Value& value) { return std::holds_alternative<Value::Null>(value.content()); }

const Value& look_up(const Value& document, std::string_view key) {
    static const Value nothing;
    const Value* found = document.find(key);
    return found != nullptr ? *found : nothing;
}

std::optional<double> number_of(const Value& value) {
    const Value::Content& content = value.content();
    if (const auto* number = std::get_if<double>(&content)) return *number;
    if (const auto* number = std::get_if<std::int64_t>(&content)) return static_cast<double>(*number);
    if (const auto* number = std::get_if<std::uint64_t>(&content)) return static_cast<double>(*number);
    return std::nullopt;
}

std::uint64_t count_of(std::optional<double> value) {
    constexpr double most = 9007199254740992.0;
    return value && *value >= 0.0 && *value <= most ? static_cast<std::uint64_t>(*value) : 0;
}

const Value::List& items_of(const Value& value) {
    static const Value::List nothing;
    return value.list() != nullptr ? *value.list() : nothing;
}

std::string tenths(std::optional<double> value, Rounding rounding) {
    if (!value || !std::isfinite(*value)) return "-";
    // a millionth of a tenth is an error of the binary form, not of what was measured
    constexpr double slack = 1e-6;
    const double scaled = *value * 10.0;
    double whole = rounding == Rounding::up ? std::ceil(scaled - slack) : std::floor(scaled + slack);
    if (whole == 0.0) whole = 0.0;  // never "-0"
    std::array<char, 64> text{};
    std::snprintf(text.data(), text.size(), std::fmod(whole, 10.0) == 0.0 ? "%.0f" : "%.1f", whole / 10.0);
    return text.data();
}

std::string tenths(const Value& value, Rounding rounding) { return tenths(number_of(value), rounding); }

namespace {

std::string raised(int power) {
    constexpr const char* digits[] = {"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"};
    std::string out = power < 0 ? "⁻" : "";
    for (const char c : std::to_string(std::abs(power))) out += digits[c - '0'];
    return out;
}

}  // namespace

std::string figure(std::optional<double> value) {
    if (!value) return "-";
    const double v = *value;
    if (!std::isfinite(v)) return "-";
    std::array<char, 64> text{};
    const double size = std::fabs(v);
    const bool near_one = v == 0.0 || (size >= 0.01 && size < 1e6);
    if (near_one && v == std::floor(v)) {
        const std::string digits = grouped(static_cast<std::uint64_t>(size));
        return v < 0 ? "-" + digits : digits;
    }
    if (near_one) {
        std::snprintf(text.data(), text.size(), "%.3g", v);
        if (std::string_view(text.data()).find('e') == std::string_view::npos) return text.data();
    }
    std::snprintf(text.data(), text.size(), "%.2e", v);
    const std::string whole = text.data();
    const std::size_t e = whole.find('e');
    std::string mantissa = whole.substr(0, e);
    while (mantissa.back() == '0') mantissa.pop_back();
    if (mantissa.back() == '.') mantissa.pop_back();
    return mantissa + " × 10" + raised(std::stoi(whole.substr(e + 1)));
}

}  // namespace tools
