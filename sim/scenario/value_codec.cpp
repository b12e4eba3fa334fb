#include "sim/scenario/value_codec.hpp"

namespace sim {
namespace {

bool is_signed(ValueType type) { return lowest_count(type) < 0; }

/// Where in the value its byte of that significance lies, 0 the most significant.
unsigned offset_of(const TypedValue& typed, unsigned significance) {
    const unsigned size = bytes_of(typed.type);
    switch (typed.order) {
        case ValueOrder::high_first: return significance;
        case ValueOrder::low_first: return size - 1 - significance;
        case ValueOrder::word_swapped: return size == 4 ? significance ^ 2U : significance;
    }
    return significance;
}

}  // namespace

std::vector<unsigned> bytes_from_the_highest(const TypedValue& typed) {
    std::vector<unsigned> bytes;
    for (unsigned i = 0; i < bytes_of(typed.type); ++i) bytes.push_back(typed.at + offset_of(typed, i));
    return bytes;
}

std::int64_t count_in(const TypedValue& typed, std::span<const std::uint8_t> payload) {
    const unsigned size = bytes_of(typed.type);
    std::uint64_t raw = 0;
    for (unsigned i = 0; i < size; ++i) raw = raw << 8U | payload[typed.at + offset_of(typed, i)];
    const std::uint64_t sign = std::uint64_t{1} << (size * 8 - 1);
    const auto count = static_cast<std::int64_t>(raw);
    return is_signed(typed.type) && (raw & sign) != 0 ? count - static_cast<std::int64_t>(sign * 2) : count;
}

std::int64_t quantity_in(const TypedValue& typed, std::span<const std::uint8_t> payload) {
    return count_in(typed, payload) * typed.scale;
}

void put_count(const TypedValue& typed, std::int64_t count, std::span<std::uint8_t> payload) {
    const unsigned size = bytes_of(typed.type);
    const auto raw = static_cast<std::uint64_t>(count);  // two's complement: C++20
    for (unsigned i = 0; i < size; ++i)
        payload[typed.at + offset_of(typed, i)] = static_cast<std::uint8_t>(raw >> 8U * (size - 1 - i));
}

std::int64_t count_of(const TypedValue& typed, std::int64_t quantity, SafeEnd safe) {
    const std::int64_t towards_zero = quantity / typed.scale;
    const std::int64_t rest = quantity % typed.scale;
    if (rest < 0 && safe == SafeEnd::low) return towards_zero - 1;
    if (rest > 0 && safe == SafeEnd::high) return towards_zero + 1;
    return towards_zero;
}

}  // namespace sim
