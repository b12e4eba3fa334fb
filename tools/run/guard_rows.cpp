#include "tools/run/guard_rows.hpp"

#include <algorithm>

#include "sim/drive/function_verdict.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/text/text.hpp"

namespace tools {

std::vector<GuardRow> guard_rows(const sim::RunResult& result) {
    std::vector<GuardRow> rows;
    for (std::size_t i = 0; i < result.demands.size(); ++i) {
        GuardRow row{i + 1, &result.demands[i]};
        for (const sim::FunctionRow& judged : result.function_rows) {
            if (judged.result != i) continue;
            row.judged = &judged;
            rows.push_back(row);
            row.first = false;
        }
        if (row.first) rows.push_back(row);
    }
    return rows;
}

const sim::Safeguard* guard_of(const sim::Scenario& scenario, const sim::DemandResult& demand) {
    if (demand.demand >= scenario.demands.size()) return nullptr;
    const std::size_t place = scenario.place_of(scenario.demands[demand.demand].safeguard);
    return place == scenario.safeguards.size() ? nullptr : &scenario.safeguards[place];
}

MachineDid machine_did(const sim::Scenario& scenario, const sim::DemandResult& demand) {
    if (!scenario.machine) return MachineDid::nothing;
    if (!demand.moved && !demand.standstill) return MachineDid::stood_already;
    if (!demand.reaches_output) return MachineDid::ran_on;
    if (demand.standstill) return MachineDid::stopped;
    return demand.reduced ? MachineDid::slowed : MachineDid::ran_on;
}

std::string_view name_of(MachineDid did) {
    switch (did) {
        case MachineDid::nothing: return "";
        case MachineDid::stopped: return "stopped";
        case MachineDid::slowed: return "slowed";
        case MachineDid::ran_on: return "ran-on";
        case MachineDid::stood_already: return "stood";
    }
    return "?";
}

std::string_view word_for(MachineDid did) {
    switch (did) {
        case MachineDid::nothing: return "-";
        case MachineDid::stopped: return "stops";
        case MachineDid::slowed: return "slows";
        case MachineDid::ran_on: return "ran on";
        case MachineDid::stood_already: return "stood";
    }
    return "?";
}

std::string why_of(const sim::Scenario& scenario, const GuardRow& row) {
    const sim::FunctionRow* judged = row.judged;
    if (judged == nullptr) {
        if (row.demand->reaches_output) return {};
        const sim::Safeguard* guard = guard_of(scenario, *row.demand);
        if (guard != nullptr && !guard->no_function.empty())
            return "it reaches no output, and no function needs it: " + guard->no_function;
        return "it reaches no output: nothing obeys it";
    }
    const bool late =
        judged->met == sim::Met::no && judged->took && judged->allowed && *judged->took > *judged->allowed;
    if (!late) return judged->why;
    return "it took " + in_ms(*judged->took, Rounding::up) + " from the contact, and " +
           in_ms(*judged->allowed, Rounding::down) + " are allowed" +
           (judged->function < scenario.functions.size() ? sim::at_full_speed(scenario, *row.demand, judged->function)
                                                         : std::string());
}

std::string why_of(const sim::Scenario& scenario, const sim::RunResult& result, const sim::FunctionResult& found) {
    if (found.met == sim::Met::no)
        for (const GuardRow& row : guard_rows(result))
            if (row.judged && row.judged->function == found.function && row.judged->met == sim::Met::no)
                return why_of(scenario, row);
    return found.why;
}

bool is_dangerous(const sim::Scenario& scenario, const GuardRow& row) {
    if (row.judged != nullptr) return row.judged->met == sim::Met::no;
    const sim::Safeguard* guard = guard_of(scenario, *row.demand);
    return !row.demand->reaches_output && (guard == nullptr || guard->no_function.empty());
}

bool link_only(const sim::Scenario& scenario) {
    return scenario.functions.empty() && std::any_of(scenario.safeguards.begin(), scenario.safeguards.end(),
                                                     [](const sim::Safeguard& s) { return s.no_function.empty(); });
}

}  // namespace tools
