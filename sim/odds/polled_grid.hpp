#pragma once
// The grid of scans on which the chain of a polled link goes on: which scans find what is sent, and when.
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/odds/link_model.hpp"

namespace sim {

/// Which scans find what is sent, for one place of the device's scans against the cycle.
struct PolledPhase {
    unsigned slots = 0;                             ///< of the device within this cycle
    std::vector<double> offset;                     ///< [slot]: cycles from the controller's scan
    std::vector<double> found;                      ///< [slot]: probability that a telegram sent now is found in it
    std::vector<double> found_until;                ///< [slot]: in it or earlier
    std::vector<unsigned> first;                    ///< [slot]: the first scan that can find an answer sent in it
    std::vector<std::vector<double>> answer_found;  ///< [slot][scan - first]
};

struct PolledGrid {
    std::int64_t ages = 0;            ///< cycles that the controller waits at most
    std::int64_t slots = 0;           ///< scans that the device waits at most
    std::vector<PolledPhase> phases;  ///< of the cycles, over and over again
};

/// Nothing where cycle and scans meet too seldom, or where a number does not fit a PolledState.
std::optional<PolledGrid> polled_grid(const LinkModel& link);

}  // namespace sim
