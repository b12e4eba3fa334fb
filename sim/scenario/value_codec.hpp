#pragma once
// Between the bytes of a payload and a value: as typed at one end, type, order and scale.
#include <cstdint>
#include <span>
#include <vector>

#include "sim/scenario/values.hpp"

namespace sim {

/// The bytes of the payload, from the most to the least significant one.
std::vector<unsigned> bytes_from_the_highest(const TypedValue& typed);

/// The count in a payload. Requires one that is long enough.
std::int64_t count_in(const TypedValue& typed, std::span<const std::uint8_t> payload);
/// The same times its scale. The reader has seen to it that no product is too large.
std::int64_t quantity_in(const TypedValue& typed, std::span<const std::uint8_t> payload);

/// Puts a count into a payload, other bytes are left alone. Requires one that fits the type.
void put_count(const TypedValue& typed, std::int64_t count, std::span<std::uint8_t> payload);

/// The count that stands for a quantity: one between two counts goes to the one that permits less. May not fit the
/// type.
std::int64_t count_of(const TypedValue& typed, std::int64_t quantity, SafeEnd safe);

}  // namespace sim
