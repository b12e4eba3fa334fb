#include "sim/studies/acceptance_study.hpp"

#include <algorithm>
#include <utility>

#include "sim/plant/machine.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/contract_context.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/timing/from_reduced.hpp"
#include "sim/timing/minimum_distance.hpp"

namespace sim {
namespace {

using Kind = AcceptanceAct::Kind;
using Speed = AcceptanceAct::Speed;

RehearsedAct rehearsed(const SheetOnPlant& on, const AcceptanceAct& act) {
    RehearsedAct one{act, asked_of_machine(on.sheet, act), limits_of_act(on.sheet, act), {}, {}};
    one.seen = rehearse_act(on.plant, act, one.asked.value_or(AskedOfMachine{}), on.seed);
    one.passes = judge_act(on.plant, act, one.asked, one.limits, one.seen);
    return one;
}

/// Each safeguard with each function that names it, in the order of the functions; then those that none names.
std::vector<AcceptanceAct> demands_of(const Scenario& s) {
    std::vector<AcceptanceAct> demands;
    for (std::size_t f = 0; f < s.functions.size(); ++f)
        for (const std::string& safeguard : s.functions[f].safeguards)
            demands.push_back({.kind = Kind::demand, .safeguard = safeguard, .function = f});
    for (std::size_t i = 0; i < s.safeguards.size(); ++i) {
        const Safeguard& guard = s.safeguards[i];
        const bool in_some = any_names(s.functions, guard.name);
        if (in_some || (!guard.no_function.empty() && s.machine && !reached_by(s, i))) continue;
        demands.push_back({.kind = Kind::demand, .safeguard = guard.name});
    }
    return demands;
}

/// Two at once: the first two of a function, and two of functions that follow each other, of whose reactions the more
/// severe must act.
std::vector<AcceptanceAct> pairs_of(const Scenario& s, const std::vector<AcceptanceAct>& demands) {
    std::vector<AcceptanceAct> pairs;
    for (std::size_t i = 0; i + 1 < demands.size(); ++i) {
        const AcceptanceAct &one = demands[i], &other = demands[i + 1];
        const auto a = asked_of_machine(s, one), b = asked_of_machine(s, other);
        const bool starts_function = i == 0 || demands[i - 1].function != one.function;
        if (one.safeguard == other.safeguard || (one.function == other.function && !starts_function)) continue;
        // the limit is that of the reaction which acts
        const bool second_acts = a && b && command_of(b->stop) > command_of(a->stop);
        pairs.push_back(second_acts ? other : one);
        pairs.back().together_with = second_acts ? one.safeguard : other.safeguard;
    }
    return pairs;
}

std::vector<RehearsedAct> rehearsed_demands(const SheetOnPlant& on) {
    const std::vector<AcceptanceAct> demands = demands_of(on.sheet);
    std::vector<RehearsedAct> all;
    if (on.sheet.machine && on.sheet.machine->reduced_speed_um_s != 0)
        for (AcceptanceAct act : demands) {
            act.speed = Speed::reduced;
            const auto asked = asked_of_machine(on.sheet, act);
            if (asked && !asked->runs_on()) all.push_back(rehearsed(on, act));
        }
    for (const AcceptanceAct& act : demands) all.push_back(rehearsed(on, act));
    for (const AcceptanceAct& act : pairs_of(on.sheet, demands)) all.push_back(rehearsed(on, act));
    for (AcceptanceAct act : demands) {
        act.kind = Kind::demand_in_cut;
        all.push_back(rehearsed(on, act));
    }
    return all;
}

/// A link is broken at reduced speed first, where the machine has one and does not just slow down to it.
Speed slowly_where_it_shows(const Scenario& s, const AcceptanceAct& act) {
    const auto asked = asked_of_machine(s, act);
    return asked && !asked->runs_on() && s.machine->reduced_speed_um_s != 0 ? Speed::reduced : Speed::full;
}

/// The checks of each safeguard, and of those that ask something of the machine what gives the speed back.
void rehearse_checks(const SheetOnPlant& on, AcceptanceStudy& study) {
    for (std::size_t i = 0; i < on.sheet.safeguards.size(); ++i) {
        const Safeguard& guard = on.sheet.safeguards[i];
        RehearsedCheck look{.safeguard = i, .passes = rehearse_look(on, guard)};
        for (std::size_t f = on.sheet.functions.size(); f-- > 0;)
            if (names(on.sheet.functions[f], guard.name)) look.function = f;
        const AcceptanceAct demand{.kind = Kind::demand, .safeguard = guard.name, .function = look.function};
        look.asked = asked_of_machine(on.sheet, demand);
        study.looks.push_back(look);
        for (const DemandChannel channel : {DemandChannel::both, DemandChannel::a, DemandChannel::b}) {
            if ((channel == DemandChannel::both) == (guard.channels == 2)) continue;
            RehearsedCheck wire = look;
            wire.channel = channel;
            wire.passes = rehearse_wire(on, guard, channel);
            study.wires.push_back(std::move(wire));
        }
        if (!on.sheet.machine || (!look.function && !reached_by(on.sheet, i))) continue;
        look.passes = rehearse_free_again(on, demand);
        study.free_again.push_back(std::move(look));
    }
}

/// At the speed that the distance of the act's guard counts from.
bool at_its_speed(const Scenario& sheet, const SafetyFunction& function, const AcceptanceAct& act) {
    const FromReduced from = from_reduced(sheet, function, function.must.front(), act.safeguard);
    return act.speed == (from.counts() ? Speed::reduced : Speed::full);
}

/// By the slowest of its safeguards that its distance is about.
std::optional<Distance> needed_by(const Scenario& sheet, const AcceptanceStudy& study, std::size_t which) {
    const SafetyFunction& function = sheet.functions[which];
    if (!function.distance) return std::nullopt;
    std::optional<Duration> overall;
    for (const RehearsedAct& demand : study.demands) {
        const AcceptanceAct& act = demand.act;
        if (act.kind != Kind::demand || act.function != which || !at_its_speed(sheet, function, act)) continue;
        if (!function.distance->safeguard.empty() && function.distance->safeguard != act.safeguard) continue;
        if (!demand.limits.by_settings) return std::nullopt;
        overall = std::max(overall.value_or(Duration{}), *demand.limits.by_settings);
    }
    if (!overall || *overall > overall_most) return std::nullopt;
    return needed_distance(function.distance->how, *overall);
}

}  // namespace

AcceptanceStudy study_acceptance(const Scenario& scenario, std::uint64_t seed) {
    return study_acceptance({scenario, scenario, seed});
}

AcceptanceStudy study_acceptance(const SheetOnPlant& on) {
    const ContractContext context(on.plant.file, on.seed);
    AcceptanceStudy study;
    study.seed = on.seed;
    study.signature = cross_check(on.sheet).signature;
    rehearse_checks(on, study);
    study.demands = rehearsed_demands(on);
    AcceptanceAct act{.kind = Kind::cut};
    act.speed = slowly_where_it_shows(on.sheet, act);
    study.cut = rehearsed(on, act);
    for (const End end : {End::controller, End::device}) {
        act = {.kind = Kind::power_off, .end = end};
        act.speed = slowly_where_it_shows(on.sheet, act);
        study.power_off[static_cast<std::size_t>(end) & 1] = rehearsed(on, act);
    }
    study.acknowledgement = rehearse_acknowledgement(on.plant, on.seed);
    for (Mistyped& typed : mistyped_settings(on.sheet)) {
        Passes passes = rehearse_mistyped(on, typed);
        study.mistyped.push_back({std::move(typed), std::move(passes)});
    }
    study.response = response_of(on.sheet);
    study.distance = distance_of(on.sheet, study.response);
    for (std::size_t f = 0; f < on.sheet.functions.size(); ++f)
        study.function_distances.push_back(needed_by(on.sheet, study, f));
    return study;
}

}  // namespace sim
