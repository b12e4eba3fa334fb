#include "sim/studies/acceptance.hpp"

#include <algorithm>

#include "sim/drive/limits.hpp"
#include "sim/drive/watched_run.hpp"
#include "sim/judge/time_line.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

constexpr unsigned placings = 40;
constexpr Duration power_is_off = proto::seconds(1);
constexpr Duration start_machine_after = proto::milliseconds(100);
constexpr Duration held_since = proto::milliseconds(100);

using Kind = AcceptanceAct::Kind;

std::size_t index(End end) { return static_cast<std::size_t>(end) & 1; }
Direction toward(End end) { return end == End::device ? Direction::to_device : Direction::to_controller; }
End output_of(const Scenario& s) { return s.machine ? s.machine->at : End::device; }

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

/// The rest of the way after the output's end has let go.
std::optional<Duration> with_stop(const Scenario& s, Duration link, const ResponseTime& response, std::string& words) {
    if (!s.machine) return link;
    if (!response.stopping) {
        words += "; the machine's stop may not be counted";
        return std::nullopt;
    }
    words += " + " + written(*response.stopping) + " stop";
    return link + *response.stopping;
}

/// As a person would do it: everything runs undisturbed, then the act at `at`.
Scenario staged(const Scenario& scenario, const AcceptanceAct& act, Duration at, Duration ends_after) {
    Scenario s = scenario;
    s.faults.clear();
    s.demands.clear();
    s.distance.reset();
    s.duration = at + ends_after;
    s.operator_acts = {{.event = OperatorAct::Event::link_running,
                        .act = OperatorAct::Act::start_machine,
                        .after = start_machine_after,
                        .where = {}}};
    if (s.machine && act.speed == AcceptanceAct::Speed::reduced) s.machine->speed_um_s = s.machine->reduced_speed_um_s;
    if (act.kind == Kind::cut || act.kind == Kind::demand_in_cut) {
        Fault cut;
        cut.error = ErrorKind::loss;
        cut.way = FaultWay::drop;
        cut.to_controller = true;
        cut.at = at;
        cut.lasting = ends_after;
        s.faults.push_back(cut);
    }
    if (act.kind == Kind::power_off) {
        Fault off;
        off.error = ErrorKind::none;
        off.way = FaultWay::restart;
        off.to_device = false;
        off.at_end = act.end;
        off.at = at;
        off.lasting = power_is_off;
        s.faults.push_back(off);
    }
    if (act.kind == Kind::demand || act.kind == Kind::demand_in_cut)
        s.demands.push_back({.safeguard = act.safeguard, .at = at, .lasting = ends_after, .where = {}});
    return s;
}

/// Time enough for the link to run, and for the machine to be at speed.
Duration settled(const Scenario& s) {
    const Duration watchdog = std::max(s.controller.link.watchdog, s.device.link.watchdog);
    return std::max(proto::seconds(1), watchdog * 4 + s.controller.link.cycle * 40);
}

std::optional<Instant> still_at(const TimeLine& line, Instant since) {
    std::optional<Instant> still;
    for (const TimeLine::Corner& corner : line.speed()) {
        if (corner.um_s > 0) still.reset();
        if (corner.um_s == 0 && !still) still = corner.at;
    }
    return still && *still > since ? still : std::nullopt;
}

std::optional<Instant> output_off_at(const TimeLine& line, End output, Instant since) {
    const auto& changes = line.signals(output);
    if (changes.empty() || changes.back().at < since) return std::nullopt;
    return changes.back().at;
}

void look_at(const TimeLine& line, Instant since, ActSeen& seen) {
    for (const End end : {End::controller, End::device})
        for (const TimeLine::StateChange& change : line.states(end))
            if (change.at >= since && change.state == proto::State::safe_state) {
                seen.causes[index(end)].insert(change.cause);
                break;
            }
}

bool runs_at(const TimeLine& line, End end, Instant when) {
    bool running = false;
    for (const TimeLine::StateChange& change : line.states(end))
        if (change.at < when) running = change.state == proto::State::running;
    return running;
}

/// The last corner before says whether the machine moves: until the act it only starts.
bool moves_at(const TimeLine& line, Instant when) {
    bool moving = line.speed().empty();
    for (const TimeLine::Corner& corner : line.speed())
        if (corner.at < when) moving = corner.um_s > 0;
    return moving;
}

/// Of a run that is staged: what its time line shows.
TimeLine drawn(const Scenario& s, std::uint64_t seed) {
    const ScenarioLimits limits = limits_of(s);
    TimeLine line(s);
    WatchedRun run(s, seed, Faults::all, limits.limits, {.line = &line});
    const Instant end = Instant{} + s.duration;
    run.cell.run_until(end);
    line.finish(end);
    return line;
}

bool runs_at_end(const TimeLine& line, End end) {
    return !line.states(end).empty() && line.states(end).back().state == proto::State::running;
}
bool both_run(const TimeLine& line) { return runs_at_end(line, End::controller) && runs_at_end(line, End::device); }

}  // namespace

ActLimits limits_of_act(const Scenario& scenario, const AcceptanceAct& act) {
    ActLimits found;
    const End output = output_of(scenario);
    if (act.kind == Kind::demand || act.kind == Kind::demand_in_cut) {
        const ResponseTime response = response_of(with_demand(scenario, act.safeguard));
        if (!response.response) {
            found.reckoned = "the link has no bound for this demand";
            return found;
        }
        found.reckoned = "response " + written(*response.response) + ", one fault in the link reckoned with";
        found.machine_at_most = with_stop(scenario, *response.response, response, found.reckoned);
        return found;
    }
    const ResponseTime response = response_of(scenario);
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
    found.machine_at_most = with_stop(scenario, link, response, found.reckoned);
    return found;
}

ActSeen rehearse_act(const Scenario& scenario, const AcceptanceAct& act, std::uint64_t seed) {
    ActSeen seen;
    const bool reduced = act.speed == AcceptanceAct::Speed::reduced;
    if (reduced && (!scenario.machine || scenario.machine->reduced_speed_um_s == 0)) return seen;
    const ActLimits limits = limits_of_act(scenario, act);
    const Duration ends_after = limits.machine_at_most.value_or(proto::seconds(5)) * 2 + proto::seconds(1);
    const Duration period = std::max(scenario.controller.link.cycle, scenario.device.link.scan) * 3;
    for (unsigned k = 0; k < placings; ++k) {
        const Duration at = settled(scenario) + Duration{period.ns * k / placings};
        const Scenario s = staged(scenario, act, at, ends_after);
        const TimeLine line = drawn(s, seed + k);
        const Instant since = Instant{} + at;
        ++seen.tried;
        if (!runs_at(line, End::controller, since) || !runs_at(line, End::device, since) || !moves_at(line, since))
            continue;
        ++seen.ran;
        const auto ended = s.machine ? still_at(line, since) : output_off_at(line, output_of(s), since);
        look_at(line, since, seen);
        if (!ended) continue;
        ++seen.stopped;
        const Duration took = *ended - since;
        seen.shortest = std::min(seen.shortest.value_or(took), took);
        seen.longest = std::max(seen.longest.value_or(took), took);
    }
    return seen;
}

AcknowledgementSeen rehearse_acknowledgement(const Scenario& scenario, std::uint64_t seed) {
    const Duration at = settled(scenario), cut_for = proto::seconds(1);
    const Duration watchdog = std::max(scenario.controller.link.watchdog, scenario.device.link.watchdog);
    const Duration rest = watchdog * 20 + proto::seconds(5);
    Scenario s = staged(scenario, {.kind = Kind::cut}, at, cut_for);
    s.duration = at + cut_for + rest;
    // started once, by hand, so that a motion after the acknowledgement is one that nobody asked for
    s.operator_acts = {{.event = OperatorAct::Event::time,
                        .act = OperatorAct::Act::start_machine,
                        .after = at - start_machine_after,
                        .where = {}}};
    AcknowledgementSeen seen;
    seen.stays_without = !both_run(drawn(s, seed));

    Scenario held = s;
    held.operator_acts.push_back({.event = OperatorAct::Event::time,
                                  .act = OperatorAct::Act::hold_acknowledge,
                                  .after = at + held_since,
                                  .where = {}});
    seen.stays_when_held = !both_run(drawn(held, seed));

    Scenario asked = s;
    asked.operator_acts.push_back({.event = OperatorAct::Event::acknowledgement_requested,
                                   .act = OperatorAct::Act::acknowledge,
                                   .after = proto::milliseconds(300),
                                   .where = {}});
    const TimeLine line = drawn(asked, seed);
    seen.resumes_when_asked = both_run(line);
    seen.machine_stays = line.speed().empty() || line.speed().back().um_s == 0;
    return seen;
}

}  // namespace sim
