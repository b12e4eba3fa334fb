#pragma once
// What the limits of the acceptance test's acts and their rehearsals have in common: which stop is meant, and with
// which machine it is reckoned.
#include <optional>
#include <string>

#include "sim/scenario/plant.hpp"
#include "sim/studies/acceptance.hpp"

namespace sim {

bool more_severe(StopCategory a, StopCategory b);
/// By the wiring; nothing where it reaches no output, or is no safeguard of the scenario.
std::optional<StopCategory> reached_by_name(const Scenario& scenario, const std::string& safeguard);
std::optional<StopCategory> reached_by_failing(const Scenario& scenario);
/// The end's own power is what the machine's drive would ramp down with.
bool without_power(const Scenario& scenario, const AcceptanceAct& act);

/// The machine that limits and rehearsals of the act reckon with. Where measurements count in its stop, or show it to
/// be slower than the figures do, that stop takes as long as was measured; else it is by the figures. Requires a
/// machine.
struct ReckonedMachine {
    Machine machine;
    std::optional<Duration> measured;  ///< of the stop that was asked, where it is not by the figures
};
ReckonedMachine machine_reckoned_with(const Scenario& scenario, const AcceptanceAct& act, const AskedOfMachine& asked);

}  // namespace sim
