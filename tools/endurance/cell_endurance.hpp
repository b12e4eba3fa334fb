#pragma once
// Simulated years of several links: each by itself, and what they come to together.
#include <vector>

#include "sim/scenario/whole_cell.hpp"
#include "tools/endurance/endurance_page.hpp"

namespace tools {

/// `found`: of each link, in their order. The interval of the sum is the sum of the intervals, which is wider than need
/// be.
Page page_of(const sim::WholeCell& cell, const std::vector<EnduranceFinding>& found, Columns columns);
Value describe(const sim::WholeCell& cell, const std::vector<EnduranceFinding>& found);

}  // namespace tools
