#pragma once
// Parts of check_functions() in a file of their own: times, signals that lead nowhere, and what this run leaves out.
#include "sim/studies/function_check.hpp"

namespace sim {

/// Whether each function keeps the smaller of its two limits, and what would have to change.
void add_times(const Scenario& scenario, FunctionCheck& result);
/// A category 1 whose power goes before its ramp has ended.
void add_ramp(const Scenario& scenario, FunctionCheck& result);
/// Signals that nobody uses where they arrive, and bits that nobody writes where they come from.
void add_unused_signals(const Scenario& scenario, FunctionCheck& result);
/// Pairs of bits that are latched by less than one cycle of the link.
void add_pairs(const Scenario& scenario, FunctionCheck& result);
/// Guards that this scenario never demands, a machine that it never starts.
void add_never_seen(const Scenario& scenario, FunctionCheck& result);

}  // namespace sim
