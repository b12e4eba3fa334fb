#include "sim/studies/guard_kinds.hpp"

#include <algorithm>
#include <optional>

#include "sim/plant/application.hpp"
#include "sim/plant/machine.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

/// A distance by that rule is of such a kind of safeguard.
bool fits(GuardKind kind, Approach approach) {
    switch (kind) {
        case GuardKind::mat: return approach == Approach::mat;
        case GuardKind::curtain:
            return approach == Approach::right_angle || approach == Approach::multi_beam ||
                   approach == Approach::single_beam || approach == Approach::parallel;
        case GuardKind::field: return approach == Approach::parallel || approach == Approach::right_angle;
        case GuardKind::interlocked_guard: return approach == Approach::interlocked_guard;
        case GuardKind::two_hand: return approach == Approach::two_hand;
        case GuardKind::emergency_stop:
        case GuardKind::enabling: return false;
    }
    return false;
}

void check_distance(const Safeguard& guard, const GuardDistance& distance, GuardKindFindings& found) {
    if (!guard.kind || fits(*guard.kind, distance.how.approach)) return;
    const std::string kind(name_of(*guard.kind));
    if (*guard.kind == GuardKind::emergency_stop || *guard.kind == GuardKind::enabling)
        found.problems.push_back(guard.name + " is of the kind " + kind +
                                 ", which keeps nobody at a distance; take the distance away");
    else
        found.problems.push_back(guard.name + " is of the kind " + kind + ", and its distance is reckoned as \"" +
                                 std::string(name_of(distance.how.approach)) + "\"; write the case of its kind");
}

void check_distances(const Scenario& scenario, const Safeguard& guard, GuardKindFindings& found) {
    if (scenario.distance && scenario.distance->safeguard == guard.name)
        check_distance(guard, *scenario.distance, found);
    for (const SafetyFunction& function : scenario.functions) {
        if (!function.distance || !names(function, guard.name)) continue;
        if (function.distance->safeguard.empty() || function.distance->safeguard == guard.name)
            check_distance(guard, *function.distance, found);
    }
}

void check_emergency_stop(const Scenario& scenario, std::size_t index, GuardKindFindings& found) {
    const Safeguard& guard = scenario.safeguards[index];
    if (!guard.latched)
        found.problems.push_back(guard.name +
                                 " is an emergency stop that does not latch; write latched = true (ISO 13850)");
    for (std::size_t mode = 0; mode < scenario.mode_count(); ++mode) {
        const std::string in = scenario.modes.empty() ? "" : " in the mode " + scenario.modes[mode].name;
        const std::optional<Reached> reached = reached_by(scenario, index, mode);
        if (!reached) {
            if (!scenario.modes.empty() && reaches_in_some_mode(scenario, index))
                found.problems.push_back(guard.name + " is an emergency stop and stops nothing" + in +
                                         "; it acts in every mode (ISO 13850)");
        } else if (reached->stop == StopCategory::category_2 || reached->stop == StopCategory::reduced_speed) {
            found.problems.push_back(guard.name + " is an emergency stop and does " +
                                     std::string(name_of(reached->stop)) + in +
                                     "; it stops by category 0 or 1 (ISO 13850)");
        }
    }
}

/// An emergency stop is muted by nothing.
void check_mutings(const Scenario& scenario, GuardKindFindings& found) {
    for (const Signal& signal : scenario.signals) {
        if (!signal.muted_by) continue;
        for (const Safeguard& guard : scenario.safeguards)
            if (guard.kind == GuardKind::emergency_stop && is_made_of(signal, guard.name))
                found.problems.push_back(signal.name + " is muted, and " + guard.name +
                                         ", an emergency stop, with it; give it a signal of its own");
    }
}

/// The power may go only once the ramp is over, and a failing link does not wait for it.
void check_off_delays(const Scenario& scenario, GuardKindFindings& found) {
    if (!scenario.machine) return;
    const Machine& machine = *scenario.machine;
    for (const MachineReaction& reaction : machine.reactions) {
        const auto signal = std::find_if(scenario.signals.begin(), scenario.signals.end(),
                                         [&](const Signal& one) { return one.name == reaction.signal; });
        if (signal == scenario.signals.end() || signal->off_delay == Duration{}) continue;
        if (machine.ramp_um_s2 == 0) continue;
        const Duration ramp = MachineModel::stopping_time(machine, StopCategory::category_1);
        if (signal->off_delay < ramp)
            found.problems.push_back(signal->name + " takes the power away after " + written(signal->off_delay) +
                                     ", and the ramp takes " + written(ramp) + "; write a longer off_delay");
        const bool falls = machine.brake && machine.brake->drops;
        const std::string at_once =
            signal->name +
            " waits for the ramp when a guard is demanded; when the link fails it is 0 at once, "
            "and the stop is one of category 0";
        if (falls)
            found.problems.push_back(at_once + ", with a load that drops");
        else
            found.cautions.push_back(at_once);
    }
}

/// A failing link makes a stop of category 0 of one that the controller times.
void check_asked_category_1(const Scenario& scenario, GuardKindFindings& found) {
    const std::optional<Reached> failing = reached_by_failure(scenario);
    if (!failing || failing->stop != StopCategory::category_0) return;
    if (scenario.signals[failing->signal].off_delay == Duration{}) return;
    for (const SafetyFunction& function : scenario.functions)
        for (const MustReact& must : function.must)
            if (must.must == StopCategory::category_1)
                found.problems.push_back("\"" + function.name + "\" asks for category-1, and when the link fails " +
                                         must.machine + " loses its power at once; let the drive time the ramp");
}

}  // namespace

GuardKindFindings check_guard_kinds(const Scenario& scenario) {
    GuardKindFindings found;
    for (std::size_t i = 0; i < scenario.safeguards.size(); ++i) {
        const Safeguard& guard = scenario.safeguards[i];
        check_distances(scenario, guard, found);
        if (guard.kind == GuardKind::emergency_stop) check_emergency_stop(scenario, i, found);
        if (guard.kind == GuardKind::two_hand && guard.channels != 2)
            found.cautions.push_back(guard.name +
                                     " is a two-hand control with one channel: letting go of either hand is a demand "
                                     "(ISO 13851); write channels = 2");
    }
    check_mutings(scenario, found);
    check_off_delays(scenario, found);
    check_asked_category_1(scenario, found);
    return found;
}

}  // namespace sim
