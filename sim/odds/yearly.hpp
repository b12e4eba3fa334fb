#pragma once
// From what happens in a cycle or by a telegram to what happens in a year of a running link.
#include "sim/odds/trip_odds.hpp"

namespace sim {

inline double per_year(double per_step, Duration step) {
    constexpr double ns_per_year = hours_per_year * 3600e9;
    return per_step * (ns_per_year / static_cast<double>(step.ns));
}

/// From one telegram of that way to the next; a device of a polled link answers at most what it gets.
Duration step_of(const LinkModel& link, Direction way);

/// Rejected telegrams that stop an end, per cycle: each of them, or each that follows another within the error
/// interval.
double bent_stops(double bent, const EndModel& end, Duration cycle);

inline double& of(std::array<double, stop_cause_count>& by_cause, StopCause cause) {
    return by_cause[static_cast<std::size_t>(cause)];
}

}  // namespace sim
