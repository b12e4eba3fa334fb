#pragma once
// What some kinds of safeguards ask for besides what their functions say: emergency stops, two-hand controls, enabling
// devices, and which rule of distance fits which kind.
#include <string>
#include <vector>

namespace sim {

struct Scenario;

struct GuardKindFindings {
    std::vector<std::string> problems;
    std::vector<std::string> cautions;
};

/// Requires a scenario as read_scenario() gives it. Sources: ISO 13850 (emergency stop: category 0 or 1, latched, in
/// every mode, no distance), ISO 13851 (two-hand control), ISO 13855 (distances by kind), IEC 60204-1 (stop timed by
/// the controller, 9.2); all from memory.
GuardKindFindings check_guard_kinds(const Scenario& scenario);

}  // namespace sim
