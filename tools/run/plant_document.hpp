#pragma once
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// What the scenario says about plant and link, as the report and the two sheets need it: names, settings of both ends
/// side by side, bit map, network, signature, limits.
Value describe_plant(const sim::Scenario& scenario, std::uint64_t seed);

/// The rows of the acceptance test on the machine: what to do, what must be seen, what is allowed, what the rehearsal
/// of that very act took. Rehearses each of them, some thousand telegrams each.
Value describe_acceptance(const sim::Scenario& scenario, std::uint64_t seed);

}  // namespace tools
