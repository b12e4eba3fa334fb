#include "sim/scenario/units.hpp"

#include <algorithm>
#include <array>

namespace sim {
namespace {

constexpr std::array<Unit, 6> duration_table{{{"ns", 1},
                                              {"us", 1'000},
                                              {"ms", 1'000'000},
                                              {"s", 1'000'000'000},
                                              {"min", 60'000'000'000},
                                              {"h", 3'600'000'000'000}}};
constexpr std::array<Unit, 3> speed_table{{{"um/s", 1}, {"mm/s", 1'000}, {"m/s", 1'000'000}}};
constexpr std::array<Unit, 4> length_table{{{"um", 1}, {"mm", 1'000}, {"cm", 10'000}, {"m", 1'000'000}}};
constexpr std::array<Unit, 1> angle_table{{{"deg", 1'000}}};
constexpr std::array<Unit, 3> acceleration_table{{{"um/s2", 1}, {"mm/s2", 1'000}, {"m/s2", 1'000'000}}};

constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view trimmed(std::string_view text) {
    while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
    while (!text.empty() && text.back() == ' ') text.remove_suffix(1);
    return text;
}

std::string_view leading_digits(std::string_view text) {
    std::size_t n = 0;
    while (n < text.size() && is_digit(text[n])) ++n;
    return text.substr(0, n);
}

/// total = total * by + more, or false on overflow.
bool extend(std::int64_t& total, std::int64_t by, std::int64_t more) {
    return !__builtin_mul_overflow(total, by, &total) && !__builtin_add_overflow(total, more, &total);
}

}  // namespace

std::span<const Unit> duration_units() { return duration_table; }
std::span<const Unit> speed_units() { return speed_table; }
std::span<const Unit> length_units() { return length_table; }
std::span<const Unit> angle_units() { return angle_table; }
std::span<const Unit> acceleration_units() { return acceleration_table; }

proto::Result<std::int64_t, QuantityFault> parse_quantity(std::string_view text, std::span<const Unit> units) {
    text = trimmed(text);
    const bool negative = !text.empty() && text.front() == '-';
    if (negative) text.remove_prefix(1);
    const std::string_view whole = leading_digits(text);
    if (whole.empty()) return QuantityFault::no_number;
    text.remove_prefix(whole.size());
    std::string_view fraction;
    if (!text.empty() && text.front() == '.') {
        text.remove_prefix(1);
        fraction = leading_digits(text);
        if (fraction.empty()) return QuantityFault::no_number;
        text.remove_prefix(fraction.size());
    }
    const std::string_view unit_name = trimmed(text);
    if (unit_name.empty()) return QuantityFault::no_unit;
    const auto unit = std::find_if(units.begin(), units.end(), [&](const Unit& u) { return u.name == unit_name; });
    if (unit == units.end()) return QuantityFault::unknown_unit;

    std::int64_t total = 0;
    for (const char c : whole) {
        if (!extend(total, 10, c - '0')) return QuantityFault::too_large;
    }
    if (__builtin_mul_overflow(total, unit->factor, &total)) return QuantityFault::too_large;
    std::int64_t place = unit->factor;  // worth of the digit before
    for (const char c : fraction) {
        if (c != '0' && place % 10 != 0) return QuantityFault::too_fine;
        place /= 10;
        if (!extend(total, 1, (c - '0') * place)) return QuantityFault::too_large;
    }
    return negative ? -total : total;
}

std::string written(proto::Duration duration) {
    const std::string sign = duration.ns < 0 ? "-" : "";
    const std::uint64_t ns =
        duration.ns < 0 ? ~static_cast<std::uint64_t>(duration.ns) + 1 : static_cast<std::uint64_t>(duration.ns);
    constexpr std::uint64_t ms = 1'000'000, s = 1'000 * ms, min = 60 * s, h = 60 * min;
    if (ns >= h && ns % h == 0) return sign + std::to_string(ns / h) + " h";
    if (ns >= min && ns % min == 0) return sign + std::to_string(ns / min) + " min";
    if (ns >= s && ns % s == 0) return sign + std::to_string(ns / s) + " s";
    std::string text = std::to_string(ns / ms);
    if (ns % ms != 0) {
        std::string digits = std::to_string(ns % ms);
        digits.insert(0, 6 - digits.size(), '0');
        while (digits.back() == '0') digits.pop_back();
        text += '.';
        text += digits;
    }
    return sign + text + " ms";
}

std::string written_hex(std::uint64_t value, unsigned digits) {
    std::string text;
    for (; value != 0; value >>= 4U) text.insert(text.begin(), "0123456789ABCDEF"[value & 0xFU]);
    if (text.size() < std::max(digits, 1U)) text.insert(0, std::max(digits, 1U) - text.size(), '0');
    return "0x" + text;
}

}  // namespace sim
