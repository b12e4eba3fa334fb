#include "sim/reading/value_quantities.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <optional>
#include <span>
#include <utility>

#include "sim/reading/section.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

/// A plain number is kept in millionths; it is read as a quantity of a unit that nobody types.
constexpr std::array<Unit, 1> plain_table{{{"1", 1'000'000}}};

std::span<const Unit> units_of(ValueUnit unit) {
    switch (unit) {
        case ValueUnit::none: return plain_table;
        case ValueUnit::speed: return speed_units();
        case ValueUnit::length: return length_units();
        case ValueUnit::duration: return duration_units();
        case ValueUnit::angle: return angle_units();
        case ValueUnit::acceleration: return acceleration_units();
    }
    return plain_table;
}

/// As it would be written as a text; nothing for what is neither text nor number.
std::optional<std::string> text_of(const Node& node) {
    if (node.kind == Node::Kind::text) return node.text;
    if (node.kind == Node::Kind::integer) return std::to_string(node.integer);
    if (node.kind != Node::Kind::number || !std::isfinite(node.number)) return std::nullopt;
    std::array<char, 400> digits{};
    const auto written =
        std::to_chars(digits.data(), digits.data() + digits.size(), node.number, std::chars_format::fixed);
    if (written.ec != std::errc{}) return std::nullopt;
    return std::string(digits.data(), written.ptr);
}

proto::Result<std::int64_t, QuantityFault> parsed(const std::string& text, ValueUnit unit) {
    return parse_quantity(unit == ValueUnit::none ? text + " 1" : text, units_of(unit));
}

std::string words_of(QuantityFault fault, const std::string& typed, ValueUnit unit) {
    const bool plain = unit == ValueUnit::none;
    const std::string example = plain ? "12.5" : "\"" + in_words(5'000'000, unit) + "\"";
    switch (fault) {
        case QuantityFault::too_fine:
            return in_quotes(typed) +
                   (plain ? " is finer than a millionth; write fewer decimals"
                          : " is finer than 1 " + std::string(units_of(unit).front().name) + "; write fewer decimals");
        case QuantityFault::too_large: return in_quotes(typed) + " is too large; write a value such as " + example;
        case QuantityFault::no_unit: return in_quotes(typed) + " has no unit; write a value such as " + example;
        case QuantityFault::no_number:
        case QuantityFault::unknown_unit: break;
    }
    return in_quotes(typed) +
           (plain ? " is no plain number, as its scale is; write a value such as "
                  : " is no number with a unit of its scale's kind; write a value such as ") +
           example;
}

}  // namespace

proto::Result<Scale, std::string> scale_in(const Node& node) {
    const std::optional<std::string> text = text_of(node);
    if (!text) return std::string("is no scale; write what one count is, such as \"0.1 mm/s\" or 0.1");
    for (const ValueUnit unit : {ValueUnit::none, ValueUnit::speed, ValueUnit::length, ValueUnit::duration,
                                 ValueUnit::angle, ValueUnit::acceleration}) {
        const auto read = parsed(*text, unit);
        if (read) {
            if (read.value() <= 0) return in_quotes(*text) + " is no scale; write more than 0, such as \"0.1 mm/s\"";
            return Scale{read.value(), unit};
        }
        if (read.error() == QuantityFault::too_fine || read.error() == QuantityFault::too_large)
            return words_of(read.error(), *text, unit);
    }
    return in_quotes(*text) + " is no scale; write what one count is, such as \"0.1 mm/s\" or 0.1";
}

proto::Result<std::int64_t, std::string> quantity_of(const Node& node, ValueUnit unit) {
    const std::optional<std::string> text = text_of(node);
    if (!text) return "is no quantity; write a value such as \"" + in_words(5'000'000, unit) + "\"";
    const auto read = parsed(*text, unit);
    if (!read) return words_of(read.error(), *text, unit);
    return read.value();
}

}  // namespace sim
