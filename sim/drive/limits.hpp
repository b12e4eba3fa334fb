#pragma once
// The limits by which a scenario's rehearsal is judged: what its safety function requires, and what its settings allow.
#include <string>
#include <vector>

#include "sim/judge/observer.hpp"

namespace sim {

struct Scenario;

struct ScenarioLimits {
    Limits limits;
    Duration reaction{};            ///< from any fault of the way to the substitute values at the output
    Duration longest_delays{};      ///< there and back, outside faults
    std::optional<Duration> bound;  ///< calculated worst response of the link to the output, nothing if there is none
    std::optional<Duration> required;  ///< of the same, if stated
    std::optional<Duration> stopping;  ///< from the output command to harmless, slowest reaction, from full speed
    std::optional<std::int64_t> stopping_um;  ///< the way from the output command to harmless, longest reaction
    std::vector<std::string> remarks;         ///< what had to be assumed
    bool of_cell = false;  ///< of a link of a cell, which itself tells what of the plant was not rehearsed
};

ScenarioLimits limits_of(const Scenario& scenario);

/// What limits_of() finds out for each fault, anew for the faults that the scenario now has; all else must be as it was
/// when `found` was made.
void renew_fault_limits(const Scenario& scenario, ScenarioLimits& found);

/// The longest response that is no broken promise when the ends fail as the scenario says: `bound` is kept by the clock
/// of the end with the output, and a stall delays its next scan.
Duration worst_with_end_faults(const Scenario& scenario, Duration bound);

}  // namespace sim
