#pragma once
// Values that an end passes on: which others they may come from.
#include <vector>

namespace sim {

class Problems;
struct Scenario;
struct WholeCell;

/// Says what is wrong with values that are passed on within one link.
void check_passed_on(Problems& problems, const Scenario& scenario);

/// The same between the links of a cell, whose values have one name each.
void check_passed_on(Problems& problems, const WholeCell& cell);

}  // namespace sim
