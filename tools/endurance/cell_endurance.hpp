#pragma once
// Simulated years of several links: each by itself, and what they come to together.
#include <cstddef>
#include <optional>
#include <vector>

#include "sim/scenario/whole_cell.hpp"
#include "tools/endurance/endurance_page.hpp"

namespace tools {

/// The stops for nothing of all links of a cell together, held against what its file states for the sum.
struct CellEndurance {
    const sim::WholeCell& cell;
    std::vector<EnduranceFinding> links;  ///< in their order
    bool all_ran = true;                  ///< else nothing is said of the sum
    double per_year = 0.0;
    sim::Interval interval;  ///< of the same, 95 %
    /// By the time in which each link ran, as for one link: what the limit is compared with.
    double per_running_year = 0.0;
    sim::Interval running_interval;
    std::optional<std::size_t> stops_most;  ///< the link that does; nothing without a stop
    /// Of the sum: pass, undecided or fail; nothing where no limit is stated, or a link did not run.
    std::optional<EnduranceVerdict> of_sum;
    EnduranceVerdict verdict = EnduranceVerdict::pass;  ///< the worst of the links' and of the sum's
};

/// `links`: of each link of the cell, in their order, over the same years; the cell must outlive the finding. The
/// interval of the sum is that of one Poisson count of all stops together, by the shortest time that a link ran for its
/// upper end and the longest for its lower one: it is exact where they are alike and wider where they are not.
CellEndurance finding_of(const sim::WholeCell& cell, std::vector<EnduranceFinding> links);

Page page_of(const CellEndurance& found, Columns columns);
Value describe(const CellEndurance& found);

}  // namespace tools
