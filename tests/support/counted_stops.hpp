#pragma once
// Stops for nothing as the full event simulation counts them, beside what the odds say.
#include <cstdint>
#include <string>

#include "sim/scenario/scenario.hpp"

namespace tests {

struct Counted {
    std::uint64_t stops = 0;
    double years = 0.0;  ///< of a running link
};

/// The link alone, acknowledged half a second after each stop: long enough that a burst of losses is over.
Counted simulate(sim::Scenario scenario, std::int64_t cycles, std::uint64_t seed);

/// The exact two-sided interval of a Poisson count (Garwood, Biometrika 28, 1936).
struct Interval {
    double low, high;
};
Interval garwood(std::uint64_t count, double error);

/// Checks that an exact chain's interval and that of the count have something in common, after at least 20 stops.
void check_against_simulation(const std::string& name, const sim::Scenario& scenario, std::int64_t cycles);

}  // namespace tests
