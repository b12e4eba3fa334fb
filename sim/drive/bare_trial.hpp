#pragma once
// What a scenario becomes for a trial of a campaign, before its fault and its demand are drawn.
#include <cstdint>

#include "proto/time.hpp"

namespace sim {

struct Fault;
struct Scenario;

/// From the running of the link until its values have gone round, in cycles.
inline constexpr std::int64_t trial_start_cycles = 8;

/// The scenario with room for one fault, no demand, and a quick operator: starts the machine at once, and acknowledges
/// as soon as it stands still if the scenario's does not do so sooner. Quick is what tempts most: less has died away.
Scenario bare_trial(const Scenario& scenario);

/// Somebody starts its machine.
bool starts_machine(const Scenario& scenario);
/// Somebody acknowledges once that is asked for.
bool acknowledges(const Scenario& scenario);

/// Latency just short of what stops the link, for more than one telegram, may be ridden through for as long as it lasts
/// and strike with its end, when later telegrams overtake, or when one exchange is a little longer than the others: so
/// much later an effect may come. `acts_for`: how long the fault touches telegrams.
proto::Duration ridden_through(const Fault& fault, proto::Duration acts_for);

}  // namespace sim
