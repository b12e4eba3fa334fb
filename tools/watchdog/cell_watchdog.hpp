#pragma once
// What is left for the watchdog of each link of a cell, one at a time.
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/watchdog/watchdog_page.hpp"

namespace tools {

struct CellWatchdogs {
    const sim::WholeCell& cell;
    struct Link {
        sim::Scenario view;  ///< as it is reckoned with alone: with the machine whose functions leave the least for it
        WatchdogFindings found;
    };
    std::vector<Link> links;  ///< in the order of the cell; each found while the others are as they are set
    [[nodiscard]] bool all_open() const;
};

/// A line a link: from where to where, what is suggested and set, and which function decides.
Page page_of(const CellWatchdogs& found, Columns columns);
/// Of each link what its own document has.
Value describe(const CellWatchdogs& found);

}  // namespace tools
