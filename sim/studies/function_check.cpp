#include "sim/studies/function_check.hpp"

#include <algorithm>
#include <optional>
#include <utility>

#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/function_check_parts.hpp"
#include "sim/studies/guard_kinds.hpp"
#include "sim/timing/function_time.hpp"

namespace sim {
namespace {

/// "category-1 by flap_free"; "nothing" if no reaction obeys it.
std::string in_words(const Scenario& scenario, const std::optional<Reached>& reached) {
    if (!reached) return "nothing";
    return std::string(name_of(reached->stop)) + " by " + scenario.signals[reached->signal].name;
}

/// The one thing that is wrong with a row by its wiring; empty if nothing is.
std::string wrong_with(const Scenario& scenario, const FunctionCheckRow& row, const std::optional<Reached>& reached,
                       StopCategory must) {
    if (!reached)
        return row.safeguard + " reaches no reaction of " + row.machine +
               ": no signal made of it is obeyed there; write it into all_of of such a signal, or a "
               "[[machine.reaction]] for the one it is in";
    if (just_as_asked(reached->stop, must)) return "";
    return row.safeguard + " must lead to " + row.must + " of " + row.machine + ", and by its wiring it leads to " +
           in_words(scenario, reached) + "; write the reaction that is meant, or the function as it is meant";
}

/// In each mode of the function; what is told is that of the first in which something is wrong.
FunctionCheckRow stated_row(const Scenario& scenario, const SafetyFunction& function, const std::string& safeguard,
                            const MustReact& must) {
    FunctionCheckRow row{.function = function.name,
                         .safeguard = safeguard,
                         .machine = must.machine,
                         .must = std::string(name_of(must.must)),
                         .level = function.level ? written(*function.level) : ""};
    for (const std::size_t mode : modes_of(scenario, function)) {
        const std::optional<Reached> reached = reached_by(scenario, scenario.place_of(safeguard), mode);
        row.does = std::string(reached ? name_of(reached->stop) : "nothing");
        row.why = wrong_with(scenario, row, reached, must.must);
        if (row.why.empty()) continue;
        if (!scenario.modes.empty()) row.why = "in the mode " + scenario.modes[mode].name + " " + row.why;
        row.ok = false;
        return row;
    }
    return row;
}

void add_stated(const Scenario& scenario, FunctionCheck& result) {
    for (const SafetyFunction& function : scenario.functions)
        for (const std::string& safeguard : function.safeguards)
            for (const MustReact& must : function.must) {
                FunctionCheckRow row = stated_row(scenario, function, safeguard, must);
                if (!row.ok) result.problems.push_back("\"" + function.name + "\": " + row.why);
                result.rows.push_back(std::move(row));
            }
}

/// Without a monitor nobody would notice a drive that does not slow down.
void add_unmonitored(const Scenario& scenario, const SafetyFunction& function, FunctionCheck& result) {
    if (!function.reduced_speed_ends_hazard || !scenario.machine || scenario.machine->reduced_speed_monitor) return;
    result.problems.push_back("\"" + function.name +
                              "\" says that the reduced speed ends the hazard, and nothing monitors it; write "
                              "reduced_speed_monitored in [machine], or hazard_ends = \"standstill\"");
}

/// The same where [stopping] says it for all.
void add_unmonitored_for_all(const Scenario& scenario, FunctionCheck& result) {
    if (!scenario.stopping.reduced_speed_ends_hazard || !scenario.machine || reduced_speed_monitored(scenario)) return;
    result.problems.emplace_back(
        "reduced_speed_ends_hazard = true in [stopping], and nothing monitors the reduced speed of " +
        scenario.machine->name +
        ", so it ends no hazard and every time is reckoned until standstill; write reduced_speed_monitored in "
        "[machine], or take reduced_speed_ends_hazard away");
}

/// Safeguards that no function names.
void add_unstated(const Scenario& scenario, FunctionCheck& result) {
    for (std::size_t i = 0; i < scenario.safeguards.size(); ++i) {
        const Safeguard& safeguard = scenario.safeguards[i];
        const bool named = std::any_of(scenario.functions.begin(), scenario.functions.end(),
                                       [&](const SafetyFunction& f) { return names(f, safeguard.name); });
        if (named) continue;
        std::optional<Reached> reached;
        for (std::size_t mode = 0; mode < scenario.mode_count() && !reached; ++mode)
            reached = reached_by(scenario, i, mode);
        FunctionCheckRow row{.safeguard = safeguard.name,
                             .machine = scenario.machine ? scenario.machine->name : "",
                             .does = std::string(reached ? name_of(reached->stop) : "nothing"),
                             .why = safeguard.no_function};
        if (!safeguard.no_function.empty()) {
            result.rows.push_back(std::move(row));
            continue;
        }
        if (!reached && scenario.machine) {
            row.ok = false;
            row.why = "reaches no reaction of " + row.machine;
            result.cautions.push_back(safeguard.name + " " + row.why +
                                      ": nothing happens when it is demanded; see all_of of the signals and the "
                                      "[[machine.reaction]] tables");
        }
        if (!scenario.functions.empty()) {
            row.ok = false;
            row.why = "stands in no function" + (row.why.empty() ? "" : ", and " + row.why);
            result.problems.push_back(safeguard.name +
                                      " stands in no function, though others do; write it into a [[function]], or "
                                      "function = \"none\" and a reason at its [[safeguard]]");
        }
        result.rows.push_back(std::move(row));
    }
}

void add_nothing_stated(const Scenario& scenario, FunctionCheck& result) {
    if (!scenario.functions.empty() || scenario.safeguards.empty()) return;
    const bool all_say_none = std::all_of(scenario.safeguards.begin(), scenario.safeguards.end(),
                                          [](const Safeguard& s) { return !s.no_function.empty(); });
    if (all_say_none) return;
    result.cautions.emplace_back(
        "nothing states what the guards must do, so a guard that leads to a wrong reaction, or to a slow one, cannot "
        "be told; write [[function]] tables");
}

/// A failing link strikes everything at once: what is left of it at the machine.
void add_link_failure(const Scenario& scenario, FunctionCheck& result) {
    const std::optional<Reached> failing = reached_by_failure(scenario);
    if (!failing || failing->stop != StopCategory::reduced_speed) return;
    const std::string said = "a failing link leads to no more than a reduced speed of " + scenario.machine->name;
    if (scenario.functions.empty() || !failure_only_slows(scenario)) {
        result.cautions.push_back(said + ", and to no standstill");
        return;
    }
    result.problems.push_back(said +
                              ", and no risk assessment here says that this ends the hazard; let a signal of "
                              "the link stop it, or write hazard_ends = \"reduced-speed\" in every [[function]]");
}

/// A function that only slows down ends no hazard unless it says so.
void add_slowing(const Scenario& scenario, const SafetyFunction& function, FunctionCheck& result) {
    const bool slows = std::any_of(function.must.begin(), function.must.end(),
                                   [](const MustReact& m) { return m.must == StopCategory::reduced_speed; });
    if (!slows || reduced_speed_counts(scenario, function) || has_limit(scenario, function)) return;
    result.cautions.push_back("\"" + function.name +
                              "\" asks for a reduced speed, which by itself ends no hazard; if it does here, write "
                              "hazard_ends = \"reduced-speed\"");
}

/// From standstill nothing but a deliberate start may follow (ISO 12100, ISO 13849-1, manual reset; from memory).
void add_returns(const SafetyFunction& function, FunctionCheck& result) {
    if (function.returns != Returns::by_itself) return;
    const bool stands = std::any_of(function.must.begin(), function.must.end(),
                                    [](const MustReact& m) { return m.must != StopCategory::reduced_speed; });
    if (stands)
        result.problems.push_back("\"" + function.name +
                                  "\": returns = \"by-itself\", and from standstill only a deliberate start may "
                                  "follow; write returns = \"after-start\" or \"after-reset\"");
    else
        result.cautions.push_back("\"" + function.name +
                                  "\": the full speed returns by itself, which is only for guards that sense presence "
                                  "all the time: somebody may stand behind any other when it is free again");
}

/// The lowest claim of a chain is the claim of the chain. Levels side by side as in ISO 13849-1 and IEC 62061, from
/// memory: PL a has no SIL, b and c are SIL 1, d is SIL 2, e is SIL 3.
void add_level(const Scenario& scenario, const SafetyFunction& function, FunctionCheck& result) {
    if (!function.level) return;
    const unsigned claimed = std::min(scenario.controller.link.claimed_level, scenario.device.link.claimed_level);
    const unsigned asked = function.level->sil();
    if (asked <= claimed) return;
    constexpr const char* pl_of[] = {"PL a", "PL b or c", "PL d", "PL e"};
    const auto at = [](const TypedEnd& end) {
        return "SIL " + std::to_string(end.link.claimed_level) + " at " + end.name;
    };
    result.problems.push_back(
        "\"" + function.name + "\" asks for SIL " + std::to_string(asked) + ", that is " + pl_of[asked] + " (typed: " +
        written(*function.level) + "), but the link claims " + at(scenario.controller) + " and " + at(scenario.device) +
        ", and a chain has no more than its lowest claim; write claimed_sil = " + std::to_string(asked) +
        " if the link is made for it (SIL of IEC 62061 beside PL of ISO 13849-1, from memory)");
}

}  // namespace

FunctionCheck check_functions(const Scenario& scenario) {
    FunctionCheck result;
    add_stated(scenario, result);
    // of a link of a cell these are asked of the whole cell
    const bool alone = scenario.segment == 0;
    if (alone) add_unstated(scenario, result);
    if (alone) add_nothing_stated(scenario, result);
    add_unused_signals(scenario, result);
    add_pairs(scenario, result);
    add_link_failure(scenario, result);
    add_unmonitored_for_all(scenario, result);
    for (const SafetyFunction& function : scenario.functions) {
        add_slowing(scenario, function, result);
        add_unmonitored(scenario, function, result);
        add_returns(function, result);
        add_level(scenario, function, result);
    }
    add_times(scenario, result);
    add_ramp(scenario, result);
    if (alone) add_never_seen(scenario, result);
    GuardKindFindings kinds = check_guard_kinds(scenario);
    result.problems.insert(result.problems.end(), kinds.problems.begin(), kinds.problems.end());
    result.cautions.insert(result.cautions.end(), kinds.cautions.begin(), kinds.cautions.end());
    return result;
}

}  // namespace sim
