#pragma once
// A whole rehearsal in virtual time: the scenario with its faults, the recovery after them, and its fault-free twin.
#include <cstdint>

#include "sim/judge/observer.hpp"
#include "sim/judge/telegram_trace.hpp"
#include "sim/result.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// Requires a scenario as read_scenario() gives it. The same scenario and seed give the same result, digest included,
/// whether or not `trace` hears what becomes of the telegrams of the rehearsal itself.
RunResult rehearse(const Scenario& scenario, std::uint64_t seed, TelegramTrace* trace = nullptr);

/// The same without faults, in virtual time; `recovered` is not judged.
TwinResult twin_of(const Scenario& scenario, std::uint64_t seed, const Limits& limits);

}  // namespace sim
