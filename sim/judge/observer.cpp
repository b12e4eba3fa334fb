#include "sim/judge/observer.hpp"
#include "sim/scenario/scenario.hpp"

#include <algorithm>
#include <cstdio>
#include <utility>

namespace sim {
namespace {

using proto::Cause;
using proto::Measure;
using proto::State;
using proto::Verdict;

constexpr std::size_t dangerous_kept = 100;

bool safe(State s) { return s == State::safe_state || s == State::awaiting_acknowledgement; }

}  // namespace

std::string in_ms(Duration d) {
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), "%.3f ms", static_cast<double>(d.ns) / 1e6);
    return text.data();
}

Observer::Observer(const Scenario& scenario, Limits limits)
    : limits_(std::move(limits)), scenario_(scenario), tracks_(scenario.faults.size()), values_(scenario) {
    open_.reserve(tracks_.size());
    if (scenario.machine) machine_.emplace(*scenario.machine);
    for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
        if (second_of(scenario.signals, scenario.signals[i].name) != nullptr) first_bits_ |= std::uint64_t{1} << i;
        if (!scenario.signals[i].inverse_of.empty()) second_bits_ |= std::uint64_t{1} << i;
    }
}

void Observer::begin_again(const Limits& limits) {
    limits_ = limits;
    digest_ = 0;
    for (Way& way : ways_) {
        way.next_instance = way.first_of_connection = 1;
        way.last_accepted = way.current_instance = way.used_signals = 0;
        way.current_injection = 0;
        way.used_sampled = {};
        way.oldest = {};
        way.current_expected = true;
        way.meaning_differs = false;
    }
    made_[0] = {};  // the others are written before they are read
    state_ = {proto::State::start_up, proto::State::start_up};
    accepted_ = {};
    last_rejected_ = {none, none};
    tracks_.assign(scenario_.faults.size(), Track{});
    open_.clear();
    open_demands_.clear();
    demands_.clear();
    followed_.clear();
    values_.begin_again();
    if (machine_) machine_->begin_again();
    dangerous_.clear();
    dangerous_count_ = 0;
    spurious_ = {};
    stops_ = acknowledgements_ = 0;
    slowest_demand_ = {};
    started_ = machine_started_ = false;
}

void Observer::hear(const Connected& connected) {
    Way& way = ways_[index(connected.way)];
    way.first_of_connection = way.next_instance;
}

[[gnu::noinline]] void Observer::accepted_wrong(End end, const Tag& tag, Instant now) {
    const bool of_cell = tag.link >= other_links_from && tag.injection != 0;
    const std::string what = tag.forged                     ? "a forged telegram"
                             : tag.altered                  ? "an altered telegram"
                             : tag.stray                    ? "a telegram of an earlier start"
                             : of_cell                      ? "a telegram of link " + other_link_of(tag)
                             : tag.link != 0                ? "a telegram of the neighbour link"
                             : tag.direction != toward(end) ? "a telegram of the other direction"
                                                            : "an old telegram";
    danger(responsible(tag.injection, now), now,
           std::string(end_name(end)) + " accepted " + what + " as the expected one");
}

[[gnu::noinline]] void Observer::rejected(End end, const Tag& tag, const Verdict& verdict, Instant now) {
    const std::size_t fault = responsible(tag.injection, now);
    last_rejected_[index(end)] = fault;
    if (fault == none) return;  // the channel's own bit errors, or the echo of a start
    Track& track = tracks_[fault];
    track.rejected = true;
    track.link_had_run = track.link_had_run || started_;
    if (track.detected_by) {
        track.also_by.add(verdict.failed);
        return;
    }
    track.detected_by = verdict.failed.first();
    track.also_by.add(verdict.failed);
    track.detected_end = end;
    track.detected_at = now;
    // genuine bytes that fail by the CRC alone fail for something implied: say which measure did the work
    if (*track.detected_by == Measure::integrity && !tag.altered && !tag.forged && !tag.parameter) {
        const bool wrong_place = tag.link != 0 || tag.direction != toward(end);
        const auto& profile = scenario_.end(end).link.profile;
        if (wrong_place &&
            (profile.address.presence == proto::Presence::implied || profile.direction == proto::Presence::implied))
            track.owing_to = Measure::authentication;
        else if (profile.sequence.presence == proto::Presence::implied)
            track.owing_to = Measure::sequence;
    }
}

const std::string& Observer::other_link_of(const Tag& tag) const {
    return scenario_.faults[tag.injection - 1].other_link;
}

std::string_view Observer::end_name(End end) const { return scenario_.end(end).name; }

std::size_t Observer::responsible(std::uint32_t injection, Instant now) {
    if (injection != 0) return injection - 1;
    for (std::size_t i = open_.size(); i-- > 0;) {
        Track& track = tracks_[open_[i]];
        const bool recovered = both_running() || !track.tripped;
        if (recovered && now - track.last > limits_.settle) {
            track.open = false;
            open_.erase(open_.begin() + static_cast<std::ptrdiff_t>(i));
            continue;
        }
        return open_[i];
    }
    return none;
}

void Observer::hear(const Changed& changed) {
    const auto& [end, transition, now] = changed;
    mix(static_cast<std::uint64_t>(now.ns) * 3 + static_cast<std::uint64_t>(transition.to) * 16 +
        static_cast<std::uint64_t>(transition.cause) * 2 + static_cast<std::uint64_t>(end));
    const bool was_running = state_[index(end)] == State::running;
    if (was_running && transition.to != State::running) {
        Way& way = ways_[index(toward(end))];
        check_age(way, toward(end), now);
        way.used_signals = 0;
        values_.off(toward(end), now);
    }
    if (was_running && safe(transition.to)) stopped(end, transition, now);
    if (was_running && transition.cause == Cause::power_up && both_running()) ++stops_;
    state_[index(end)] = transition.to;
    if (both_running() && !started_) first_ran(now);
}

/// A failure of an end that goes on from before is one of a link that runs.
[[gnu::noinline]] void Observer::first_ran(Instant now) {
    started_ = true;
    for (const std::size_t fault : open_)
        if (scenario_.faults[fault].at_end && tracks_[fault].last > now) tracks_[fault].link_had_run = true;
}

void Observer::stopped(End end, const proto::Transition& transition, Instant now) {
    const bool primary = transition.cause == Cause::time_expectation || transition.cause == Cause::rejected_telegram;
    std::size_t fault = none;
    if (transition.cause == Cause::rejected_telegram) fault = last_rejected_[index(end)];
    if (fault == none) fault = responsible(0, now);
    if (primary && both_running()) ++stops_;
    if (fault == none) {
        if (primary && both_running()) {
            SpuriousTrips& trips = spurious_[index(end)];
            ++(transition.cause == Cause::time_expectation ? trips.by_watchdog : trips.by_rejection);
        }
        return;
    }
    Track& track = tracks_[fault];
    track.tripped = true;
    track.link_had_run = true;  // this end at least
    if (!track.safe_at[index(end)]) track.safe_at[index(end)] = now;
    if (transition.cause == Cause::time_expectation) {
        if (!track.detected_by) {
            track.detected_by = Measure::time_expectation;
            track.detected_end = end;
            track.detected_at = now;
        }
        track.also_by.add(Measure::time_expectation);
    }
}

void Observer::pass_over(Duration by, const std::array<std::uint64_t, 2>& accepted) {
    for (std::size_t i = 0; i < ways_.size(); ++i) {
        Way& way = ways_[i];
        accepted_[i] += accepted[i];
        way.used_sampled = way.used_sampled + by;
        // the value in use and what is on the way; older ones can only be rejected
        const std::uint64_t kept = std::min(way.next_instance, ring);
        const std::uint64_t from =
            std::max(std::min(way.current_instance, way.last_accepted), way.next_instance - kept);
        for (std::uint64_t n = from; n < way.next_instance; ++n) {
            Made& made = made_[n % ring][i];
            made.sampled = made.sampled + by;
        }
        mix(static_cast<std::uint64_t>(by.ns) * 13 + accepted[i]);
    }
}

void Observer::hear(const Acknowledged& acknowledged) {
    if (acknowledged.counted) ++acknowledgements_;
}

[[gnu::noinline]] void Observer::too_old(const Way& way, Direction direction, Duration age, Instant now) {
    danger(responsible(way.current_injection, now), way.used_sampled + limits_.required[index(direction)],
           std::string(end_name(receiver(direction))) + " used a value that was " + in_ms(age) + " old; " +
               in_ms(limits_.required[index(direction)]) + " are required");
}

[[gnu::noinline]] void Observer::other_meaning(Way& way, End end, std::uint64_t wrong, Instant now) {
    // a pair whose bits do not fit together counts as 0, whatever was sent: that is what it is for
    wrong &= ~second_bits_ & ~(first_bits_ & ~way.used_signals);
    if (wrong == 0) {
        way.meaning_differs = false;
        return;
    }
    if (way.meaning_differs) return;
    way.meaning_differs = true;
    std::string names;
    for (std::size_t i = 0; i < scenario_.signals.size(); ++i)
        if ((wrong >> i & 1) != 0) names += (names.empty() ? "" : ", ") + scenario_.signals[i].name;
    danger(responsible(way.current_injection, now), now,
           "at " + std::string(end_name(end)) + " a signal does not mean what it means at its source: " + names);
}

void Observer::hear(const OutputsOff& off) {
    const auto [end, now] = off;
    Way& way = ways_[index(toward(end))];
    if (state_[index(end)] == State::running) check_age(way, toward(end), now);
    way.used_signals = 0;
    values_.off(toward(end), now);
    const std::size_t fault = responsible(0, now);
    if (fault == none) return;
    tracks_[fault].tripped = true;
    if (!tracks_[fault].safe_at[index(end)]) tracks_[fault].safe_at[index(end)] = now;
    mix(static_cast<std::uint64_t>(now.ns) * 11 + static_cast<std::uint64_t>(end));
}

void Observer::hear(const Demanded& demanded) {
    const auto [demand, signals, now, modes, muted, way_runs] = demanded;
    if (signals != 0) open_demands_.push_back({demand, signals, now, demands_.size()});
    SeenDemand seen;
    seen.demand = demand;
    seen.since = now;
    seen.modes = modes;
    seen.muted = muted;
    seen.reaches_output = signals != 0;
    seen.link_ran = both_running() && way_runs;
    seen.motion = motion_from(machine_, now, now);
    if (seen.motion.moved && signals != 0) followed_.push_back(demands_.size());
    demands_.push_back(seen);
}

Duration Observer::required_of(const OpenDemand& open) const {
    if (limits_.demand_beyond.empty()) return limits_.demand_required;
    const std::size_t safeguard = scenario_.place_of(scenario_.demands[open.demand].safeguard);
    return limits_.demand_required + limits_.demand_beyond[safeguard];
}

void Observer::hear(const OutputUsed& output) {
    const auto [signals, now] = output;
    for (OpenDemand& open : open_demands_) {
        const Duration taken = now - open.since;
        const Duration required = required_of(open);
        if (taken > required && !open.late) {
            open.late = true;
            danger(responsible(0, now), open.since + required,
                   "the demand of " + scenario_.demands[open.demand].safeguard + " had not reached the output after " +
                       in_ms(required));
        }
        if ((signals & open.signals) == 0) {
            slowest_demand_ = std::max(slowest_demand_, taken);
            demands_[open.seen].reached = true;
            demands_[open.seen].reached_at = now;
            open.signals = 0;
        }
    }
    open_demands_.erase(std::remove_if(open_demands_.begin(), open_demands_.end(),
                                       [](const OpenDemand& open) { return open.signals == 0; }),
                        open_demands_.end());
}

/// What somebody else's command begins is not put down to what has come to its end before.
void Observer::end_motions(Instant now) {
    for (const std::size_t fault : open_) end_if_over(tracks_[fault].motion, *machine_, now);
    followed_.erase(
        std::remove_if(followed_.begin(), followed_.end(),
                       [&](std::size_t seen) { return end_if_over(demands_[seen].motion, *machine_, now); }),
        followed_.end());
}

void Observer::hear(const Contacted& contacted) {
    for (const std::size_t seen : followed_) {
        const Demand& demand = scenario_.demands[demands_[seen].demand];
        if (scenario_.place_of(demand.safeguard) == contacted.safeguard) demands_[seen].freed = contacted.free;
    }
}

void Observer::hear(const MachineTold& told) {
    if (!machine_) return;
    const Instant now = told.at;
    end_motions(now);
    if (told.command)
        machine_->command(*told.command, now);
    else
        machine_started_ = machine_->start(now) || machine_started_;
    if (told.speeds_up) machine_->speed_up(now);
    for (const std::size_t fault : open_) follow(tracks_[fault].motion, *machine_, told);
    for (const std::size_t which : followed_) {
        SeenDemand& seen = demands_[which];
        const Motion before = seen.motion;
        follow(seen.motion, *machine_, told);
        if (told.command || !seen.motion.over || before.over || !seen.freed) continue;
        seen.set_going = now;
        seen.would_be_reduced = before.reduced;
        seen.would_stand = before.stands;
    }
    mix(static_cast<std::uint64_t>(machine_->settles_at().ns) ^ static_cast<std::uint64_t>(now.ns) << 2);
}

void Observer::hear(const Touched& touched) {
    const auto [fault, direction, since, now] = touched;
    Track& track = tracks_[fault];
    if (!track.fired) {
        track.fired = true;
        track.since = since;
        track.direction = direction;
        track.motion = motion_from(machine_, now, since);
        for (const End end : {End::controller, End::device})
            if (state_[index(end)] != State::running) track.safe_at[index(end)] = since;
    }
    track.link_had_run = track.link_had_run || started_;
    if (direction != track.direction) track.both_ways = true;
    if (!track.open) {
        track.open = true;
        open_.push_back(fault);
    }
    track.last = now;
    const Fault& injected = scenario_.faults[fault];
    if (injected.at_end)
        track.last = injected.lasting ? since + *injected.lasting : proto::never;
    else
        ++track.telegrams;
    mix(static_cast<std::uint64_t>(now.ns) * 5 + fault);
}

void Observer::danger(std::size_t fault, Instant at, std::string why) {
    ++dangerous_count_;
    if (fault != none) {
        tracks_[fault].dangerous = true;
        if (tracks_[fault].why.empty()) tracks_[fault].why = why;
    }
    if (dangerous_.size() < dangerous_kept)
        dangerous_.push_back(
            {Duration{at.ns}, fault == none ? std::nullopt : std::optional<std::size_t>(fault), std::move(why)});
    mix(static_cast<std::uint64_t>(at.ns) * 7);
}

}  // namespace sim
