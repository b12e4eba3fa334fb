// What the observer found, put into the result.
#include <algorithm>
#include <string>
#include <utility>

#include "sim/judge/observer.hpp"
#include "sim/plant/reached.hpp"

namespace sim {
Outcome Observer::outcome_of(const Track& track, const Fault& injected) const {
    if (track.dangerous) return Outcome::dangerous;
    if (!started_) return Outcome::never_ran;  // whether it found something to act on or not
    if (!track.fired) return Outcome::not_fired;
    if (!track.link_had_run) return Outcome::never_ran;
    if (track.tripped) return Outcome::safe_state;
    if (track.rejected || injected.way == FaultWay::drop) return Outcome::tolerated;
    return Outcome::no_effect;
}

void Observer::judge(RunResult& result, std::size_t fault, Instant now) const {
    const Track& track = tracks_[fault];
    const Fault& injected = scenario_.faults[fault];
    InjectionResult r;
    r.fault = fault;
    r.error = injected.error;
    r.direction = track.fired ? track.direction : injected.to_device ? Direction::to_device : Direction::to_controller;
    r.both_ways = injected.to_device && injected.to_controller;
    r.at_end = injected.at_end;
    r.at = track.fired ? Duration{track.since.ns} : injected.at.value_or(Duration{});
    r.telegrams = track.telegrams;
    r.detected_by = track.detected_by;
    r.also_by = track.also_by;
    if (r.detected_by) r.also_by.remove(*r.detected_by);
    r.owing_to = track.owing_to;
    r.detected_end = track.detected_end;
    if (track.detected_by) r.detect = track.detected_at - track.since;
    const auto after = [&](const std::optional<Instant>& at) -> std::optional<Duration> {
        if (!at || !track.fired) return std::nullopt;
        return std::max(Duration{}, *at - track.since);
    };
    r.outcome = outcome_of(track, injected);
    if (track.tripped && r.outcome != Outcome::never_ran) {
        r.safe_state_controller = after(track.safe_at[index(End::controller)]);
        r.safe_state_device = after(track.safe_at[index(End::device)]);
        tell_motion(track, now, r);
    }
    r.latent =
        r.outcome == Outcome::no_effect &&
        (injected.way == FaultWay::step || injected.way == FaultWay::creeping || injected.way == FaultWay::frozen_data);
    r.why = track.why;
    if (r.outcome == Outcome::never_ran)
        r.why = started_ ? "the link had not run yet: nothing about a running link was rehearsed"
                         : "the link never ran: nothing about it was rehearsed";
    r.allowed = limits_.allowed[fault];
    if (r.outcome == Outcome::safe_state) judge_motion(track, r);
    result.injections.push_back(std::move(r));
}

void Observer::tell_motion(const Track& track, Instant now, InjectionResult& r) {
    const Motion& motion = track.motion;
    if (!motion.moved || !motion.commanded) return;
    const auto after = [&](const std::optional<Instant>& at) -> std::optional<Duration> {
        if (!at || *at > now) return std::nullopt;
        return std::max(Duration{}, *at - track.since);
    };
    r.reduced = after(motion.reduced);
    r.standstill = after(motion.stands);
    if (!r.standstill) return;
    r.travelled_um = motion.travelled - motion.travelled_before;
    r.stopping_um = motion.travelled - motion.travelled_at_command;
}

/// A machine that moved counts to the end of its hazard; else the output's end to its substitute values.
void Observer::judge_motion(const Track& track, InjectionResult& r) const {
    const Motion& motion = track.motion;
    if (motion.moved && motion.commanded && !motion.stands && !limits_.reduced_speed_counts) {
        r.within_limit = false;
        r.ran_on = true;
        if (r.why.empty())
            r.why = scenario_.machine->name +
                    " only slowed down and ran on, and nothing says that its reduced speed ends the hazard";
        return;
    }
    if (!r.allowed) return;
    const End out = output_end(scenario_);
    std::optional<Duration> reached = out == End::device ? r.safe_state_device : r.safe_state_controller;
    if (r.standstill) reached = r.standstill;
    if (limits_.reduced_speed_counts && r.reduced) reached = r.reduced;
    r.within_limit = reached && *reached <= *r.allowed;
}

DemandResult Observer::judged(const SeenDemand& seen, Instant now) {
    DemandResult r;
    const Motion& motion = seen.motion;
    r.demand = seen.demand;
    r.at = Duration{seen.since.ns};
    r.modes = seen.modes;
    r.muted = seen.muted;
    r.reaches_output = seen.reaches_output;
    r.link_ran = seen.link_ran;
    r.moved = motion.moved;
    r.slowed = motion.in_force == DriveCommand::reduce;
    r.stopping = motion.in_force > DriveCommand::reduce;
    if (seen.set_going && *seen.set_going <= now) {
        r.set_going = *seen.set_going - seen.since;
        if (seen.would_be_reduced) r.would_be_reduced = *seen.would_be_reduced - seen.since;
        if (seen.would_stand) r.would_stand = *seen.would_stand - seen.since;
    }
    const auto after = [&](const std::optional<Instant>& at) -> std::optional<Duration> {
        if (!at || *at > now) return std::nullopt;
        return std::max(Duration{}, *at - seen.since);
    };
    if (seen.reached) r.response = seen.reached_at - seen.since;
    if (!motion.moved) return r;
    r.command = after(motion.commanded);
    r.reduced = after(motion.reduced);
    r.standstill = after(motion.stands);
    if (r.standstill) {
        r.travelled_um = motion.travelled - motion.travelled_before;
        r.stopping_um = motion.travelled - motion.travelled_at_command;
    }
    return r;
}

std::vector<DemandResult> Observer::demands_until(Instant until) const {
    std::vector<DemandResult> found;
    found.reserve(demands_.size());
    for (const SeenDemand& seen : demands_) found.push_back(judged(seen, until));
    return found;
}

void Observer::finish(RunResult& result, Instant now) {
    for (const End end : {End::controller, End::device})
        if (state_[index(end)] == proto::State::running) check_age(ways_[index(toward(end))], toward(end), now);
    for (const OpenDemand& open : open_demands_) {
        const Duration taken = now - open.since;
        if (taken > required_of(open) && !open.late)
            danger(responsible(0, now), open.since + required_of(open),
                   "the demand of " + scenario_.demands[open.demand].safeguard + " never reached the output");
    }
    open_demands_.clear();
    for (const Direction way : {Direction::to_device, Direction::to_controller}) tell_late_values(way, now);
    result.values = values_.seen();
    for (std::size_t fault = 0; fault < tracks_.size(); ++fault) judge(result, fault, now);
    for (DemandResult& demand : demands_until(now)) result.demands.push_back(std::move(demand));
    result.dangerous = dangerous_;
    result.spurious_trips = spurious_[0].all() + spurious_[1].all();
    result.stops = stops_;
    result.acknowledgements = acknowledgements_;
    result.link_started = started_;
    result.machine_started = machine_started_;
    result.digest = digest_;
    result.exchanges = exchanges();
    const Direction main = output_end(scenario_) == End::controller ? Direction::to_controller : Direction::to_device;
    result.worst_seen = ways_[index(main)].oldest;
    // one that crossed other links too says nothing about this one alone
    if (limits_.demand_beyond.empty()) result.worst_seen = std::max(*result.worst_seen, slowest_demand_);
}

}  // namespace sim
