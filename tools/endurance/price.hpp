#pragma once
// What simulated years cost, found out by simulating some.
#include <cstdint>

namespace sim {
struct Scenario;
struct EnduranceOutlook;
}  // namespace sim

namespace tools {

/// Seconds of one processor for a year of that scenario, as measured here and now in about a quarter of a second.
double measured_seconds_per_year(const sim::Scenario& scenario, const sim::EnduranceOutlook& outlook,
                                 std::uint64_t seed);

}  // namespace tools
