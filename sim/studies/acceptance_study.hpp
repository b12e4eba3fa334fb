#pragma once
// All that the acceptance test on the machine asks for, reckoned and rehearsed before it is written down.
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/studies/acceptance.hpp"
#include "sim/studies/mistyped.hpp"
#include "sim/timing/response.hpp"

namespace sim {

/// An act, what is allowed, and what its rehearsals showed.
struct RehearsedAct {
    AcceptanceAct act;
    ActLimits limits;
    ActSeen seen;
};

struct AcceptanceStudy {
    std::uint64_t seed = 0;                  ///< of the rehearsals
    std::optional<std::uint32_t> signature;  ///< of the parameters, at both ends; nothing if they differ
    /// Of the safeguards that reach the output, in the order of the scenario: all at reduced speed, then all at full
    /// speed, then all with the link cut at that moment.
    std::vector<RehearsedAct> demands;
    RehearsedAct cut;
    std::array<RehearsedAct, 2> power_off;  ///< by End
    AcknowledgementSeen acknowledgement;
    std::vector<Mistyped> mistyped;
    ResponseTime response;
    std::optional<Distance> distance;  ///< nothing without [distance] or without an overall time
};

/// Rehearses every act at some tens of places of the exchange, some thousand telegrams each. The same scenario and seed
/// give the same study; a contract broken meanwhile names both. Requires a scenario as read_scenario() gives it.
AcceptanceStudy study_acceptance(const Scenario& scenario, std::uint64_t seed);

}  // namespace sim
