#include "sim/studies/function_check_parts.hpp"

#include <algorithm>
#include <utility>

#include "sim/plant/machine.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/function_time.hpp"

namespace sim {
namespace {

std::string named(const SafetyFunction& function) { return "\"" + function.name + "\": "; }

/// "sensor 20 ms, link 130 ms, stop 562 ms" of the safeguard that decides.
std::string sum_in_words(const FunctionTime& time) {
    std::string text;
    for (const ResponsePart& part : time.response.parts)
        if (part.with_fault.ns != 0)
            text += part.name + " " + written(part.name == "link" ? part.with_fault : part.delay) + ", ";
    return text + "stop " + written(*time.stopping());
}

/// What would keep it: a shorter watchdog if any does, else what is left.
std::string mend_of(const Scenario& scenario, const FunctionTime& time) {
    std::string mend = "write ";
    if (const auto watchdog = longest_watchdog_for(scenario, time.function)) {
        mend += "a watchdog of \"" + written(*watchdog) + "\" or less at both ends, or ";
    } else {
        mend = "no watchdog helps; write ";
    }
    const Duration over = *time.overall() - *time.limit();
    mend += "a machine that stops by " + written(over) + " sooner, or ";
    if (time.binds == FunctionTime::Binds::within) return mend + "the within that the hazard really allows";
    return mend + "there = \"" + std::to_string(whole_mm_up(time.needed ? time.needed->needed : Length{})) +
           " mm\" or more for the guard";
}

/// `within` against what no watchdog makes shorter, and against the distance. True if that says enough.
bool within_is_hopeless(const SafetyFunction& function, const FunctionTime& time, FunctionCheck& result) {
    const std::optional<Duration>& within = function.must[time.must].within;
    if (!within) return false;
    if (time.by_distance && !time.from_reduced.counts() && *within > *time.by_distance)
        result.problems.push_back(named(function) + "within = " + written(*within) +
                                  " is longer than the distance allows: the guard at " +
                                  written(micrometres(*time.guard->there_um)) + " leaves " +
                                  written(*time.by_distance) + "; write that or less, or move the guard");
    if (!time.others || *within > *time.others) return false;
    result.problems.push_back(named(function) + "within = " + written(*within) + ", and the sensor of " +
                              time.safeguard + ", what lies outside the link and the stop alone take " +
                              written(*time.others) +
                              ": no watchdog helps; a machine that stops sooner does, or the within that the hazard "
                              "really allows");
    return true;
}

void add_time(const Scenario& scenario, const FunctionTime& time, FunctionCheck& result) {
    const SafetyFunction& function = scenario.functions[time.function];
    if (within_is_hopeless(function, time, result)) return;
    if (time.kept || failure_only_slows(scenario)) return;  // the latter is told once for all
    if (!time.overall()) {
        result.problems.push_back(named(function) + time.why +
                                  (time.response.response
                                       ? "; see [stopping], and what linkdrill response says of each stop"
                                       : "; write one_way_delay in [limit], or a profile that measures the age"));
        return;
    }
    result.problems.push_back(named(function) + time.safeguard + " takes " + time.why + " (" + sum_in_words(time) +
                              "); " + mend_of(scenario, time));
}

/// From which speed its distance counts, where not from full speed alone.
void add_from_speed(const Scenario& scenario, const FunctionTime& time, FunctionCheck& result) {
    if (!time.from_reduced.asked) return;
    (time.from_reduced.counts() ? result.reckoned : result.cautions)
        .push_back(named(scenario.functions[time.function]) + "the distance of " + time.safeguard + " " +
                   in_words(time.from_reduced));
}

bool used_at_its_end(const Scenario& scenario, const Signal& signal) {
    if (!signal.inverse_of.empty()) return true;  // by its pair
    const auto& signals = scenario.signals;
    if (std::any_of(signals.begin(), signals.end(),
                    [&](const Signal& other) { return is_made_of(other, signal.name); }))
        return true;
    if (!scenario.machine) return true;  // nothing is known about what stands there
    const auto& reactions = scenario.machine->reactions;
    return std::any_of(reactions.begin(), reactions.end(),
                       [&](const MachineReaction& reaction) { return reaction.signal == signal.name; });
}

bool has_bit(const TypedEnd& end, const Signal& signal) {
    return std::any_of(end.bits.begin(), end.bits.end(),
                       [&](const TypedBit& bit) { return bit.signal == signal.name; });
}

}  // namespace

void add_times(const Scenario& scenario, FunctionCheck& result) {
    for (std::size_t f = 0; f < scenario.functions.size(); ++f)
        for (std::size_t must = 0; must < scenario.functions[f].must.size(); ++must) {
            std::vector<FunctionTime> times;  // of those that reach the machine: the others are told by their rows
            for (const std::string& safeguard : scenario.functions[f].safeguards)
                if (FunctionTime time = time_of(scenario, f, must, safeguard); time.reaches())
                    times.push_back(std::move(time));
            if (const FunctionTime* decides = tightest(times)) add_time(scenario, *decides, result);
            for (const FunctionTime& time : times) add_from_speed(scenario, time, result);
        }
}

void add_ramp(const Scenario& scenario, FunctionCheck& result) {
    const std::optional<Duration>& power_off = scenario.stopping.power_off_after;
    if (!scenario.machine || !power_off) return;
    for (const MachineReaction& reaction : scenario.machine->reactions) {
        if (reaction.stop != StopCategory::category_1) continue;
        const Duration ramp = MachineModel::stopping_time(*scenario.machine, reaction.stop);
        if (*power_off >= ramp) continue;
        result.problems.push_back("power_off_after = " + written(*power_off) + ", but the stop of category 1 by " +
                                  reaction.signal + " takes " + written(ramp) +
                                  " with its ramp: the power goes before it stands, which is a stop of category 0 "
                                  "(IEC 60204-1, 9.2); write \"" +
                                  written(ramp) + "\" or more");
        return;
    }
}

void add_unused_signals(const Scenario& scenario, FunctionCheck& result) {
    for (const Signal& signal : scenario.signals) {
        if (signal.elsewhere) continue;
        const TypedEnd& from = scenario.end(sender(signal.direction));
        const TypedEnd& to = scenario.end(receiver(signal.direction));
        if (!used_at_its_end(scenario, signal))
            result.cautions.push_back(signal.name + " is used by nobody at " + to.name +
                                      ": no reaction obeys it and no other signal takes it");
        if (has_bit(to, signal) && !has_bit(from, signal))
            result.cautions.push_back(to.name + " reads " + signal.name +
                                      " from a bit that nobody writes: it has none at " + from.name);
    }
}

void add_pairs(const Scenario& scenario, FunctionCheck& result) {
    for (const Signal& second : scenario.signals) {
        const Duration cycle = scenario.end(receiver(second.direction)).link.cycle;
        if (second.elsewhere || second.inverse_of.empty() || second.discrepancy >= cycle) continue;
        result.cautions.push_back(second.name + " has a discrepancy of " + written(second.discrepancy) +
                                  ", shorter than the cycle of " + written(cycle) +
                                  ": one telegram with both bits equal latches the pair at 0 until a reset; write \"" +
                                  written(cycle) + "\" or more");
    }
}

void add_never_seen(const Scenario& scenario, FunctionCheck& result) {
    std::string never;
    for (const Safeguard& safeguard : scenario.safeguards) {
        const bool demanded = std::any_of(scenario.demands.begin(), scenario.demands.end(),
                                          [&](const Demand& demand) { return demand.safeguard == safeguard.name; });
        if (!demanded) never += (never.empty() ? "" : ", ") + safeguard.name;
    }
    if (!never.empty()) result.cautions.push_back("never demanded in this scenario: " + never);
    const auto& acts = scenario.operator_acts;
    const bool started = std::any_of(acts.begin(), acts.end(),
                                     [](const OperatorAct& act) { return act.act == OperatorAct::Act::start_machine; });
    if (scenario.machine && !started)
        result.cautions.push_back(scenario.machine->name +
                                  " is never started in this scenario: nothing about stopping is rehearsed");
}

}  // namespace sim
