#pragma once
// What `watchdog` found: as a document for programs and as a page for people.
#include <cstdint>
#include <string>
#include <vector>

#include "sim/odds/window.hpp"
#include "tools/page.hpp"
#include "tools/value.hpp"

namespace tools {

struct WatchdogFindings {
    std::vector<sim::WatchdogPoint> points;
    sim::WatchdogWindow window;
    std::vector<std::string> cautions;
    std::uint64_t seed = 0;
};

Value describe(const sim::Scenario& scenario, const WatchdogFindings& found);
Page page_of(const sim::Scenario& scenario, const WatchdogFindings& found, Columns columns);

}  // namespace tools
