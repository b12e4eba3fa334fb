#pragma once
// A campaign over all links of a cell: its faults in one list, and where each of them strikes.
#include <cstddef>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {

/// A fault of one link, by its place among those of that link.
struct FaultOfLink {
    std::size_t link = 0, fault = 0;
};

struct CellCampaign {
    WholeCell cell;
    /// What a campaign tells of: the file, the faults of all links in the order in which they are written, each once,
    /// and the functions of the cell. It is no link, and nothing can run it.
    Scenario whole;
    /// By fault of `whole`: one link, or all of them for a fault of the controller.
    std::vector<std::vector<FaultOfLink>> strikes;

    [[nodiscard]] bool strikes_all(std::size_t fault) const { return strikes[fault].size() > 1; }
};

/// Requires a cell as read_cell() gives it. One without a fault gets those of every_error() in each link.
CellCampaign campaign_of(WholeCell cell);

}  // namespace sim
