#pragma once
// What the wiring makes of a demand, and of a failing link, at the machine: by names alone, nothing runs.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/scenario/ends.hpp"
#include "sim/scenario/functions.hpp"
#include "sim/scenario/plant.hpp"

namespace sim {

struct Scenario;

struct Reached {
    std::size_t signal = 0;  ///< that the machine obeys; index in Scenario::signals
    StopCategory stop = StopCategory::category_0;
};

/// The end whose use of the values counts: that which commands the machine. Without one the device, but of a link of a
/// cell that brings values to the controller only, the controller.
End output_end(const Scenario& scenario);

/// The signals that some reaction of the machine obeys, as a word by index in Scenario::signals; 0 without a machine.
std::uint64_t obeyed_by_machine(const Scenario& scenario);

/// The machine's most severe reaction to a demand of that safeguard alone, while that mode is selected; nothing if none
/// obeys it. See at_once().
std::optional<Reached> reached_by(const Scenario& scenario, std::size_t safeguard, std::size_t mode = 0);
/// Of some signals those that fall as soon as they are computed, unless all of them fall later: a later one only
/// completes what the others began, as the power does after a ramp that the controller times (category 1).
std::uint64_t at_once(const Scenario& scenario, std::uint64_t signals);
/// The modes in which a function is asked for, by their place; {0} without modes.
std::vector<std::size_t> modes_of(const Scenario& scenario, const SafetyFunction& function);
/// In some mode a reaction obeys it.
bool reaches_in_some_mode(const Scenario& scenario, std::size_t safeguard);

/// The same when the link fails, so that every signal is 0 at the machine.
std::optional<Reached> reached_by_failure(const Scenario& scenario);

/// The signals that fall with that safeguard in some mode, each behind those that feed it.
std::vector<std::size_t> falling_with(const Scenario& scenario, std::size_t safeguard);

/// The reaction is just what is asked, as the wiring must be.
bool just_as_asked(StopCategory does, StopCategory must);
/// A stop in time is more than a reduced speed, never the reverse: what a run is judged by.
bool at_least_as_asked(StopCategory does, StopCategory must);

/// Something stops the machine if it is faster than its reduced speed when it should not be: without it no hazard has
/// ended there, whatever the risk assessment says.
bool reduced_speed_monitored(const Scenario& scenario);
/// At reduced speed the hazard has ended, says the function, or [stopping] for all, and the reduced speed is monitored.
bool reduced_speed_counts(const Scenario& scenario, const SafetyFunction& function);
/// The same after a failure of the link, which strikes every function: each must say so.
bool reduced_speed_counts(const Scenario& scenario);

}  // namespace sim
