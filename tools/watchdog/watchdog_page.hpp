#pragma once
// What `watchdog` found: as a document for programs and as a page for people.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/odds/neighbours.hpp"
#include "sim/odds/window.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

struct WatchdogFindings {
    std::vector<sim::WatchdogPoint> points;
    sim::WatchdogWindow window;
    sim::TripOdds as_typed;      ///< with the watchdogs of the two ends as they are in the file, alike or not
    sim::Neighbours neighbours;  ///< among measured delays
    std::vector<std::string> cautions;
    std::uint64_t seed = 0;
    /// Polled: share of round trips over the longest that runs with the watchdog now set.
    std::optional<sim::SumTail> round_trip_over;
};

Value describe(const sim::Scenario& scenario, const WatchdogFindings& found);
Page page_of(const sim::Scenario& scenario, const WatchdogFindings& found, Columns columns);

}  // namespace tools
