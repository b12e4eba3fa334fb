#pragma once
// Whether a link runs at all with its channel as it is: seen, where no formula says it for every spread of delays.
#include <optional>

#include "proto/time.hpp"

namespace sim {

struct Scenario;

/// Without any fault, with the scenario's own seed: how long it was watched, if it never ran in that time; nothing if
/// it did. At most its duration, and 60 s. Requires a scenario that the reader has accepted.
std::optional<proto::Duration> never_ran_within(const Scenario& scenario);

}  // namespace sim
