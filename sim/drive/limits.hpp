#pragma once
// The limits by which a scenario's rehearsal is judged: what its safety function requires, and what its settings allow.
#include <string>
#include <vector>

#include "sim/judge/observer.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

struct ScenarioLimits {
    Limits limits;
    std::optional<Duration> bound;  ///< calculated worst response of the link to the output, nothing if there is none
    std::optional<Duration> required;  ///< of the same, if stated
    std::optional<Duration> stopping;  ///< from the output command to harmless, slowest reaction, from full speed
    std::vector<std::string> remarks;  ///< what had to be assumed
};

ScenarioLimits limits_of(const Scenario& scenario);

}  // namespace sim
