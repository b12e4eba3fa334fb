#include "sim/scenario/values.hpp"

#include <algorithm>
#include <limits>

#include "sim/scenario/units.hpp"

namespace sim {
namespace {

/// Exact: so many whole units of `per_unit` smallest ones, and its decimals.
std::string decimal(std::int64_t quantity, std::int64_t per_unit) {
    const bool negative = quantity < 0;
    const std::uint64_t size =
        negative ? ~static_cast<std::uint64_t>(quantity) + 1 : static_cast<std::uint64_t>(quantity);
    const auto unit = static_cast<std::uint64_t>(per_unit);
    std::string text = (negative ? "-" : "") + std::to_string(size / unit);
    if (size % unit == 0) return text;
    const std::size_t places = std::to_string(per_unit).size() - 1;  // a power of ten
    std::string digits = std::to_string(size % unit);
    digits.insert(0, places - digits.size(), '0');
    while (digits.back() == '0') digits.pop_back();
    return text + "." + digits;
}

}  // namespace

std::string_view name_of(ValueType type) {
    switch (type) {
        case ValueType::u8: return "u8";
        case ValueType::u16: return "u16";
        case ValueType::i16: return "i16";
        case ValueType::u32: return "u32";
        case ValueType::i32: return "i32";
    }
    return "?";
}

unsigned bytes_of(ValueType type) {
    switch (type) {
        case ValueType::u8: return 1;
        case ValueType::u16:
        case ValueType::i16: return 2;
        case ValueType::u32:
        case ValueType::i32: return 4;
    }
    return 1;
}

std::int64_t lowest_count(ValueType type) {
    switch (type) {
        case ValueType::i16: return std::numeric_limits<std::int16_t>::min();
        case ValueType::i32: return std::numeric_limits<std::int32_t>::min();
        case ValueType::u8:
        case ValueType::u16:
        case ValueType::u32: return 0;
    }
    return 0;
}

std::int64_t highest_count(ValueType type) {
    switch (type) {
        case ValueType::u8: return std::numeric_limits<std::uint8_t>::max();
        case ValueType::u16: return std::numeric_limits<std::uint16_t>::max();
        case ValueType::i16: return std::numeric_limits<std::int16_t>::max();
        case ValueType::u32: return std::numeric_limits<std::uint32_t>::max();
        case ValueType::i32: return std::numeric_limits<std::int32_t>::max();
    }
    return 0;
}

std::string_view name_of(ValueOrder order) {
    switch (order) {
        case ValueOrder::high_first: return "high-first";
        case ValueOrder::low_first: return "low-first";
        case ValueOrder::word_swapped: return "word-swapped";
    }
    return "?";
}

std::string_view words_of(ValueOrder order) {
    switch (order) {
        case ValueOrder::high_first: return "high byte first";
        case ValueOrder::low_first: return "low byte first";
        case ValueOrder::word_swapped: return "low word first";
    }
    return "?";
}

std::string_view name_of(ValueUnit unit) {
    switch (unit) {
        case ValueUnit::none: return "none";
        case ValueUnit::speed: return "speed";
        case ValueUnit::length: return "length";
        case ValueUnit::duration: return "duration";
        case ValueUnit::angle: return "angle";
        case ValueUnit::acceleration: return "acceleration";
    }
    return "?";
}

std::string_view name_of(SafeEnd end) { return end == SafeEnd::low ? "low" : "high"; }

std::size_t Values::place_of(std::string_view name) const {
    const auto found = std::find_if(all.begin(), all.end(), [&](const SafeValue& one) { return one.name == name; });
    return static_cast<std::size_t>(found - all.begin());
}

std::string in_words(std::int64_t quantity, ValueUnit unit) {
    switch (unit) {
        case ValueUnit::none: return decimal(quantity, 1'000'000);
        case ValueUnit::speed: return decimal(quantity, 1'000) + " mm/s";
        case ValueUnit::length: return decimal(quantity, 1'000) + " mm";
        case ValueUnit::duration: return decimal(quantity, 1'000'000) + " ms";
        case ValueUnit::angle: return decimal(quantity, 1'000) + " deg";
        case ValueUnit::acceleration: return decimal(quantity, 1'000) + " mm/s2";
    }
    return "?";
}

}  // namespace sim
