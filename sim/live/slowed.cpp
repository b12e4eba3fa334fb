// A scenario at another pace, and how exactly a computer must keep it.
#include <algorithm>
#include <memory>
#include <utility>
#include <vector>

#include "sim/live/cell_live.hpp"
#include "sim/live/live.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/cell_ways.hpp"
#include "sim/timing/minimum_distance.hpp"

namespace sim {
namespace {

void slow(std::optional<Duration>& d, std::int64_t factor) {
    if (d) d = *d * factor;
}

void slow(DelayShape& shape, std::int64_t factor) {
    shape.low = shape.low * factor;
    shape.high = shape.high * factor;
    for (std::vector<DelayShape::Cell>* cells : {&shape.cells, &shape.tail})
        for (DelayShape::Cell& cell : *cells) {
            cell.low = cell.low * factor;
            cell.high = cell.high * factor;
        }
    if (shape.of_round_trips) shape.of_round_trips->shortest = shape.of_round_trips->shortest * factor;
    if (!shape.series) return;
    std::vector<Duration> series = *shape.series;
    for (Duration& time : series) time = time * factor;
    shape.series = std::make_shared<const std::vector<Duration>>(std::move(series));
}

std::int64_t rounded_up(std::int64_t value, std::int64_t divisor) { return (value + divisor - 1) / divisor; }

void slow(proto::LinkSettings& link, std::int64_t factor) {
    link.cycle = link.cycle * factor;
    link.scan = link.scan * factor;
    link.watchdog = link.watchdog * factor;
    link.peer_watchdog = link.peer_watchdog * factor;
    link.error_interval = link.error_interval * factor;
    link.max_age = link.max_age * factor;
    link.max_early = link.max_early * factor;
    link.profile.time_stamp_unit = link.profile.time_stamp_unit * factor;
}

void slow(std::optional<BackgroundTraffic>& queue, std::int64_t factor) {
    if (!queue) return;
    for (Duration* time : {&queue->service, &queue->room, &queue->ramp_from, &queue->ramp_lasting})
        *time = *time * factor;
}

/// What an application does with time.
void slow(Signal& signal, std::int64_t factor) {
    signal.off_delay = signal.off_delay * factor;
    signal.discrepancy = signal.discrepancy * factor;
    if (!signal.muted_by) return;
    signal.muted_by->order_within = signal.muted_by->order_within * factor;
    signal.muted_by->at_most = signal.muted_by->at_most * factor;
}

/// What is reckoned besides the link.
void slow_around(Scenario& s, std::int64_t factor) {
    for (OutsidePart& part : s.outside_parts) {
        part.delay = part.delay * factor;
        part.with_fault = part.with_fault * factor;
    }
    slow(s.declared_delay, factor);
    slow(s.stopping.power_off_after, factor);
    for (Duration& stop : s.stopping.measured) stop = stop * factor;
}

}  // namespace

Scenario slowed(Scenario s, std::int64_t factor) {
    if (factor == 1) return s;
    for (Signal& signal : s.signals) slow(signal, factor);
    for (Mode& mode : s.modes) mode.takes = mode.takes * factor;
    slow_around(s, factor);
    s.duration = s.duration * factor;
    s.device_phase = s.device_phase * factor;
    slow(s.controller.link, factor);
    slow(s.device.link, factor);
    slow(s.to_device.delay, factor);
    slow(s.to_controller.delay, factor);
    slow(s.to_device.queue, factor);
    slow(s.to_controller.queue, factor);
    for (Safeguard& guard : s.safeguards) {
        guard.delay = guard.delay * factor;
        guard.minimum_hold = guard.minimum_hold * factor;
        guard.discrepancy = guard.discrepancy * factor;
    }
    if (s.machine) {
        // all times of the machine grow alike: speeds fall with the factor, decelerations with its square; its travel,
        // and so the places of faults on it, stay as they are
        s.machine->reaction_delay = s.machine->reaction_delay * factor;
        slow(s.machine->output_watchdog, factor);
        if (s.machine->brake) s.machine->brake->delay = s.machine->brake->delay * factor;
        if (s.machine->reduced_speed_monitor) {
            s.machine->reduced_speed_monitor->lasting = s.machine->reduced_speed_monitor->lasting * factor;
            s.machine->reduced_speed_monitor->over_um_s =
                rounded_up(s.machine->reduced_speed_monitor->over_um_s, factor);
        }
        // rounded so that it stops later, never sooner; see pace_most()
        s.machine->gravity_um_s2 = rounded_up(s.machine->gravity_um_s2, factor * factor);
        s.machine->speed_um_s = rounded_up(s.machine->speed_um_s, factor);
        s.machine->reduced_speed_um_s = rounded_up(s.machine->reduced_speed_um_s, factor);
        s.machine->braking_um_s2 /= factor * factor;
        s.machine->ramp_um_s2 /= factor * factor;
    }
    for (SafetyFunction& function : s.functions)
        for (MustReact& must : function.must) slow(must.within, factor);
    slow(s.required.to_device, factor);
    slow(s.required.to_controller, factor);
    slow(s.required.overall, factor);
    for (Fault& fault : s.faults) {
        slow(fault.at, factor);
        slow(fault.lasting, factor);
        fault.hold = fault.hold * factor;
        // creeping: so much more in every second, and a second is slowed too
        if (fault.way != FaultWay::creeping) fault.extra = fault.extra * factor;
    }
    for (Demand& demand : s.demands) {
        demand.at = demand.at * factor;
        demand.lasting = demand.lasting * factor;
    }
    for (OperatorAct& act : s.operator_acts) {
        act.after = act.after * factor;
        act.held_for = act.held_for * factor;
    }
    return s;
}

std::int64_t pace_most(const Scenario& scenario) {
    constexpr std::int64_t percent = 100;
    if (!scenario.machine) return slowed_most;
    std::int64_t most = slowed_most;
    for (const std::int64_t slope : {scenario.machine->braking_um_s2, scenario.machine->ramp_um_s2})
        while (slope != 0 && most > 1 && slope / (most * most) < percent) --most;
    return most;
}

namespace {

/// The time that a distance leaves is that of a person, who does not become slower: it is a limit in words of time now.
void leave_distance(SafetyFunction& function, std::int64_t factor) {
    if (!function.distance || !function.distance->there_um) return;
    const std::optional<Duration> left =
        longest_overall(function.distance->how, micrometres(*function.distance->there_um));
    if (!left) return;
    for (MustReact& must : function.must) must.within = std::min(must.within.value_or(*left * factor), *left * factor);
    function.distance.reset();
}

}  // namespace

WholeCell slowed(WholeCell cell, std::int64_t factor) {
    if (factor == 1) return cell;
    cell.duration = cell.duration * factor;
    cell.scan = cell.scan * factor;
    for (Duration& hold : cell.minimum_holds) hold = hold * factor;
    for (SafetyFunction& function : cell.functions) {
        for (MustReact& must : function.must) slow(must.within, factor);
        leave_distance(function, factor);
    }
    for (CellLink& link : cell.links) {
        link.alone = slowed(std::move(link.alone), factor);
        for (SafetyFunction& function : link.alone.functions) leave_distance(function, factor);
        // what one link must know of the others is reckoned anew
        std::erase_if(link.alone.outside_parts, [](const OutsidePart& part) { return !part.link.empty(); });
    }
    complete_links(cell);
    return cell;
}

Duration lateness_allowed(const Scenario& scenario) {
    return {std::min(scenario.controller.link.watchdog, scenario.device.link.watchdog).ns / 5};
}

}  // namespace sim
