#pragma once
// A whole rehearsal in virtual time: the scenario with its faults, the recovery after them, and its fault-free twin.
#include <cstdint>

#include "sim/judge/observer.hpp"
#include "sim/judge/result.hpp"
#include "sim/judge/witnesses.hpp"

namespace sim {

struct Scenario;

/// Requires a scenario as read_scenario() gives it. The same scenario and seed give the same result, digest included,
/// whoever else hears of the rehearsal itself; they hear the same, too.
RunResult rehearse(const Scenario& scenario, std::uint64_t seed, const Witnesses& witnesses = {});

/// The same without faults, in virtual time; `recovered` is not judged.
TwinResult twin_of(const Scenario& scenario, std::uint64_t seed, const Limits& limits);

}  // namespace sim
