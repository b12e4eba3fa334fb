#pragma once
// Whether the demands of a scenario can be told from each other by their times.
#include "sim/studies/cross_check.hpp"

namespace sim {

/// Adds a caution for each safeguard that is demanded again before it is free: to the machine both are one demand.
void add_demands(const Scenario& scenario, CrossCheck& result);

}  // namespace sim
