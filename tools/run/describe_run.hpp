#pragma once
#include "sim/judge/result.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// Everything that a rehearsal found, under the names that JSON, CSV and JUnit use. `result` is of this `scenario`.
Value describe(const sim::Scenario& scenario, const sim::RunResult& result);

/// One injection. Its `fault` may lie outside the scenario's faults: then the fault's way is null.
Value describe_injection(const sim::Scenario& scenario, const sim::InjectionResult& injection);

}  // namespace tools
