#pragma once
// From what was observed to the verdict: expectations, requirements, bounds. The same for virtual and live runs.
#include "sim/drive/limits.hpp"
#include "sim/judge/result.hpp"

namespace sim {

struct Scenario;

/// Requires that the observer and the twin have filled in `result`.
void conclude(const Scenario& scenario, const ScenarioLimits& limits, RunResult& result);

/// Of a live run that nobody can judge: no verdict, and nothing counts as met.
void withdraw_verdict(RunResult& result);

}  // namespace sim
