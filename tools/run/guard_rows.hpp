#pragma once
// What a run says about guards, row by row, in the one order that page, JSON and CSV have in common.
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "sim/judge/result.hpp"

namespace sim {
struct Safeguard;
struct Scenario;
}  // namespace sim

namespace tools {

/// A demand and what it showed of one function's one reaction.
struct GuardRow {
    std::size_t number = 0;  ///< of the demand, from 1, in the order of the contacts
    const sim::DemandResult* demand = nullptr;
    const sim::FunctionRow* judged = nullptr;  ///< nullptr: no function names its guard
    bool first = true;                         ///< of its demand; further rows tell the same way over the link
};

/// In the order of the contacts, then of the functions. Points into `result`, which must outlive it.
std::vector<GuardRow> guard_rows(const sim::RunResult& result);

/// The guard that was demanded, nullptr if the scenario has no such demand or guard.
const sim::Safeguard* guard_of(const sim::Scenario& scenario, const sim::DemandResult& demand);

/// What the machine did from the contact on. A stop long after a demand that reaches no output is not its doing.
enum class MachineDid : std::uint8_t { nothing, stopped, slowed, ran_on, stood_already };
MachineDid machine_did(const sim::Scenario& scenario, const sim::DemandResult& demand);
/// "stopped", "slowed", "ran-on", "stood"; empty without a machine.
std::string_view name_of(MachineDid did);
/// "stops", "slows", "ran on", "stood"; "-" without a machine.
std::string_view word_for(MachineDid did);

/// Why a row is not met, not shown, or met by something else; that nothing obeys it; empty where there is no more to
/// say.
std::string why_of(const sim::Scenario& scenario, const GuardRow& row);

/// Why a function is not met or not shown: the first row's that did not keep it.
std::string why_of(const sim::Scenario& scenario, const sim::RunResult& result, const sim::FunctionResult& found);

/// Not met, or nothing obeys a guard of which something should be expected.
bool is_dangerous(const sim::Scenario& scenario, const GuardRow& row);

/// No function is stated, and not each guard says why none is needed.
bool link_only(const sim::Scenario& scenario);

}  // namespace tools
