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
    std::vector<double> found;                      ///< [slot]: probability that a telegram sent now is found in it;
                                                    ///< the last: or later
    std::vector<double> found_until;                ///< [slot]: in it or earlier
    std::vector<double> found_from;                 ///< [slot]: in it or later
    unsigned from = 1, to = 0;                      ///< slots outside these find nothing
    unsigned earliest_slot = 1;                     ///< that can find a telegram sent now
    unsigned earliest_scan = 0;                     ///< that can find an answer to it
    std::vector<unsigned> first;                    ///< [slot]: the first scan that can find an answer sent in it
    std::vector<std::vector<double>> answer_found;  ///< [slot][scan - first]; the last: or later
};

struct PolledGrid {
    std::int64_t ages = 0;   ///< cycles that the controller waits at most
    std::int64_t slots = 0;  ///< scans that the device waits at most
    /// What is found in the last slot or scan of a table is found there or later. Where that is too late for any
    /// watchdog it makes no difference; else it is not known what becomes of it.
    bool late_out_unknown = false, late_back_unknown = false;
    unsigned last_scan = 0;           ///< of all tables
    std::vector<PolledPhase> phases;  ///< of the cycles, over and over again
};

/// Slot in which the device finds a telegram with that delay, sent in that phase; the last of `slots` at most.
unsigned slot_that_finds(const LinkModel& link, std::size_t phase, Duration delay, std::size_t slots);
/// The phase with other probabilities that a slot finds what is sent, by slot; as many as it has.
PolledPhase found_as(const PolledPhase& phase, std::vector<double> found);

/// Nothing where cycle and scans meet too seldom, or where a number does not fit a PolledState.
std::optional<PolledGrid> polled_grid(const LinkModel& link);

}  // namespace sim
