#pragma once
// One link of a cell that is tried as a whole; of cell_trial*.cpp only.
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/drive/cell_trial.hpp"

namespace sim {

struct CellTrialRunner::Link {
    const Scenario as_read;  ///< as it is in the cell, with all its faults
    TrialDraw draw;
    Scenario scenario;  ///< of the trial
    ScenarioLimits limits;
    StatedLimits stated;
    bool starts, acknowledges;  ///< somebody does
    Observer observer;
    FarStops far;
    Cell<TrialHeard> run;
    std::vector<bool> judged_here;                      ///< by safeguard: its demand
    std::vector<std::optional<Duration>> bounds;        ///< by safeguard: of a demand, over all links
    std::vector<std::optional<std::size_t>> functions;  ///< by function of this link: its place among the cell's

    /// `trial`: the cell made bare; `cell`: as it was read.
    Link(const WholeCell& trial, const WholeCell& cell, std::size_t place, std::uint64_t seed);
};

}  // namespace sim
