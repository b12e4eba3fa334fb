#include "sim/studies/acceptance.hpp"

#include <algorithm>
#include <utility>

#include "sim/plant/application.hpp"
#include "sim/plant/machine.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/acceptance_stage.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/from_reduced.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

constexpr unsigned placings = 40;
constexpr Duration power_is_off = proto::seconds(1);

using Kind = AcceptanceAct::Kind;

std::size_t index(End end) { return static_cast<std::size_t>(end) & 1; }
Direction toward(End end) { return end == End::device ? Direction::to_device : Direction::to_controller; }

Duration longest_delay(const Scenario& s, End to) {
    return longest_of(toward(to) == Direction::to_device ? s.to_device.delay : s.to_controller.delay);
}

/// Also in a stream no telegram that an end has accepted is older than that when the next one fails to come.
Duration longest_exchange(const Scenario& s) {
    return longest_delay(s, End::device) + longest_delay(s, End::controller) + s.controller.link.scan +
           s.device.link.scan;
}

CablePulled pulled(const Scenario& s, End end) {
    const proto::LinkSettings& link = s.end(end).link;
    return cable_pulled_bounds({link.watchdog, link.scan, {}}, longest_delay(s, end), longest_exchange(s));
}

Scenario with_demand(const Scenario& scenario, const std::string& safeguard) {
    Scenario s = scenario;
    s.distance.reset();
    s.demands = {Demand{.safeguard = safeguard, .at = {}, .lasting = {}, .where = {}}};
    return s;
}

std::string in_sum(const Scenario& s, End end) {
    const proto::LinkSettings& link = s.end(end).link;
    return written(longest_delay(s, end)) + " longest delay + 2 * " + written(link.scan) + " scan + " +
           written(link.watchdog) + " watchdog of " + s.end(end).name;
}

bool more_severe(StopCategory a, StopCategory b) { return command_of(a) > command_of(b); }

std::optional<StopCategory> reached_by_name(const Scenario& s, const std::string& name) {
    const std::size_t guard = s.place_of(name);
    if (guard == s.safeguards.size()) return std::nullopt;
    const auto reached = reached_by(s, guard);
    return reached ? std::optional(reached->stop) : std::nullopt;
}

std::optional<StopCategory> reached_by_failing(const Scenario& s) {
    const auto reached = reached_by_failure(s);
    return reached ? std::optional(reached->stop) : std::nullopt;
}

/// What the function of the act says of its machine; nullptr where none does.
const MustReact* must_of(const Scenario& s, const AcceptanceAct& act) {
    if (!act.function || *act.function >= s.functions.size()) return nullptr;
    for (const MustReact& must : s.functions[*act.function].must)
        if (s.machine && must.machine == s.machine->name) return &must;
    return nullptr;
}

/// Of the failing link: its reaction, but a stop where no reduced speed ends the hazard.
StopCategory asked_of_failure(const Scenario& s) {
    const StopCategory does = reached_by_failing(s).value_or(StopCategory::category_0);
    return does == StopCategory::reduced_speed && !reduced_speed_counts(s) ? StopCategory::category_0 : does;
}

/// The end's own power is what the machine's drive would ramp down with.
bool without_power(const Scenario& s, const AcceptanceAct& act) {
    return act.kind == Kind::power_off && act.end == output_of(s);
}

/// By the machine's figures, from the output command at full speed; nothing where they say nothing of such a stop.
std::optional<Duration> by_figures(const Machine& machine, StopCategory stop, std::int64_t slow_um_s) {
    const std::int64_t slope = stop == StopCategory::category_0 ? machine.braking_um_s2 : machine.ramp_um_s2;
    if (slope == 0) return std::nullopt;
    if (slow_um_s == 0 || stop == StopCategory::reduced_speed) return MachineModel::stopping_time(machine, stop);
    MachineModel model(machine);
    model.start({});
    model.command(command_of(stop), {});
    return model.reduced_at() - Instant{};
}

/// From the output command to what is asked: the longer of the guard's own reaction and that of a failing link.
std::optional<Duration> stop_of(const Scenario& s, const AcceptanceAct& act, const AskedOfMachine& asked,
                                const ResponseTime& response, std::string& words) {
    if (without_power(s, act)) {
        const auto stop = by_figures(*s.machine, StopCategory::category_0, 0);
        words += stop ? " + " + written(*stop) + " stop without power"
                      : "; nothing in the scenario says how the machine stops without power";
        return stop;
    }
    if (asked.slow_um_s == 0 && response.stopping) {
        words += " + " + written(*response.stopping) + " stop";
        return response.stopping;
    }
    std::optional<Duration> longest = by_figures(*s.machine, asked.stop, asked.slow_um_s);
    if (const auto failing = reached_by_failing(s); longest && failing && more_severe(*failing, asked.stop)) {
        const auto other = by_figures(*s.machine, *failing, asked.slow_um_s);
        if (other) longest = std::max(*longest, *other);
    }
    words += longest ? " + " + written(*longest) + (asked.slow_um_s != 0 ? " until it is slow" : " stop") +
                           ", by the machine's figures"
                     : "; the machine's stop may not be counted";
    return longest;
}

/// A limit from the demand on that somebody stated, and where it is from.
struct Stated {
    Duration at_most;
    std::string words;
};
std::optional<Stated> stated_limit(const Scenario& s, const AcceptanceAct& act) {
    std::optional<Stated> found;
    const MustReact* must = must_of(s, act);
    if (must == nullptr) return found;
    // at reduced speed that hazard has ended before the act
    if (act.speed == AcceptanceAct::Speed::reduced && reduced_speed_counts(s, s.functions[*act.function])) return found;
    const std::string of = "function " + std::to_string(*act.function + 1);
    if (must->within) found = Stated{*must->within, of + ": within " + written(*must->within)};
    const auto& distance = s.functions[*act.function].distance;
    if (!distance || !distance->there_um) return found;
    if (!distance->safeguard.empty() && distance->safeguard != act.safeguard) return found;
    const FromReduced from = from_reduced(s, s.functions[*act.function], *must, act.safeguard);
    // of full speed a distance that counts from reduced speed says nothing
    if (from.counts() && act.speed != AcceptanceAct::Speed::reduced) return found;
    const Length there = micrometres(*distance->there_um);
    const auto most = longest_overall(distance->how, there);
    if (most && (!found || *most < found->at_most))
        found = Stated{*most, of + ": " + written(*most) + " for a distance of " + written(there)};
    if (from.asked && found) found->words += "; its distance " + in_words(from);
    return found;
}

void limits_of_demand(const Scenario& s, const AcceptanceAct& act, ActLimits& found) {
    for (const OutsidePart& part : s.outside_parts)
        found.outside = found.outside + std::max(part.delay, part.with_fault);
    const std::optional<Stated> stated = stated_limit(s, act);
    ResponseTime response = response_of(with_demand(s, act.safeguard));
    if (const MustReact* must = must_of(s, act); must != nullptr && act.speed == AcceptanceAct::Speed::reduced)
        if (const FromReduced from = from_reduced(s, s.functions[*act.function], *must, act.safeguard); from.counts())
            response.stopping = from.stopping;
    std::string settings;
    std::optional<Duration> by_settings;
    if (!response.response) {
        settings = "the link has no bound for this demand";
    } else {
        settings = "response " + written(*response.response) + ", one fault in the link reckoned with";
        by_settings = response.response;
        if (const auto asked = asked_of_machine(s, act)) {
            const auto stop = stop_of(s, act, *asked, response, settings);
            by_settings = stop ? std::optional(*response.response + *stop) : std::nullopt;
        }
    }
    found.by_settings = by_settings;
    found.machine_at_most = stated ? std::optional(stated->at_most) : by_settings;
    if (!stated) {
        found.reckoned = settings;
    } else {
        found.reckoned = stated->words + "; by the settings " +
                         (by_settings ? "at most " + written(*by_settings) + ": " : "no limit: ") + settings;
    }
}

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

std::optional<AskedOfMachine> asked_of_machine(const Scenario& s, const AcceptanceAct& act) {
    if (!s.machine) return std::nullopt;
    if (without_power(s, act)) return AskedOfMachine{};
    AskedOfMachine asked{.stop = asked_of_failure(s)};
    if (!is_demand(act)) {
        if (asked.runs_on()) asked.slow_um_s = s.machine->reduced_speed_um_s;
        return asked;
    }
    const MustReact* must = must_of(s, act);
    StopCategory stop = must != nullptr ? must->must : reached_by_name(s, act.safeguard).value_or(asked.stop);
    const bool to_slow =
        stop == StopCategory::reduced_speed || (must != nullptr && reduced_speed_counts(s, s.functions[*act.function]));
    if (!act.together_with.empty())
        if (const auto other = reached_by_name(s, act.together_with); other && more_severe(*other, stop)) stop = *other;
    // a cut link fails besides: the more severe one acts
    if (act.kind == Kind::demand || more_severe(stop, asked.stop)) asked.stop = stop;
    const bool fast = act.speed == AcceptanceAct::Speed::full;
    if (to_slow && fast) asked.slow_um_s = s.machine->reduced_speed_um_s;
    return asked;
}

ActLimits limits_of_act(const Scenario& scenario, const AcceptanceAct& act) {
    ActLimits found;
    if (is_demand(act)) {
        limits_of_demand(scenario, act, found);
        return found;
    }
    const End output = output_of(scenario);
    Duration link = pulled(scenario, output).at_most;
    found.reckoned = in_sum(scenario, output);
    for (const End end : {End::controller, End::device}) found.end_at_most[index(end)] = pulled(scenario, end).at_most;
    if (act.kind == Kind::power_off) {
        found.end_at_most[index(act.end)] = Duration{};
        if (act.end == output) {
            link = {};
            found.reckoned = "the outputs go off with the power";
        }
    } else {
        found.link_at_least = pulled(scenario, output).at_least;
    }
    found.machine_at_most = link;
    if (const auto asked = asked_of_machine(scenario, act)) {
        const auto stop = stop_of(scenario, act, *asked, response_of(scenario), found.reckoned);
        found.machine_at_most = stop ? std::optional(link + *stop) : std::nullopt;
    }
    return found;
}

ActSeen rehearse_act(const Scenario& plant, const AcceptanceAct& act, const AskedOfMachine& asked, std::uint64_t seed) {
    ActSeen seen;
    if (!can_be_tried(plant, act)) return seen;
    const ActLimits limits = limits_of_act(plant, act);
    const Duration ends_after = limits.machine_at_most.value_or(proto::seconds(5)) * 2 + proto::seconds(1);
    const Duration period = std::max(plant.controller.link.cycle, plant.device.link.scan) * 3;
    for (unsigned k = 0; k < placings; ++k) {
        const Duration at = settled(plant) + Duration{period.ns * k / placings};
        const Scenario s = with_act(plant, act, at, ends_after);
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
        ++seen.stopped;
        const Duration took = *ended - since;
        seen.shortest = std::min(seen.shortest.value_or(took), took);
        seen.longest = std::max(seen.longest.value_or(took), took);
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

}  // namespace

Passes judge_act(const Scenario& plant, const AcceptanceAct& act, const std::optional<AskedOfMachine>& asked,
                 const ActLimits& limits, const ActSeen& seen) {
    if (seen.tried == 0)
        return {std::nullopt, act.kind == Kind::power_off ? "nothing in the scenario says how it stops without power"
                                                          : "the scenario states no reduced speed"};
    if (seen.ran == 0) return {std::nullopt, "with these settings the link does not run, or the machine not start"};
    const std::string of = " of " + std::to_string(seen.ran);
    const std::string missed = std::to_string(seen.ran - seen.stopped) + of;
    if (is_demand(act) && plant.machine && !reached_by_name(plant, act.safeguard))
        return {false, act.safeguard + " reaches no output" +
                           (seen.stopped < seen.ran ? "; DID NOT STOP in " + missed : std::string())};
    if (seen.stopped < seen.ran) {
        if (asked && asked->runs_on())
            return {false, "DID NOT COME DOWN TO " + in_mm_s(asked->slow_um_s) + " in " + missed};
        return {false, "DID NOT STOP in " + missed};
    }
    if (asked && asked->runs_on() && seen.stood > 0)
        return {false, "stood in " + std::to_string(seen.stood) + of + ", and should only slow down"};
    const std::optional<StopCategory> does = does_by_wiring(plant, act);
    if (asked && does && *does != asked->stop && !without_power(plant, act))
        return {false, "by its wiring it is " + std::string(name_of(*does)) + ", and " +
                           std::string(name_of(asked->stop)) + " is asked"};
    if (seen.longest && limits.machine_at_most && *seen.longest + limits.outside > *limits.machine_at_most)
        return {false, "OVER what is allowed"};
    return {true, (asked && asked->runs_on() ? "slowed down in " : "stopped in ") + std::to_string(seen.stopped) + of};
}

}  // namespace sim
