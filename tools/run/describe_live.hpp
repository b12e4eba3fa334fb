#pragma once
// What only a live run has: what the network did between the parts, and which part was not there all the time.
#include <string>

#include "sim/judge/result.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// Lists for programs.
Value describe_network(const sim::RunResult& result);
Value describe_away(const sim::RunResult& result);

/// Of all timers, in milliseconds.
Value describe_lateness(const sim::Lateness& lateness, proto::Duration allowed);

/// For people: how late the timers were; what was allowed.
std::string lateness_in_words(const sim::Lateness& lateness, proto::Duration allowed);
/// For people: what was lost, doubled, out of order or altered, leg by leg, or that nothing was.
std::string network_in_words(const sim::Scenario& scenario, const std::vector<sim::NetworkLeg>& legs);

}  // namespace tools
