#include "sim/studies/acceptance.hpp"

#include <algorithm>
#include <utility>

#include "sim/judge/observer.hpp"
#include "sim/plant/application.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/acceptance_limits.hpp"
#include "sim/studies/acceptance_stage.hpp"
#include "sim/timing/minimum_distance.hpp"

namespace sim {
namespace {

constexpr unsigned placings = 40;
constexpr Duration power_is_off = proto::seconds(1);

using Kind = AcceptanceAct::Kind;

std::size_t index(End end) { return static_cast<std::size_t>(end) & 1; }

/// A machine that is to be at its reduced speed when the act comes, or whose drive has lost its power, in a copy.
void prepare_machine(const AcceptanceAct& act, Scenario& s) {
    if (!s.machine) return;
    if (act.speed == AcceptanceAct::Speed::reduced) s.machine->speed_um_s = s.machine->reduced_speed_um_s;
    if (without_power(s, act))
        for (MachineReaction& reaction : s.machine->reactions) reaction.stop = StopCategory::category_0;
}

bool can_be_tried(const Scenario& s, const AcceptanceAct& act) {
    if (act.speed == AcceptanceAct::Speed::reduced && (!s.machine || s.machine->reduced_speed_um_s == 0)) return false;
    return !s.machine || !without_power(s, act) || s.machine->braking_um_s2 > 0;
}

Scenario with_act(const Scenario& plant, const AcceptanceAct& act, Duration at, Duration ends_after) {
    Scenario s = staged(plant, at + ends_after);
    start_when_running(s);
    prepare_machine(act, s);
    if (act.kind == Kind::cut || act.kind == Kind::demand_in_cut) cut_cable(s, at, ends_after);
    if (act.kind == Kind::power_off) power_off(s, act.end, at, power_is_off);
    if (is_demand(act)) {
        demand_at(s, act.safeguard, at, ends_after);
        if (!act.together_with.empty()) demand_at(s, act.together_with, at, ends_after);
    }
    return s;
}

/// Without a machine: the signals that the act takes away are all 0 at the output from then on.
std::optional<Instant> output_off_at(const TimeLine& line, const Scenario& s, const AcceptanceAct& act, Instant since) {
    std::uint64_t taken = Application(s, output_of(s)).receives();
    if (act.kind == Kind::demand) taken &= signals_depending_on(s, s.place_of(act.safeguard));
    std::optional<Instant> off;
    for (const TimeLine::SignalChange& change : line.signals(output_of(s))) {
        if ((change.used & taken) != 0)
            off.reset();
        else if (!off)
            off = change.at;
    }
    return taken != 0 && off && *off >= since ? off : std::nullopt;
}

void look_at(const TimeLine& line, Instant since, ActSeen& seen) {
    for (const End end : {End::controller, End::device})
        for (const TimeLine::StateChange& change : line.states(end))
            if (change.at >= since && change.state == proto::State::safe_state) {
                seen.causes[index(end)].insert(change.cause);
                break;
            }
}

}  // namespace

bool is_demand(const AcceptanceAct& act) { return act.kind == Kind::demand || act.kind == Kind::demand_in_cut; }

ActSeen rehearse_act(const Scenario& plant, const AcceptanceAct& act, const AskedOfMachine& asked, std::uint64_t seed) {
    ActSeen seen;
    if (!can_be_tried(plant, act)) return seen;
    const ActLimits limits = limits_of_act(plant, act);
    const Duration longest =
        std::max(limits.machine_at_most.value_or(proto::seconds(5)), limits.stands_at_most.value_or(Duration{}));
    const Duration ends_after = longest * 2 + proto::seconds(1);
    const Duration period = std::max(plant.controller.link.cycle, plant.device.link.scan) * 3;
    Scenario as_reckoned = plant;
    if (plant.machine) as_reckoned.machine = machine_reckoned_with(plant, act, asked).machine;
    for (unsigned k = 0; k < placings; ++k) {
        const Duration at = settled(plant) + Duration{period.ns * k / placings};
        const Scenario s = with_act(as_reckoned, act, at, ends_after);
        const TimeLine line = drawn(s, seed + k);
        const Instant since = Instant{} + at;
        ++seen.tried;
        if (!runs_at(line, End::controller, since) || !runs_at(line, End::device, since)) continue;
        if (s.machine && speed_at(line, since - Duration{1}) == 0) continue;
        ++seen.ran;
        look_at(line, since, seen);
        const bool stands = s.machine && speed_at(line, line.end()) == 0;
        if (stands && both_run_at_end(line)) ++seen.stood;
        const auto ended = s.machine ? at_or_under(line, asked.slow_um_s, since) : output_off_at(line, s, act, since);
        if (!ended || (s.machine && !asked.runs_on() && !stands)) continue;
        note_stop(seen, asked, line, since, *ended);
    }
    return seen;
}

ActSeen rehearse_act(const Scenario& scenario, const AcceptanceAct& act, std::uint64_t seed) {
    return rehearse_act(scenario, act, asked_of_machine(scenario, act).value_or(AskedOfMachine{}), seed);
}

namespace {

/// What the plant's wiring makes of the act; nothing where it makes nothing of it.
std::optional<StopCategory> does_by_wiring(const Scenario& plant, const AcceptanceAct& act) {
    std::optional<StopCategory> does;
    if (is_demand(act)) does = reached_by_name(plant, act.safeguard);
    if (act.kind == Kind::demand && act.together_with.empty()) return does;
    const auto besides =
        act.kind == Kind::demand ? reached_by_name(plant, act.together_with) : reached_by_failing(plant);
    if (!does || (besides && more_severe(*besides, *does))) does = besides;
    return does;
}

std::string in_mm_s(std::int64_t um_s) { return written(micrometres(um_s)) + "/s"; }

/// What the act has shown to be wrong; nothing if all was seen as it is asked.
std::optional<std::string> failure_in(const Scenario& plant, const AcceptanceAct& act,
                                      const std::optional<AskedOfMachine>& asked, const ActSeen& seen) {
    const std::string of = " of " + std::to_string(seen.ran);
    const std::string missed = std::to_string(seen.ran - seen.stopped) + of;
    const bool runs_on = asked && asked->runs_on();
    if (is_demand(act) && plant.machine && !reached_by_name(plant, act.safeguard))
        return act.safeguard + " reaches no output" + (seen.stopped < seen.ran ? "; DID NOT STOP in " + missed : "");
    if (seen.stopped < seen.ran && runs_on)
        return "DID NOT COME DOWN TO " + in_mm_s(asked->slow_um_s) + " in " + missed;
    if (seen.stopped < seen.ran) return "DID NOT STOP in " + missed;
    if (runs_on && seen.stood > 0) return "stood in " + std::to_string(seen.stood) + of + ", and should only slow down";
    const std::optional<StopCategory> does = does_by_wiring(plant, act);
    if (asked && does && *does != asked->stop && !without_power(plant, act))
        return "by its wiring it is " + std::string(name_of(*does)) + ", and " + std::string(name_of(asked->stop)) +
               " is asked";
    return std::nullopt;
}

std::optional<std::string> lateness_in(const ActLimits& limits, const ActSeen& seen) {
    if (seen.longest && limits.machine_at_most && *seen.longest + limits.outside > *limits.machine_at_most)
        return "OVER what is allowed";
    if (seen.longest_until_stands && limits.stands_at_most &&
        *seen.longest_until_stands + limits.outside > *limits.stands_at_most)
        return "slow in time, but standing LATER than by the settings";
    return std::nullopt;
}

}  // namespace

Passes judge_act(const Scenario& plant, const AcceptanceAct& act, const std::optional<AskedOfMachine>& asked,
                 const ActLimits& limits, const ActSeen& seen) {
    if (seen.tried == 0)
        return {std::nullopt, act.kind == Kind::power_off ? "nothing in the scenario says how it stops without power"
                                                          : "the scenario states no reduced speed"};
    if (seen.ran == 0) return {std::nullopt, "with these settings the link does not run, or the machine not start"};
    if (const auto failure = failure_in(plant, act, asked, seen)) return {false, *failure};
    if (const auto late = lateness_in(limits, seen)) return {false, *late};
    std::string why = !asked || asked->slow_um_s == 0 ? "stopped in "
                      : asked->runs_on()              ? "slowed down in "
                                                      : "slow, then standing, in ";
    why += std::to_string(seen.stopped) + " of " + std::to_string(seen.ran);
    if (asked && plant.machine)
        if (const auto measured = machine_reckoned_with(plant, act, *asked).measured)
            why += ", with the stop of " + in_ms(*measured) + " that was measured";
    return {true, why};
}

}  // namespace sim
