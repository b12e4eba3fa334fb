#include "sim/studies/cell_acceptance.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include "sim/plant/application.hpp"
#include "sim/plant/machine.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/contract_context.hpp"
#include "sim/studies/acceptance_limits.hpp"
#include "sim/studies/acceptance_stage.hpp"
#include "sim/studies/cell_stage.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/timing/from_reduced.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

using Kind = AcceptanceAct::Kind;
using Speed = AcceptanceAct::Speed;

constexpr unsigned placings = 40;
constexpr unsigned cut_placings = 12;
constexpr unsigned seeds_tried = 8;
const char* const does_not_run = "with these settings a link does not run, or a machine not start";

std::uint64_t owned_by(const WholeCell& cell, std::size_t link) {
    std::uint64_t own = 0;
    for (std::size_t s = 0; s < cell.signals.size(); ++s)
        if (cell.signals[s] == link) own |= std::uint64_t{1} << s;
    return own;
}

std::string names_in(const WholeCell& cell, std::uint64_t signals) {
    std::string names;
    for (std::size_t s = 0; s < cell.signals.size(); ++s)
        if ((signals >> s & 1) != 0) names += (names.empty() ? "" : ", ") + cell.links.front().alone.signals[s].name;
    return names.empty() ? "none" : names;
}

/// Everything on the way to be seen falling at its sender and at its user, and nothing else.
Passes look_at(const WholeCell& cell, std::size_t safeguard, std::uint64_t seed) {
    const Duration at = settled(cell), wait = patience(cell);
    WholeCell staged = staged_standing(cell, at + wait);
    demand_at(staged, staged.links.front().alone.safeguards[safeguard].name, at, wait);
    for (std::uint64_t k = 0; k < seeds_tried; ++k) {
        const std::vector<TimeLine> lines = drawn(staged, seed + k);
        if (!all_run_from_to(lines, Instant{} + at, lines.front().end())) continue;
        std::uint64_t should = 0, sent = 0, used = 0;
        for (std::size_t i = 0; i < lines.size(); ++i) {
            const std::uint64_t own = owned_by(cell, i);
            should |= falling_on_link(cell, i, safeguard);
            for (const End end : {End::controller, End::device}) {
                const auto fell = [&](const std::vector<TimeLine::SignalChange>& changes) {
                    return signals_at(changes, Instant{} + at) & ~signals_at(changes, lines[i].end() + Duration{1}) &
                           own;
                };
                sent |= fell(lines[i].computed(end));
                used |= fell(lines[i].signals(end));
            }
        }
        if (sent == should && used == should)
            return {true, should == 0 ? "no signal fell" : "only " + names_in(cell, should) + " fell"};
        return {false, "should fall: " + names_in(cell, should) + "; fell as sent: " + names_in(cell, sent) +
                           "; as used: " + names_in(cell, used)};
    }
    return {std::nullopt, "with these settings a link does not run"};
}

/// Of the machine at that link, when the whole cell runs and somebody demands the guard.
ActSeen rehearse_demand(const WholeCell& cell, std::size_t link, const AcceptanceAct& act, const AskedOfMachine& asked,
                        const ActLimits& limits, std::uint64_t seed) {
    ActSeen seen;
    WholeCell as_reckoned = cell;
    Machine& machine = *as_reckoned.links[link].alone.machine;
    machine = machine_reckoned_with(cell.links[link].alone, act, asked).machine;
    if (act.speed == Speed::reduced) machine.speed_um_s = machine.reduced_speed_um_s;
    const Duration longest =
        std::max(limits.machine_at_most.value_or(proto::seconds(5)), limits.stands_at_most.value_or(Duration{}));
    const Duration ends_after = longest * 2 + proto::seconds(1);
    for (unsigned k = 0; k < placings; ++k) {
        const Duration at = settled(cell) + Duration{period(cell).ns * k / placings};
        WholeCell staged = staged_running(as_reckoned, at + ends_after);
        demand_at(staged, act.safeguard, at, ends_after);
        const std::vector<TimeLine> lines = drawn(staged, seed + k);
        const TimeLine& line = lines[link];
        const Instant since = Instant{} + at;
        ++seen.tried;
        if (!all_run_from_to(lines, since - Duration{1}, since) || speed_at(line, since - Duration{1}) == 0) continue;
        ++seen.ran;
        const bool stands = speed_at(line, line.end()) == 0;
        if (stands && both_run_at_end(line)) ++seen.stood;
        const auto ended = at_or_under(line, asked.slow_um_s, since);
        if (!ended || (!asked.runs_on() && !stands)) continue;
        note_stop(seen, asked, line, since, *ended);
    }
    return seen;
}

/// The act for the machine at that link; nothing where it asks nothing of it.
std::optional<CellDemandAct> demand_of(const WholeCell& cell, std::size_t link, const AcceptanceAct& act,
                                       std::uint64_t seed) {
    const Scenario& alone = cell.links[link].alone;
    const std::optional<AskedOfMachine> asked = asked_of_machine(alone, act);
    if (!asked || (act.speed == Speed::reduced && asked->runs_on())) return std::nullopt;
    AcceptanceAct told = act;
    if (act.function)
        for (std::size_t f = 0; f < cell.functions.size(); ++f)
            if (cell.functions[f].name == alone.functions[*act.function].name) told.function_of_cell = f;
    CellDemandAct one{.machine_link = link,
                      .function = told.function_of_cell,
                      .rehearsed = {told, asked, limits_of_act(alone, told), {}, {}}};
    // the links before are rehearsed too, so only what lies outside all of them is left to be added
    one.rehearsed.limits.outside = limits_of_act(in_cell(cell, link), act).outside;
    one.rehearsed.seen = rehearse_demand(cell, link, act, *asked, one.rehearsed.limits, seed);
    one.rehearsed.passes = judge_act(alone, act, asked, one.rehearsed.limits, one.rehearsed.seen);
    return one;
}

/// Each guard of each function, for each machine that it asks; then those that stop one though no function says so.
void add_demands(const WholeCell& cell, std::uint64_t seed, Speed speed, std::vector<CellDemandAct>& all) {
    const auto add = [&](std::size_t link, const AcceptanceAct& act) {
        const std::optional<Machine>& machine = cell.links[link].alone.machine;
        if (!machine || (speed == Speed::reduced && machine->reduced_speed_um_s == 0)) return;
        if (auto one = demand_of(cell, link, act, seed)) all.push_back(std::move(*one));
    };
    for (const SafetyFunction& function : cell.functions)
        for (const std::string& guard : function.safeguards)
            for (std::size_t i = 0; i < cell.links.size(); ++i) {
                const std::vector<SafetyFunction>& shares = cell.links[i].alone.functions;
                for (std::size_t f = 0; f < shares.size(); ++f)
                    if (shares[f].name == function.name)
                        add(i, {.kind = Kind::demand, .safeguard = guard, .speed = speed, .function = f});
            }
    for (const Safeguard& guard : cell.links.front().alone.safeguards)
        for (std::size_t i = 0; i < cell.links.size(); ++i) {
            const Scenario& alone = cell.links[i].alone;
            const bool asked = std::any_of(alone.functions.begin(), alone.functions.end(),
                                           [&](const SafetyFunction& one) { return names(one, guard.name); });
            if (!asked && alone.machine && reached_by(alone, alone.place_of(guard.name)))
                add(i, {.kind = Kind::demand, .safeguard = guard.name, .speed = speed});
        }
}

/// How a machine came through a pulled cable, over all placings.
struct Came {
    unsigned ran = 0, ended = 0, late = 0, went_on = 0;
    std::string why;
};

void judge_cut(const WholeCell& cell, const Came& came, CellCutAct& act) {
    const std::string of = " of " + std::to_string(came.ran);
    const std::string& machine = cell.links[act.machine_link].alone.machine->name;
    if (came.ran == 0)
        act.passes = {std::nullopt, does_not_run};
    else if (act.must == CellCutAct::Must::go_on)
        act.passes = {came.went_on == came.ran, came.went_on == came.ran
                                                    ? "went on in " + std::to_string(came.went_on) + of
                                                    : machine + " STOPPED with a link that it does not hang on"};
    else if (came.ended < came.ran)
        act.passes = {false, "DID NOT STOP in " + std::to_string(came.ran - came.ended) + of};
    else if (came.late != 0)
        act.passes = {false, came.why.empty() ? "OVER what is allowed" : came.why};
    else
        act.passes = {true, "stopped in " + std::to_string(came.ended) + of};
}

/// Its telegrams come within the declared delays, also those that no fault strikes.
bool keeps_its_delays(const Scenario& alone) {
    const auto keeps = [](const ChannelSettings& way) {
        return !way.queue && way.delay.tail.empty() && way.delay.tail_share == 0.0 && !way.delay.fitted;
    };
    return keeps(alone.to_device) && keeps(alone.to_controller);
}

bool loses_nothing(const Scenario& alone) {
    const auto whole = [](const ChannelSettings& way) {
        return way.loss == 0.0 && !way.bursts && way.bit_error_rate == 0.0 && way.delay.lost == 0.0 && way.keep_order;
    };
    return whole(alone.to_device) && whole(alone.to_controller);
}

/// What a link brings falls at the controller and, by that alone and at once, what the controller sends on.
bool falls_at_once(const WholeCell& cell) {
    const Scenario& any = cell.links.front().alone;
    return std::all_of(any.signals.begin(), any.signals.end(), [&](const Signal& signal) {
        const bool sent_on = std::any_of(any.signals.begin(), any.signals.end(),
                                         [&](const Signal& other) { return is_made_of(signal, other.name); });
        return signal.off_delay == Duration{} && !signal.muted_by &&
               (signal.direction == Direction::to_device || !sent_on);
    });
}

/// From a pulled cable to a machine at another link: until the controller has noticed, then over that other link
/// without a fault, which is not struck. Nothing where more may lie between; then only run's limit of any fault holds.
std::optional<Duration> far_limit(const WholeCell& cell, std::size_t link, std::size_t machine_link) {
    const Scenario &struck = cell.links[link].alone, &there = cell.links[machine_link].alone;
    if (there.machine->at != End::device || !falls_at_once(cell) || there.values.any()) return std::nullopt;
    if (!keeps_its_delays(struck) || !keeps_its_delays(there) || !loses_nothing(there)) return std::nullopt;
    const Direction on[] = {Direction::to_device};
    const std::optional<ResponsePart> part = part_of_link(there, on);
    const std::optional<Duration> noticed =
        limits_of_act(struck, {}).end_at_most[static_cast<std::size_t>(End::controller)];
    if (!part || !noticed) return std::nullopt;
    // not all that it obeys need fall, so the slowest of its reactions
    Duration stop{};
    for (const MachineReaction& reaction : there.machine->reactions)
        stop = std::max(stop, MachineModel::stopping_time(*there.machine, reaction.stop));
    return *noticed + part->delay + stop;
}

/// A pulled cable is less than any fault: nothing comes late before it. So what run allows, which reckons with a
/// telegram just inside the watchdog, would let a drive pass whose watchdog is longer than was rehearsed.
void limit_cut(const WholeCell& cell, CellCutAct& act) {
    const Scenario& alone = cell.links[act.machine_link].alone;
    if (act.must != CellCutAct::Must::stop || !act.allowed) return;
    std::optional<Duration> limit;
    if (act.link != act.machine_link) {
        limit = far_limit(cell, act.link, act.machine_link);
    } else if (keeps_its_delays(alone)) {
        ActLimits limits = limits_of_act(alone, {});
        limit = limits.machine_at_most;
        act.reckoned = std::move(limits.reckoned);
    }
    if (limit && *limit <= *act.allowed)
        act.allowed = limit;
    else
        act.reckoned.clear();
}

/// One machine in one rehearsal: of its own link's failure the link tells, of another one's whoever follows it there.
void look_at_cut(const WholeCell& cell, const CellResult& result, const TimeLine& line, Instant since, CellCutAct& act,
                 Came& came) {
    ++came.ran;
    if (speed_at(line, line.end()) != 0) ++came.went_on;
    if (act.must == CellCutAct::Must::go_on) return;
    std::optional<Duration> reduced, stands;
    bool within = true;
    if (act.link == act.machine_link) {
        for (const InjectionResult& one : result.links[act.link].injections) {
            reduced = one.reduced;
            stands = one.standstill;
            within = one.within_limit;
            act.allowed = one.allowed;
        }
    } else {
        for (const FarStop& stop : result.far_stops) {
            if (stop.link != act.link || stop.machine_link != act.machine_link) continue;
            reduced = stop.reduced;
            stands = stop.standstill;
            within = stop.within_limit;
            act.allowed = stop.allowed;
            came.why = stop.why;
        }
    }
    limit_cut(cell, act);
    const std::optional<Duration> ended = act.slow_um_s != 0 && reduced ? reduced : stands;
    if (!ended) return;
    // the clock of the sheet starts at the act, as the injection does; the drawn speed must say the same
    if (!at_or_under(line, act.slow_um_s, since)) return;
    ++came.ended;
    if (!within || (act.allowed && *ended > *act.allowed)) ++came.late;
    act.rehearsed = std::max(act.rehearsed.value_or(Duration{}), *ended);
}

/// Each machine stops as its limits reckon with, where that was measured and not by its figures.
WholeCell with_measured_stops(const WholeCell& cell) {
    WholeCell as_reckoned = cell;
    for (CellLink& link : as_reckoned.links)
        if (const auto asked = asked_of_machine(link.alone, {}))
            link.alone.machine = machine_reckoned_with(link.alone, {}, *asked).machine;
    return as_reckoned;
}

/// Requires a cell with_measured_stops().
void add_cuts(const WholeCell& cell, std::uint64_t seed, std::size_t link, std::vector<CellCutAct>& all) {
    std::vector<CellCutAct> acts;
    std::vector<Came> came;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const Scenario& alone = cell.links[i].alone;
        if (!alone.machine) continue;
        const Hangs hangs_on_it = hangs_on(cell, i, link);
        if (hangs_on_it == Hangs::sometimes) continue;
        const bool hangs = hangs_on_it == Hangs::always;
        CellCutAct act;
        act.link = link;
        act.machine_link = i;
        act.must = hangs ? CellCutAct::Must::stop : CellCutAct::Must::go_on;
        if (hangs && reduced_speed_counts(alone)) act.slow_um_s = alone.machine->reduced_speed_um_s;
        acts.push_back(act);
        came.emplace_back();
    }
    const Duration ends_after = patience(cell) + proto::seconds(3);
    for (unsigned k = 0; k < cut_placings; ++k) {
        const Duration at = settled(cell) + Duration{period(cell).ns * k / cut_placings};
        WholeCell staged = staged_running(cell, at + ends_after);
        cut_cable(staged.links[link].alone, at, ends_after);
        std::vector<TimeLine> lines;
        const CellResult result = rehearsed(staged, seed + k, lines);
        const Instant since = Instant{} + at;
        if (!all_run_from_to(lines, since - Duration{1}, since)) continue;
        for (std::size_t a = 0; a < acts.size(); ++a) {
            const TimeLine& line = lines[acts[a].machine_link];
            if (speed_at(line, since - Duration{1}) != 0) look_at_cut(cell, result, line, since, acts[a], came[a]);
        }
    }
    for (std::size_t a = 0; a < acts.size(); ++a) {
        judge_cut(cell, came[a], acts[a]);
        all.push_back(std::move(acts[a]));
    }
}

/// By the slowest of its guards that its distance is about, at the speed that it counts from.
std::optional<Distance> needed_by(const WholeCell& cell, const CellAcceptance& study, std::size_t which) {
    const SafetyFunction& function = cell.functions[which];
    if (!function.distance) return std::nullopt;
    std::optional<Duration> overall;
    for (const CellDemandAct& demand : study.demands) {
        const AcceptanceAct& act = demand.rehearsed.act;
        if (demand.function != which || !act.function) continue;
        const SafetyFunction& share = cell.links[demand.machine_link].alone.functions[*act.function];
        const FromReduced from =
            from_reduced(cell.links[demand.machine_link].alone, share, share.must.front(), act.safeguard);
        if (act.speed != (from.counts() ? Speed::reduced : Speed::full)) continue;
        if (!function.distance->safeguard.empty() && function.distance->safeguard != act.safeguard) continue;
        if (!demand.rehearsed.limits.by_settings) return std::nullopt;
        overall = std::max(overall.value_or(Duration{}), *demand.rehearsed.limits.by_settings);
    }
    if (!overall || *overall > overall_most) return std::nullopt;
    return needed_distance(function.distance->how, *overall);
}

}  // namespace

std::uint64_t falling_on_link(const WholeCell& cell, std::size_t link, std::size_t safeguard) {
    return signals_depending_on(cell.links[link].alone, safeguard) & owned_by(cell, link);
}

CellAcceptance study_acceptance(const WholeCell& cell, std::uint64_t seed) {
    const ContractContext context(cell.file, seed);
    CellAcceptance study;
    study.seed = seed;
    for (const CellLink& link : cell.links) study.signatures.push_back(cross_check(link.alone).signature);
    const std::vector<Safeguard>& guards = cell.links.front().alone.safeguards;
    for (std::size_t g = 0; g < guards.size(); ++g) {
        CellLook look{.safeguard = g, .passes = look_at(cell, g, seed)};
        for (std::size_t f = cell.functions.size(); f-- > 0;)
            if (names(cell.functions[f], guards[g].name)) look.function = f;
        study.looks.push_back(std::move(look));
    }
    for (const Speed speed : {Speed::reduced, Speed::full}) add_demands(cell, seed, speed, study.demands);
    const WholeCell as_reckoned = with_measured_stops(cell);
    for (std::size_t i = 0; i < cell.links.size(); ++i) add_cuts(as_reckoned, seed, i, study.cuts);
    for (std::size_t f = 0; f < cell.functions.size(); ++f)
        study.function_distances.push_back(needed_by(cell, study, f));
    return study;
}

}  // namespace sim
