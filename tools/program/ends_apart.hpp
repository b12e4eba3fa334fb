#pragma once
// Links that never start because their two ends disagree: of these nothing can be reckoned as if they ran.
#include <optional>
#include <string>

#include "tools/program/failure.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// Why the ends refuse to start, as a line and status 1 with `so` for what follows from it: "no watchdog helps".
/// Nothing if the link starts.
std::optional<Failure> ends_apart(const sim::Scenario& scenario, const std::string& so);

/// The same only where the ends send other telegrams, or at another pace: profile, payload, exchange or cycle.
std::optional<Failure> telegrams_apart(const sim::Scenario& scenario, const std::string& so);

}  // namespace tools
