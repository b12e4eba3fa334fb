#pragma once
// Parts of cross_check(): whether the watchdogs let the link run with its cycle, its scans and its channel.
#include <string>
#include <vector>

namespace sim {

struct CrossCheck;
struct Scenario;

/// Watchdogs with which the link can never run are problems, with the shortest that can; what round trips run is a
/// caution.
void add_running(const Scenario& scenario, CrossCheck& result);

/// What speaks against the watchdogs and the cycle of a scenario, in sentences: it cannot run, it would stop for
/// nothing, or it takes longer than is required. Empty if nothing does.
std::vector<std::string> objections_to_times(const Scenario& scenario);

}  // namespace sim
