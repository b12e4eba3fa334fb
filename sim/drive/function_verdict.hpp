#pragma once
// Whether each guard did what its safety functions ask of it, by what a run showed.
#include "sim/judge/result.hpp"

namespace sim {

struct Scenario;
struct ScenarioLimits;

/// Fills in `function_rows` and `functions` from the demands of `result`, adds what was dangerous about them, and
/// remarks on what was not rehearsed. A demand shows nothing unless its link ran, the machine moved by itself alone and
/// no signal on its way was 0 already.
void judge_functions(const Scenario& scenario, const ScenarioLimits& limits, RunResult& result);

}  // namespace sim
