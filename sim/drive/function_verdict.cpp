#include "sim/drive/function_verdict.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include "proto/contract.hpp"
#include "sim/drive/limits.hpp"
#include "sim/judge/observer.hpp"
#include "sim/plant/machine.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/function_time.hpp"

namespace sim {
namespace {

/// The safeguard of a demand, by its place.
std::size_t guard_of(const Scenario& scenario, const DemandResult& demand) {
    return scenario.place_of(scenario.demands[demand.demand].safeguard);
}

/// What of a limit from the demand on is used up before its contact opens, and outside the link.
Duration before_and_outside(const Scenario& scenario, const Safeguard& guard) {
    Duration sum = guard.delay;
    for (const OutsidePart& part : scenario.outside_parts)
        if (is_on_way_of(part, guard.name)) sum = sum + std::max(part.delay, part.with_fault);
    return sum;
}

/// From the contact: what is stated, else what the settings promise: the guard's own stop, or that of a failing link if
/// it takes longer, since the demand may end there.
Duration allowed_for(const Scenario& scenario, const ScenarioLimits& limits, std::optional<Duration> stated,
                     const Safeguard& guard, const Reached& reached) {
    if (stated) return *stated - before_and_outside(scenario, guard);
    Duration stop = MachineModel::stopping_time(*scenario.machine, reached.stop);
    if (const std::optional<Reached> failing = reached_by_failure(scenario))
        stop = std::max(stop, MachineModel::stopping_time(*scenario.machine, failing->stop));
    Duration link = limits.limits.demand_required;
    if (!limits.limits.demand_beyond.empty()) link = link + limits.limits.demand_beyond[scenario.place_of(guard.name)];
    return worst_with_end_faults(scenario, link) + stop;
}

/// The mode that was selected alone, or nothing while one was changed for another.
std::optional<std::size_t> mode_of(const Scenario& scenario, const DemandResult& demand) {
    if (scenario.modes.empty()) return 0;
    for (std::size_t mode = 0; mode < scenario.modes.size(); ++mode)
        if (demand.modes == std::uint64_t{1} << mode) return mode;
    return std::nullopt;
}

bool asked_in(const Scenario& scenario, const SafetyFunction& function, std::size_t mode) {
    const std::vector<std::size_t> modes = modes_of(scenario, function);
    return std::find(modes.begin(), modes.end(), mode) != modes.end();
}

/// Why a demand shows nothing of what the machine does; empty if it does show it.
std::string not_shown(const Scenario& scenario, const DemandResult& demand, const Reached& reached, StopCategory must) {
    if (!demand.link_ran) return "the link did not run";
    if (!demand.moved) return scenario.machine->name + " stood already";
    if (demand.stopping) return "another stop was under way";
    if (demand.slowed && must == StopCategory::reduced_speed) return "it was at reduced speed already";
    for (const DemandHop& hop : demand.hops)
        if (hop.was_zero && hop.signal == reached.signal)
            return scenario.signals[hop.signal].name + " was 0 already for another reason";
    return {};
}

void add_to(std::string& why, const std::string& more) { why += (why.empty() ? "" : "; ") + more; }

/// The link took the signal away before the guard's own 0 had come.
bool stopped_by_link(const DemandResult& demand, const Reached& reached) {
    return std::any_of(demand.hops.begin(), demand.hops.end(), [&](const DemandHop& hop) {
        return hop.signal == reached.signal && hop.received && (!hop.sent || *hop.received < *hop.sent);
    });
}

constexpr const char* started_once_more =
    " was started once more, its guard free again by then, before it could be seen to stand";

/// A start cut short what would have come in time, and before that time was over: what came of it was not to be seen.
/// One that comes later, or where nothing would have come in time, takes nothing away.
bool cut_short(const DemandResult& demand, const std::optional<Duration>& would_come, Duration allowed) {
    return demand.set_going && *demand.set_going < allowed && would_come && *would_come <= allowed;
}

/// Of a stop whose hazard ended at reduced speed: whether it stood too. The hazard's end is what was timed; a stop that
/// is never completed is none.
void judge_standstill(const Scenario& scenario, const DemandResult& demand, const std::string& machine,
                      const Reached& reached, FunctionRow& row) {
    const std::string slow = "down to the reduced speed after " + in_ms(*row.took);
    if (demand.standstill) {
        row.why = "down to the reduced speed, where the hazard ends, after " + in_ms(*row.took) + "; it stood after " +
                  in_ms(*demand.standstill);
        return;
    }
    const Duration needs = *row.took + MachineModel::stopping_time(*scenario.machine, reached.stop);
    if (cut_short(demand, demand.would_stand, needs)) {
        row.met = Met::not_shown;
        row.why = machine + " came " + slow + ", and" + started_once_more;
        return;
    }
    const bool ended = demand.at + needs > scenario.duration;
    row.met = ended ? Met::not_shown : Met::no;
    row.why = machine + (ended ? " came " + slow + ", and the run ended before it could be seen to stand"
                               : " came " + slow + ", and never stood");
}

void judge(const Scenario& scenario, const DemandResult& demand, const MustReact& must, const Reached& reached,
           bool reduced_counts, FunctionRow& row) {
    row.why = not_shown(scenario, demand, reached, must.must);
    if (!row.why.empty()) return;
    const std::string does(name_of(reached.stop)), asked(name_of(must.must));
    if (!at_least_as_asked(reached.stop, must.must)) {
        row.met = Met::no;
        row.why = asked + " is asked of " + must.machine + ", and by its wiring it is " + does;
        return;
    }
    const bool to_reduced = must.must == StopCategory::reduced_speed || reduced_counts;
    row.took = to_reduced && demand.reduced ? demand.reduced : demand.standstill;
    if (!row.took && demand.at + *row.allowed > scenario.duration) {
        row.why = "the run ended before it could be seen";
    } else if (!row.took &&
               cut_short(demand, to_reduced ? demand.would_be_reduced : demand.would_stand, *row.allowed)) {
        row.why = must.machine + started_once_more;
    } else if (!row.took) {
        row.met = Met::no;
        row.why = must.machine + (to_reduced ? " never came down to the reduced speed" : " never stood");
    } else if (*row.took > *row.allowed) {
        row.met = Met::no;
        row.why = "it took " + in_ms(*row.took) + " from the contact, and " + written(*row.allowed) + " are allowed" +
                  at_full_speed(scenario, demand, row.function);
    } else {
        row.met = Met::yes;
        const bool is_stop = must.must != StopCategory::reduced_speed;
        if (is_stop && row.took != demand.standstill) judge_standstill(scenario, demand, must.machine, reached, row);
        if (row.met != Met::yes) return;
        if (stopped_by_link(demand, reached))
            add_to(row.why, "by the link, which failed before the guard's 0 had come");
        if (reached.stop != must.must) add_to(row.why, "by " + does + ", which is more than " + asked);
    }
}

void add_row(const Scenario& scenario, const ScenarioLimits& limits, const StatedLimits& stated, std::size_t which,
             FunctionRow row, RunResult& result) {
    const DemandResult& demand = result.demands[which];
    const SafetyFunction& function = scenario.functions[row.function];
    const MustReact& must = function.must[row.must];
    const std::size_t guard = guard_of(scenario, demand);
    row.result = which;
    const std::optional<std::size_t> mode = mode_of(scenario, demand);
    const std::optional<Reached> reached = reached_by(scenario, guard, mode.value_or(0));
    if (demand.muted) {
        row.why = "muted, as designed";
    } else if (!mode) {
        row.why = "one mode was being changed for another";
    } else if (!asked_in(scenario, function, *mode)) {
        row.why = "not asked in the mode " + scenario.modes[*mode].name;
    } else if (!reached) {
        row.met = Met::no;
        row.why = "it reaches no output";
    } else {
        const Safeguard& safeguard = scenario.safeguards[guard];
        row.allowed =
            allowed_for(scenario, limits, stated.of(row.function, row.must, safeguard.name), safeguard, *reached);
        judge(scenario, demand, must, *reached, reduced_speed_counts(scenario, function), row);
    }
    if (row.met == Met::no && demand.reaches_output)
        result.dangerous.push_back({demand.at, std::nullopt,
                                    "\"" + function.name + "\" was not kept when " + scenario.safeguards[guard].name +
                                        " was demanded: " + row.why});
    result.function_rows.push_back(std::move(row));
}

/// The wiring asks nothing of it in this mode, and neither does a function.
bool asked_elsewhere_only(const Scenario& scenario, const DemandResult& demand, const std::string& guard) {
    const std::optional<std::size_t> mode = mode_of(scenario, demand);
    if (scenario.modes.empty() || !mode || !reaches_in_some_mode(scenario, guard_of(scenario, demand))) return false;
    return std::none_of(scenario.functions.begin(), scenario.functions.end(),
                        [&](const SafetyFunction& one) { return names(one, guard) && asked_in(scenario, one, *mode); });
}

void judge_demand(const Scenario& scenario, const ScenarioLimits& limits, const StatedLimits& stated, std::size_t which,
                  RunResult& result) {
    const DemandResult& demand = result.demands[which];
    const Safeguard& guard = scenario.safeguards[guard_of(scenario, demand)];
    if (!demand.reaches_output && !demand.muted && guard.no_function.empty() &&
        !asked_elsewhere_only(scenario, demand, guard.name))
        result.dangerous.push_back(
            {demand.at, std::nullopt, "the demand of " + guard.name + " reached no output: nothing obeys it"});
    for (std::size_t f = 0; f < scenario.functions.size(); ++f) {
        if (!names(scenario.functions[f], guard.name)) continue;
        for (std::size_t m = 0; m < scenario.functions[f].must.size(); ++m) {
            FunctionRow row;
            row.function = f;
            row.must = m;
            add_row(scenario, limits, stated, which, std::move(row), result);
        }
    }
}

/// What the rows of one safeguard and one reaction come to.
Met met_by(const Scenario& scenario, const RunResult& result, std::size_t function, std::size_t must,
           const std::string& safeguard) {
    Met met = Met::not_shown;
    for (const FunctionRow& row : result.function_rows) {
        const std::string& of = scenario.demands[result.demands[row.result].demand].safeguard;
        if (row.function != function || row.must != must || of != safeguard) continue;
        if (row.met == Met::no) return Met::no;
        if (row.met == Met::yes) met = Met::yes;
    }
    return met;
}

bool demanded(const Scenario& scenario, const RunResult& result, const std::string& safeguard) {
    return std::any_of(result.demands.begin(), result.demands.end(), [&](const DemandResult& demand) {
        return scenario.demands[demand.demand].safeguard == safeguard;
    });
}

/// Whether each reaction was met by each safeguard, and which was not seen.
void add_met(const Scenario& scenario, const RunResult& result, FunctionResult& found) {
    const SafetyFunction& function = scenario.functions[found.function];
    std::string not_seen;
    found.met = Met::yes;
    for (const std::string& safeguard : function.safeguards) {
        if (!demanded(scenario, result, safeguard)) found.never_demanded.push_back(safeguard);
        for (std::size_t must = 0; must < function.must.size(); ++must) {
            const Met met = met_by(scenario, result, found.function, must, safeguard);
            if (met == Met::no) found.met = Met::no;
            if (met == Met::not_shown && found.met == Met::yes) found.met = Met::not_shown;
            if (met == Met::not_shown) not_seen += (not_seen.empty() ? "" : ", ") + safeguard;
        }
    }
    if (found.met == Met::not_shown) found.why = "never shown, alone and from motion: " + not_seen;
}

/// The least of the limits that are stated for it.
std::optional<Duration> least_limit(const Scenario& scenario, const StatedLimits& stated, std::size_t which) {
    const SafetyFunction& function = scenario.functions[which];
    std::optional<Duration> least;
    for (const std::string& safeguard : function.safeguards)
        for (std::size_t must = 0; must < function.must.size(); ++must) {
            const auto limit = stated.of(which, must, safeguard);
            if (limit && (!least || *limit < *least)) least = limit;
        }
    return least;
}

FunctionResult over_all(const Scenario& scenario, const RunResult& result, const StatedLimits& stated,
                        std::size_t which) {
    FunctionResult found;
    found.function = which;
    add_met(scenario, result, found);
    found.within = least_limit(scenario, stated, which);
    bool told = false;
    for (const FunctionRow& row : result.function_rows) {
        if (row.function != which) continue;
        if (row.met == Met::no && !told) found.why = row.why;
        told = told || row.met == Met::no;
        if (!row.took) continue;
        const Duration sensor = scenario.safeguards[guard_of(scenario, result.demands[row.result])].delay;
        found.worst = std::max(found.worst.value_or(Duration{}), *row.took + sensor);
    }
    return found;
}

void remark_on_what_was_not_rehearsed(const Scenario& scenario, RunResult& result) {
    std::string never;
    for (const Safeguard& guard : scenario.safeguards)
        if (guard.no_function.empty() && !demanded(scenario, result, guard.name))
            never += (never.empty() ? "" : ", ") + guard.name;
    if (!never.empty()) result.remarks.push_back("Never demanded: " + never + ".");
    if (scenario.machine && !result.machine_started)
        result.remarks.push_back("The " + scenario.machine->name +
                                 " was never started: nothing about stopping was rehearsed.");
    if (scenario.functions.empty()) return;
    for (const Safeguard& guard : scenario.safeguards) {
        const bool in_some = any_names(scenario.functions, guard.name);
        if (!in_some && guard.no_function.empty())
            result.remarks.push_back("No function says what " + guard.name + " must do.");
    }
}

}  // namespace

std::string at_full_speed(const Scenario& scenario, const DemandResult& demand, std::size_t which) {
    const SafetyFunction& function = scenario.functions[which];
    if (demand.slowed || function.slowed_by.empty()) return {};
    return ", at full speed: its distance counts once \"" + function.slowed_by + "\" has slowed it down";
}

StatedLimits::StatedLimits(const Scenario& scenario, bool distances_count) {
    for (std::size_t f = 0; f < scenario.functions.size(); ++f)
        for (std::size_t must = 0; must < scenario.functions[f].must.size(); ++must)
            for (const std::string& safeguard : scenario.functions[f].safeguards) {
                const FunctionTime time = time_of(scenario, f, must, safeguard);
                std::optional<Duration> limit = time.within;
                if (distances_count && time.by_distance)
                    limit = std::min(*time.by_distance, limit.value_or(*time.by_distance));
                all_.push_back({f, must, safeguard, limit});
            }
}

std::optional<Duration> StatedLimits::of(std::size_t function, std::size_t must, const std::string& safeguard) const {
    const auto found = std::find_if(all_.begin(), all_.end(), [&](const One& one) {
        return one.function == function && one.must == must && one.safeguard == safeguard;
    });
    proto::require(found != all_.end(), "the limit of a guard that the function does not name");
    return found->limit;
}

void judge_demands(const Scenario& scenario, const ScenarioLimits& limits, const StatedLimits& stated,
                   RunResult& result) {
    for (std::size_t i = 0; i < result.demands.size(); ++i) judge_demand(scenario, limits, stated, i, result);
}

void judge_functions(const Scenario& scenario, const ScenarioLimits& limits, RunResult& result) {
    const StatedLimits stated(scenario, result.time_scale == 1);
    const std::size_t before = result.dangerous.size();
    judge_demands(scenario, limits, stated, result);
    if (result.dangerous.size() != before)
        std::stable_sort(result.dangerous.begin(), result.dangerous.end(),
                         [](const DangerousEvent& a, const DangerousEvent& b) { return a.at < b.at; });
    for (std::size_t f = 0; f < scenario.functions.size(); ++f)
        result.functions.push_back(over_all(scenario, result, stated, f));
    const bool any_distance =
        scenario.distance || std::any_of(scenario.functions.begin(), scenario.functions.end(),
                                         [](const SafetyFunction& one) { return one.distance.has_value(); });
    if (any_distance && result.time_scale != 1)
        result.remarks.emplace_back(
            "What a distance leaves was not looked at: people do not become slower with the machine.");
    if (result.link_started && !limits.of_cell) remark_on_what_was_not_rehearsed(scenario, result);
}

}  // namespace sim
