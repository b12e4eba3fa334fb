#include "sim/studies/acceptance_stage.hpp"

#include <algorithm>
#include <utility>

#include "sim/drive/limits.hpp"
#include "sim/drive/watched_run.hpp"
#include "sim/plant/machine.hpp"

namespace sim {
namespace {

constexpr Duration start_machine_after = proto::milliseconds(100);

Instant at_run_time(Duration time) { return Instant{} + time; }

}  // namespace

Scenario staged(const Scenario& plant, Duration duration) {
    Scenario s = plant;
    s.faults.clear();
    s.demands.clear();
    s.operator_acts.clear();
    s.distance.reset();
    s.duration = duration;
    return s;
}

Machine stopping_in(const Machine& machine, StopCategory stop, Duration time) {
    constexpr std::int64_t steepest = std::int64_t{1} << 40;
    const auto with = [&](std::int64_t slope) {
        Machine other = machine;
        (stop == StopCategory::category_0 ? other.braking_um_s2 : other.ramp_um_s2) = slope;
        return other;
    };
    const auto slow_enough = [&](std::int64_t slope) { return MachineModel::stopping_time(with(slope), stop) >= time; };
    std::int64_t low = 1, high = steepest;
    if (!slow_enough(low) || slow_enough(high)) return machine;
    while (high - low > 1) {
        const std::int64_t middle = low + (high - low) / 2;
        (slow_enough(middle) ? low : high) = middle;
    }
    return with(low);
}

void start_when_running(Scenario& scenario) {
    scenario.operator_acts.push_back({.event = OperatorAct::Event::link_running,
                                      .act = OperatorAct::Act::start_machine,
                                      .after = start_machine_after,
                                      .where = {}});
}

void operate(Scenario& scenario, OperatorAct::Act act, Duration at, const std::string& safeguard) {
    scenario.operator_acts.push_back(
        {.event = OperatorAct::Event::time, .act = act, .after = at, .where = {}, .safeguard = safeguard});
}

void demand_at(Scenario& scenario, const std::string& safeguard, Duration at, Duration lasting, DemandChannel channel) {
    scenario.demands.push_back({.safeguard = safeguard, .at = at, .lasting = lasting, .where = {}, .channel = channel});
}

void cut_cable(Scenario& scenario, Duration at, Duration lasting) {
    Fault cut;
    cut.error = ErrorKind::loss;
    cut.way = FaultWay::drop;
    cut.to_controller = true;
    cut.at = at;
    cut.lasting = lasting;
    scenario.faults.push_back(std::move(cut));
}

void power_off(Scenario& scenario, End end, Duration at, Duration lasting) {
    Fault off;
    off.error = ErrorKind::none;
    off.way = FaultWay::restart;
    off.to_device = false;
    off.at_end = end;
    off.at = at;
    off.lasting = lasting;
    scenario.faults.push_back(std::move(off));
}

Duration settled(const Scenario& s) {
    const Duration watchdog = std::max(s.controller.link.watchdog, s.device.link.watchdog);
    return std::max(proto::seconds(1), watchdog * 4 + s.controller.link.cycle * 40);
}

End output_of(const Scenario& s) { return s.machine ? s.machine->at : End::device; }

TimeLine drawn(const Scenario& s, std::uint64_t seed) {
    const ScenarioLimits limits = limits_of(s);
    TimeLine line(s);
    WatchedRun run(s, seed, Faults::all, limits.limits, {.line = &line});
    const Instant end = at_run_time(s.duration);
    run.cell.run_until(end);
    line.finish(end);
    return line;
}

bool runs_at(const TimeLine& line, End end, Instant when) {
    bool running = false;
    for (const TimeLine::StateChange& change : line.states(end))
        if (change.at < when) running = change.state == proto::State::running;
    return running;
}

bool runs_from_to(const TimeLine& line, Instant from, Instant to) {
    for (const End end : {End::controller, End::device}) {
        if (!runs_at(line, end, from)) return false;
        for (const TimeLine::StateChange& change : line.states(end))
            if (change.at >= from && change.at < to) return false;
    }
    return true;
}

bool both_run_at_end(const TimeLine& line) {
    const Instant after = line.end() + Duration{1};
    return runs_at(line, End::controller, after) && runs_at(line, End::device, after);
}

std::int64_t speed_at(const TimeLine& line, Instant when) {
    const std::vector<TimeLine::Corner>& speed = line.speed();
    const TimeLine::Corner* before = nullptr;
    for (const TimeLine::Corner& corner : speed) {
        if (corner.at > when) {
            if (before == nullptr) return 0;
            const double part =
                static_cast<double>((when - before->at).ns) / static_cast<double>((corner.at - before->at).ns);
            return before->um_s + static_cast<std::int64_t>(part * static_cast<double>(corner.um_s - before->um_s));
        }
        before = &corner;
    }
    return before == nullptr ? 0 : before->um_s;
}

std::int64_t fastest(const TimeLine& line, Instant from, Instant to) {
    std::int64_t most = std::max(speed_at(line, from), speed_at(line, to - Duration{1}));
    for (const TimeLine::Corner& corner : line.speed())
        if (corner.at > from && corner.at < to) most = std::max(most, corner.um_s);
    return most;
}

std::optional<Instant> at_or_under(const TimeLine& line, std::int64_t um_s, Instant since) {
    const std::vector<TimeLine::Corner>& speed = line.speed();
    std::size_t next = speed.size();
    while (next > 0 && speed[next - 1].um_s <= um_s) --next;
    if (next == 0 || next == speed.size()) return std::nullopt;  // never over it, or over it to the end
    const TimeLine::Corner &over = speed[next - 1], &under = speed[next];
    // a straight line between both corners, rounded up to the nanosecond
    const double part = static_cast<double>(over.um_s - um_s) / static_cast<double>(over.um_s - under.um_s);
    const Duration between = under.at - over.at;
    const auto into = static_cast<std::int64_t>(part * static_cast<double>(between.ns) + 0.999);
    const Instant reached = over.at + std::min(Duration{into}, between);
    return reached > since ? std::optional(reached) : std::nullopt;
}

std::uint64_t signals_at(const std::vector<TimeLine::SignalChange>& changes, Instant when) {
    std::uint64_t signals = 0;
    for (const TimeLine::SignalChange& change : changes)
        if (change.at < when) signals = change.used;
    return signals;
}

void note_stop(ActSeen& seen, const AskedOfMachine& asked, const TimeLine& line, Instant since, Instant ended) {
    ++seen.stopped;
    const Duration took = ended - since;
    seen.shortest = std::min(seen.shortest.value_or(took), took);
    seen.longest = std::max(seen.longest.value_or(took), took);
    if (!asked.stands_later()) return;
    const Duration stood = at_or_under(line, 0, since).value_or(since) - since;
    seen.longest_until_stands = std::max(seen.longest_until_stands.value_or(stood), stood);
}

}  // namespace sim
