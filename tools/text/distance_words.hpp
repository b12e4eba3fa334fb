#pragma once
// A safeguard's distance from the hazard zone, in words.
#include <optional>
#include <string>

#include "sim/timing/minimum_distance.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// How far the guard stands; nothing where the scenario does not say.
std::optional<sim::Length> guard_there(const sim::Scenario& scenario);

/// "494 mm needed (ISO 13855:2010, right-angle, 14 mm), 520 mm there: 26 mm to spare". Requires a distance in the
/// scenario.
std::string distance_line(const sim::Scenario& scenario, const sim::Distance& distance);

}  // namespace tools
