#pragma once
// One trial of a campaign by itself: what its fault and its demand were.
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// The first fault of a trial, key by key as a scenario would have it.
Value describe_fault(const sim::Scenario& trial);
/// Its demand; null without one.
Value describe_demand(const sim::Scenario& trial);

}  // namespace tools
