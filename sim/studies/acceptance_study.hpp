#pragma once
// All that the acceptance test on the machine asks for, reckoned and rehearsed before it is written down.
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/studies/acceptance.hpp"
#include "sim/studies/acceptance_checks.hpp"
#include "sim/studies/mistyped.hpp"
#include "sim/timing/response.hpp"

namespace sim {

/// An act, what it asks and allows, and what its rehearsals showed.
struct RehearsedAct {
    AcceptanceAct act;
    std::optional<AskedOfMachine> asked;  ///< nothing without a machine
    ActLimits limits;
    ActSeen seen;
    Passes passes;
};

/// A guard looked at alone.
struct RehearsedCheck {
    std::size_t safeguard = 0;                    ///< index in Scenario::safeguards
    DemandChannel channel = DemandChannel::both;  ///< of a wire: the contact whose wire is off
    std::optional<std::size_t> function = {};     ///< the first that names it
    std::optional<AskedOfMachine> asked = {};     ///< of the machine, from full speed
    Passes passes;
};

/// A setting mistyped on purpose.
struct RehearsedMistyped {
    Mistyped typed;
    Passes passes;
};

struct AcceptanceStudy {
    std::uint64_t seed = 0;                  ///< of the rehearsals
    std::optional<std::uint32_t> signature;  ///< of the parameters, at both ends; nothing if they differ
    std::vector<RehearsedCheck> looks;       ///< each safeguard alone, the machine standing
    std::vector<RehearsedCheck> wires;       ///< a wire of each contact
    /// Each safeguard for each function that names it, or by its wiring where none does: those that stop the machine at
    /// reduced speed, where it has one, then all at full speed, then pairs at once, then all with the link cut at that
    /// moment. A safeguard that no function needs, as the scenario says, only where it reaches the output.
    std::vector<RehearsedAct> demands;
    std::vector<RehearsedCheck> free_again;  ///< of a machine
    RehearsedAct cut;
    std::array<RehearsedAct, 2> power_off;  ///< by End
    AcknowledgementSeen acknowledgement;
    std::vector<RehearsedMistyped> mistyped;
    ResponseTime response;
    std::optional<Distance> distance;  ///< nothing without [distance] or without an overall time
    /// By function: what its own distance needs, by the settings; nothing without one or without an overall time.
    std::vector<std::optional<Distance>> function_distances;
};

/// Rehearses every act at some tens of places of the exchange, some thousand telegrams each. The same scenario and seed
/// give the same study; a contract broken meanwhile names both. Requires a scenario as read_scenario() gives it.
AcceptanceStudy study_acceptance(const Scenario& scenario, std::uint64_t seed);

/// The sheet of one scenario rehearsed on the plant of another, with the same names: how its rows find what is wrong.
AcceptanceStudy study_acceptance(const SheetOnPlant& on);

}  // namespace sim
