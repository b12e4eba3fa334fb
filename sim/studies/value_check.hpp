#pragma once
// Values in the payload, as the two ends have them typed: compared by what they mean, not by what was written.
#include <cstddef>
#include <string>

#include "sim/scenario/ends.hpp"
#include "sim/studies/cross_check.hpp"

namespace sim {

struct Scenario;

/// Adds what is compared of the values of that way and what differs: place, order, type or scale. `seen`: the
/// parameters refuse it, since other bits are in use; what lies in the same bytes no measure sees.
void compare_values(const Scenario& scenario, Direction direction, bool seen, CrossCheck& result);

/// Steps towards the safe end that are held for so short a time that they may vanish between two exchanges, and that
/// nothing in a telegram sees a value typed otherwise at one end; nothing without values.
void add_value_cautions(const Scenario& scenario, CrossCheck& result);

/// "bytes 2 and 3, u16, high byte first, 0.1 mm/s", as typed at that end.
std::string place_in_words(const Scenario& scenario, End end, std::size_t value);

}  // namespace sim
