#pragma once
// Values in a payload, read and written the slow way: digit by digit, from a table of which byte is worth what. It
// shares nothing with what it checks.
#include <cstdint>
#include <vector>

#include "sim/scenario/scenario.hpp"

namespace tests {

/// The count in a payload.
std::int64_t slow_count(sim::ValueType type, sim::ValueOrder order, unsigned at,
                        const std::vector<std::uint8_t>& payload);
/// A payload of so many bytes, all of them `filler` but for that count.
std::vector<std::uint8_t> slow_payload(sim::ValueType type, sim::ValueOrder order, unsigned at, std::int64_t count,
                                       unsigned bytes, std::uint8_t filler);

/// A speed in tenths of a millimetre per second to the device, 100 mm/s always, safe at 0 mm/s, over all that 16 bits
/// hold; the same at both ends.
sim::SafeValue speed_value(const std::string& name);
/// Adds a value that lies in the same place at both ends, and what it takes to the bits in use.
void add_value(sim::Scenario& scenario, const sim::SafeValue& value, const sim::TypedValue& typed);

}  // namespace tests
