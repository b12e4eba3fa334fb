#pragma once
#include "sim/scenario/scenario.hpp"
#include "sim/studies/acceptance_study.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// The rows of the acceptance test on the machine: what to do, what must be seen, what is allowed, what the rehearsal
/// of that very act took. `study` is of this `scenario`.
Value describe_acceptance(const sim::Scenario& scenario, const sim::AcceptanceStudy& study);

}  // namespace tools
