#include "sim/odds/trip_odds.hpp"

#include <algorithm>
#include <cmath>

#include "sim/channel/delay_law.hpp"
#include "sim/odds/delay_chance.hpp"
#include "sim/odds/odds_words.hpp"
#include "sim/odds/polled_chain.hpp"
#include "sim/odds/splitting.hpp"
#include "sim/odds/streaming_chain.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/measured_delays.hpp"

namespace sim {
namespace {

constexpr double ns_per_year = hours_per_year * 3600e9;
constexpr const char* cannot_happen = "exact: cannot happen in the channel as described";

double per_year(double per_step, Duration step) { return per_step * (ns_per_year / static_cast<double>(step.ns)); }

/// From one telegram of that way to the next; a device of a polled link answers at most what it gets.
Duration step_of(const LinkModel& link, Direction way) {
    const bool in_cycles = way == Direction::to_device || link.exchange == proto::Exchange::polled;
    return in_cycles ? link.controller.scan : link.device.scan;
}

/// Rejected telegrams that stop an end, per cycle: each of them, or each that follows another within the error
/// interval.
double bent_stops(double bent, const EndModel& end, Duration cycle) {
    if (end.reaction == proto::Reaction::trip) return bent;
    const std::int64_t within = (end.error_interval.ns + cycle.ns - 1) / cycle.ns - 1;
    if (within <= 0 || !(bent > 0.0)) return 0.0;
    return bent * -std::expm1(static_cast<double>(within) * std::log1p(-std::min(bent, 1.0 - 1e-12)));
}

/// Only where it is the greater part of all; of two that are alike neither is.
void name_cause(TripOdds& odds) {
    const auto* const most = std::max_element(odds.by_cause.begin(), odds.by_cause.end());
    double all = 0.0;
    for (const double one : odds.by_cause) all += one;
    constexpr double greater_part = 0.6;
    if (*most > greater_part * all) odds.main_cause = static_cast<StopCause>(most - odds.by_cause.begin());
}

double& of(std::array<double, stop_cause_count>& by_cause, StopCause cause) {
    return by_cause[static_cast<std::size_t>(cause)];
}

/// From the best start of the link to the worst, and how exactly sums of floating-point numbers are. `added`: what is
/// in the odds beside the chain's stops.
void bracket(TripOdds& odds, double least, double most, double added) {
    constexpr double rounding = 1e-9;
    odds.low = std::max(0.0, (least + added) * (1.0 - rounding));
    odds.high = (most + added) * (1.0 + rounding);
    constexpr double told_apart = 1.02;
    odds.settled = most <= told_apart * least;
    if (!odds.settled)
        odds.method += ", from the best to the worst way in which the scans of both ends can stand to each other";
}

std::optional<TripOdds> by_polled_chain(const LinkModel& link, const OddsEffort& effort) {
    if (!polled_chain_suits(link)) return std::nullopt;
    ChainEffort chain_effort;
    constexpr double good_enough = 0.1;  // it counts as stops
    constexpr std::uint64_t quick_steps = 15'000'000;
    if (!effort.thorough) chain_effort.undecided_share = good_enough;
    if (!effort.thorough) chain_effort.steps_most = quick_steps;
    const ChainOdds chain = polled_chain(link, chain_effort);
    if (!chain.fits) return std::nullopt;
    TripOdds odds;
    const Duration cycle = link.controller.scan;
    for (std::size_t i = 0; i < stop_cause_count; ++i) odds.by_cause[i] = per_year(chain.stops[i], cycle);
    if (link.device.reaction == proto::Reaction::discard)
        of(odds.by_cause, StopCause::bent_to_device) =
            per_year(bent_stops(chain.bent_to_device, link.device, cycle), cycle);
    if (link.controller.reaction == proto::Reaction::discard)
        of(odds.by_cause, StopCause::bent_to_controller) =
            per_year(bent_stops(chain.bent_to_controller, link.controller, cycle), cycle);
    for (const double one : odds.by_cause) odds.per_year += one;
    odds.states = chain.states;
    if (chain.exchanges > 0.0) odds.per_exchange = odds.per_year / per_year(chain.exchanges, cycle);
    odds.method = "exact chain";
    bracket(odds, per_year(chain.least, cycle), per_year(chain.most + chain.undecided, cycle),
            odds.per_year - per_year(chain.total(), cycle));
    return odds;
}

std::optional<TripOdds> by_streaming_chain(const LinkModel& link) {
    TripOdds odds;
    double least = 0.0, most = 0.0, chains = 0.0;
    for (const Direction way : {Direction::to_device, Direction::to_controller}) {
        if (!streaming_chain_suits(link, way)) return std::nullopt;
        const ChainOdds chain = streaming_chain(link, way);
        if (!chain.fits) return std::nullopt;
        const bool out = way == Direction::to_device;
        const Duration step = step_of(link, way);
        for (std::size_t i = 0; i < stop_cause_count; ++i) odds.by_cause[i] += per_year(chain.stops[i], step);
        const EndModel& end = out ? link.device : link.controller;
        if (end.reaction == proto::Reaction::discard)
            of(odds.by_cause, out ? StopCause::bent_to_device : StopCause::bent_to_controller) =
                per_year(bent_stops(out ? chain.bent_to_device : chain.bent_to_controller, end, step), step);
        odds.states = std::max(odds.states, chain.states);
        least += per_year(chain.least, step);
        most += per_year(chain.most + chain.undecided, step);
        chains += per_year(chain.total(), step);
    }
    for (const double one : odds.by_cause) odds.per_year += one;
    odds.method = "exact chain";
    bracket(odds, least, most, odds.per_year - chains);
    return odds;
}

TripOdds by_splitting(const LinkModel& link, const OddsEffort& effort) {
    SplittingEffort splitting;
    splitting.jobs = effort.jobs;
    splitting.seed = effort.seed;
    if (!effort.thorough) {
        splitting.pilot_cycles /= 4;
        splitting.walks /= 4;
    }
    const SplittingOdds found = split(link, splitting);
    const Duration cycle = link.controller.scan;
    TripOdds odds;
    for (std::size_t i = 0; i < stop_cause_count; ++i) odds.by_cause[i] = per_year(found.by_cause[i], cycle);
    const double out = per_year(bent_stops(found.bent_to_device, link.device, cycle), cycle);
    const double back = per_year(bent_stops(found.bent_to_controller, link.controller, cycle), cycle);
    of(odds.by_cause, StopCause::bent_to_device) = out;
    of(odds.by_cause, StopCause::bent_to_controller) = back;
    odds.per_year = per_year(found.stops, cycle) + out + back;
    const double error = per_year(found.standard_error, cycle);
    odds.relative_error = odds.per_year > 0.0 ? error / odds.per_year : 0.0;
    constexpr double two_sided_95 = 2.131;  // Student's t, 15 degrees of freedom
    odds.low = std::max(0.0, odds.per_year - two_sided_95 * error);
    odds.high = odds.per_year + two_sided_95 * error;
    // Walks hardly see a delay of which there is one in a million, so each of these is taken for a stop.
    *odds.high += per_year(link.to_device.channel.delay.tail_share, step_of(link, Direction::to_device)) +
                  per_year(link.to_controller.channel.delay.tail_share, step_of(link, Direction::to_controller));
    constexpr std::uint64_t mostly_counted = 300;
    odds.method = found.counted >= mostly_counted
                      ? "counted in " + std::to_string(found.cycles) + " simulated cycles, 95 % interval"
                      : "splitting, standard error " +
                            std::to_string(static_cast<int>(std::ceil(100.0 * odds.relative_error))) +
                            " %, 95 % interval";
    constexpr double error_most = 0.5;
    if (found.repetitions_with_stops < found.repetitions / 4 || odds.relative_error > error_most) {
        odds.claimed = false;
        odds.low = 0.0;
        // it did not see enough to say even how rare
        odds.high = found.repetitions_with_stops < found.repetitions / 4 ? std::nullopt : odds.high;
        odds.method = "not claimed: splitting saw too little";
        odds.per_year = 0.0;
    }
    return odds;
}

/// Nothing is lost, and even the longest way there and back, with a scan at each end, is over in time.
bool always_in_time(const LinkModel& link) {
    for (const WayModel* way : {&link.to_device, &link.to_controller}) {
        const ChannelSettings& channel = way->channel;
        if (channel.loss > 0.0 || channel.bursts || channel.queue || way->bent > 0.0 || !channel.keep_order)
            return false;
    }
    const Duration longest = latest_of(link.to_device.channel.delay) + latest_of(link.to_controller.channel.delay) +
                             link.device.scan + link.controller.scan;
    return longest <= link.controller.watchdog && longest <= link.device.watchdog;
}

TripOdds engine(const LinkModel& link, const OddsEffort& effort) {
    const bool polled = link.exchange == proto::Exchange::polled;
    if (polled && always_in_time(link)) {
        TripOdds never;
        never.method = cannot_happen;
        return never;
    }
    if (auto odds = polled ? by_polled_chain(link, effort) : by_streaming_chain(link)) return *odds;
    return by_splitting(link, effort);
}

/// Shares of the delays of each way that may be longer than all that were measured, both with 95 %.
struct Unseen {
    double out = 0.0, back = 0.0;
};
Unseen unseen_of(const LinkModel& link) {
    const std::uint64_t out = link.to_device.channel.delay.samples, back = link.to_controller.channel.delay.samples;
    const double confidence = out != 0 && back != 0 ? 1.0 - (1.0 - unseen_confidence) / 2.0 : unseen_confidence;
    return {unseen_share(out, confidence), unseen_share(back, confidence)};
}

/// Round trips are drawn as two halves, each on its own, so that a long one becomes two of half its length; in truth it
/// is nearly always late on one way. What the file itself says is no model: each that is too long is a stop, of one
/// exchange in each watchdog time at the least and in each cycle at the most. Where it has such, the model's own figure
/// is not claimed.
void add_measured(TripOdds& odds, const LinkModel& link) {
    odds.measured = measured_share(link);
    if (!odds.measured || !odds.measured->round_trips || odds.measured->longer == 0) return;
    odds.claimed = false;
    odds.per_year = 0.0;
    odds.low = std::max(odds.low, per_year(odds.measured->low, link.controller.watchdog));
    if (odds.high) odds.high = std::max({*odds.high, odds.low, per_year(odds.measured->high, link.controller.scan)});
    odds.method += "; no figure claimed, since the measured times themselves say more";
}

void add_late(DelayShape& delay, double share, Duration as_late_as) {
    if (!(share > 0.0)) return;
    delay.tail = {{as_late_as, as_late_as, 1}};
    delay.tail_share = share;
}

/// A longer delay than any that was seen may come. Where somebody stands for a longest one, each may be as long as
/// that; else nothing says how long: at worst it outlasts every watchdog, and all that is sent after it waits behind
/// it. So each is a stop, beside those of the link as it is when none comes.
void add_unseen(TripOdds& odds, const LinkModel& link, const OddsEffort& effort) {
    const Unseen unseen = unseen_of(link);
    if (!(unseen.out + unseen.back > 0.0)) return;
    odds.samples = std::max(link.to_device.channel.delay.samples, link.to_controller.channel.delay.samples);
    odds.high_as_described = odds.high;
    if (link.declared_delay) {
        LinkModel late = link;
        add_late(late.to_device.channel.delay, unseen.out, *link.declared_delay);
        add_late(late.to_controller.channel.delay, unseen.back, *link.declared_delay);
        const TripOdds with_late = engine(late, effort);
        odds.high = with_late.high && odds.high ? std::optional(std::max(*with_late.high, *odds.high)) : std::nullopt;
        odds.method += ", high with as many delays of the declared longest as";
        if (!(odds.per_year > 0.0)) odds.by_cause = with_late.by_cause;
    } else {
        const double out = per_year(unseen.out, step_of(link, Direction::to_device));
        const double back = per_year(unseen.back, step_of(link, Direction::to_controller));
        if (odds.high) odds.high = *odds.high + out + back;
        odds.method += ", high with a stop for each of as many longer delays as";
        if (!(odds.per_year > 0.0)) {
            of(odds.by_cause, StopCause::device_watchdog) = out;
            of(odds.by_cause, StopCause::controller_watchdog) = back;
        }
    }
    odds.method += " " + std::to_string(odds.samples) + " samples leave possible (95 %)";
    if (!(odds.per_year > 0.0) && odds.high != 0.0) odds.claimed = false;
}

}  // namespace

double unseen_share(std::uint64_t samples, double confidence) {
    return samples == 0 ? 0.0 : -std::expm1(std::log1p(-confidence) / static_cast<double>(samples));
}

std::optional<SumTail> round_trip_above(const LinkModel& link, Duration time) {
    if (link.to_device.channel.queue || link.to_controller.channel.queue || time.ns <= 0) return std::nullopt;
    std::vector<Tail> tails;
    for (const WayModel* way : {&link.to_device, &link.to_controller})
        tails.emplace_back([chance = DelayChance(way->channel.delay)](double ns) {
            return chance.above(static_cast<std::int64_t>(ns));
        });
    constexpr unsigned cells = 1000;
    return sum_above(tails, static_cast<double>(time.ns), cells);
}

LinkModel with_watchdogs(LinkModel link, Duration watchdog) {
    link.controller.watchdog = link.device.watchdog = watchdog;
    return link;
}

TripOdds trip_odds(const LinkModel& link, const OddsEffort& effort) {
    TripOdds odds = engine(link, effort);
    add_unseen(odds, link, effort);
    add_measured(odds, link);
    name_cause(odds);
    if (odds.high && *odds.high <= 0.0) {
        odds.method = cannot_happen;
    } else if (odds.high && *odds.high < rarest_claim_per_year) {
        odds.claimed = false;
        odds.per_year = odds.low = 0.0;
        odds.high = rarest_claim_per_year;
        odds.method = "too rare to claim: under 1e-9 a year";
    }
    return odds;
}

bool is_ideal(const Scenario& scenario) {
    const ChannelSettings* const ways[] = {&scenario.to_device, &scenario.to_controller};
    return std::all_of(std::begin(ways), std::end(ways), [](const ChannelSettings* way) {
        const bool loses = way->loss > 0.0 || way->bursts || way->bit_error_rate > 0.0;
        return !loses && !way->queue && latest_of(way->delay) == shortest_of(way->delay);
    });
}

namespace {

/// The median of measured delays.
Duration longest_of_half(const DelayShape& shape) { return Duration{DelayChance(shape).quantile(0.5)}; }

}  // namespace

std::vector<std::string> cautions_about(const Scenario& scenario) {
    std::vector<std::string> cautions;
    const bool ideal = is_ideal(scenario);
    if (ideal)
        cautions.emplace_back(
            "The channel as described never varies, loses or bends anything, as no real one does: every "
            "figure here is a best case. Give it measured delays and losses before you set a watchdog by it.");
    const ChannelSettings* const ways[] = {&scenario.to_device, &scenario.to_controller};
    const auto any = [&](auto&& holds) {
        return std::any_of(std::begin(ways), std::end(ways), [&](const ChannelSettings* w) { return holds(*w); });
    };
    std::uint64_t samples = 0;
    for (const ChannelSettings* way : ways) samples = std::max(samples, way->delay.samples);
    if (samples != 0)
        cautions.push_back(
            "The delays were measured: " + std::to_string(samples) + " samples. Of all delays, a share of up to " +
            two_digits(100.0 * unseen_share(samples)) +
            " % may be longer than the longest of them (95 %), and nobody knows by how much: the high figure, by which "
            "a watchdog is called usable, takes each of these for a stop.");
    // most often both ways are of one capture
    std::vector<std::string> captured;
    for (const ChannelSettings* way : ways)
        for (std::string& clause : about_captured(way->delay))
            if (std::find(captured.begin(), captured.end(), clause) == captured.end())
                captured.push_back(std::move(clause));
    for (const std::string& clause : captured) cautions.push_back("The delays of the capture " + clause + ".");
    constexpr Duration seldom_so_short = proto::microseconds(10);
    if (any([&](const ChannelSettings& w) {
            return w.delay.samples != 0 && longest_of_half(w.delay) < seldom_so_short;
        }))
        cautions.emplace_back(
            "Half of the measured times are under 0.01 ms one way, which hardly any network does: were they seconds, "
            "in a column that says ms?");
    if (any([](const ChannelSettings& w) { return !w.delay.preset.empty(); }))
        cautions.emplace_back(
            "The delays are a preset, which is only an illustration: measure your own network before "
            "you rely on the lower end.");
    const bool losses =
        any([](const ChannelSettings& w) { return w.loss > 0.0 || w.bursts || w.bit_error_rate > 0.0 || w.queue; });
    if (!losses && samples == 0 && !ideal)
        cautions.emplace_back(
            "The channel as described loses nothing and bends nothing; a real one does. Give it "
            "losses, or measured delays, before you rely on the lower end.");
    if (any([](const ChannelSettings& w) { return w.loss > 0.0 && !w.bursts; }))
        cautions.emplace_back(std::string(any([](const ChannelSettings& w) { return w.bursts.has_value(); })
                                              ? "The losses of one way are independent."
                                              : "The losses are independent.") +
                              " Often they come in bursts, and then each further cycle of "
                              "watchdog gains far less: see loss in bursts in scenarios/README.md.");
    if (any([](const ChannelSettings& w) { return w.queue && w.queue->ramp_to != w.queue->load; }))
        cautions.emplace_back("The load of the other traffic is taken as it is after its ramp.");
    const proto::LinkSettings& link = scenario.controller.link;
    if (link.max_lag || link.profile.time_stamp_bits != 0)
        cautions.emplace_back(
            "Stops by the limit on the age of a telegram (time stamp, fed-back number) are not "
            "counted here: rehearse them.");
    return cautions;
}

}  // namespace sim
