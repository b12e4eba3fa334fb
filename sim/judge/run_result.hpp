#pragma once
// How a result is made, whoever moved the run: a cell in virtual time, or the joined records of a live one.
#include <cstdint>

#include "sim/judge/observer.hpp"
#include "sim/judge/result.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// A result that names its scenario and seed; nothing of the run is seen yet.
RunResult result_of(const Scenario& scenario, std::uint64_t seed);

/// How a run ended.
struct RunEnd {
    Instant at;
    std::uint64_t cycles = 0;  ///< controller scans
    EndShown controller, device;
};
/// What the observer saw until then, and what was shown at the ends. The observer hears nothing afterwards.
void finish(RunResult& result, Observer& observer, const RunEnd& end);

}  // namespace sim
