#pragma once
// How old a value on either way may become by its settings, against what [required] states or the functions leave.
#include "sim/studies/cross_check.hpp"

namespace sim {

void add_link_limits(const Scenario& scenario, CrossCheck& result);

}  // namespace sim
