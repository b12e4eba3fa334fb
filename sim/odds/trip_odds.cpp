#include "sim/odds/trip_odds.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "sim/channel/delay_law.hpp"
#include "sim/channel/fitted_tail.hpp"
#include "sim/numeric/portable_math.hpp"
#include "sim/odds/block_chain.hpp"
#include "sim/odds/delay_chance.hpp"
#include "sim/odds/odds_words.hpp"
#include "sim/odds/polled_chain.hpp"
#include "sim/odds/streaming_chain.hpp"
#include "sim/odds/walked_odds.hpp"
#include "sim/odds/yearly.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

/// Worst start over best up to which the odds count as settled; some blocks that stand for others are no better known.
constexpr double settled_apart = 1.02, sampled_apart = 1.8;
constexpr const char* cannot_happen = "exact: cannot happen in the channel as described";

/// Only where it is the greater part of all; of two that are alike neither is.
void name_cause(TripOdds& odds) {
    const auto* const most = std::max_element(odds.by_cause.begin(), odds.by_cause.end());
    double all = 0.0;
    for (const double one : odds.by_cause) all += one;
    constexpr double greater_part = 0.6;
    if (*most > greater_part * all) odds.main_cause = static_cast<StopCause>(most - odds.by_cause.begin());
}

/// From the best start of the link to the worst, and how exactly sums of floating-point numbers are. `added`: what is
/// in the odds beside the chain's stops.
void bracket(TripOdds& odds, double least, double most, double added, double told_apart = settled_apart) {
    constexpr double rounding = 1e-9;
    odds.low = std::max(0.0, (least + added) * (1.0 - rounding));
    odds.high = (most + added) * (1.0 + rounding);
    odds.settled = most <= told_apart * least;
    if (!odds.settled)
        odds.method += ", from the best to the worst way in which the scans of both ends can stand to each other";
}

std::optional<TripOdds> by_polled_chain(const LinkModel& link, const OddsEffort& effort) {
    const bool in_blocks = block_chain_suits(link);
    if (!in_blocks && !polled_chain_suits(link)) return std::nullopt;
    ChainEffort chain_effort;
    constexpr double good_enough = 0.1;  // it counts as stops
    constexpr std::uint64_t quick_steps = 15'000'000;
    if (!effort.thorough) chain_effort.undecided_share = good_enough;
    if (!effort.thorough) chain_effort.steps_most = quick_steps;
    const ChainOdds chain = in_blocks ? block_chain(link, {.undecided_share = chain_effort.undecided_share})
                                      : polled_chain(link, chain_effort);
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
    odds.method = in_blocks ? "chain over blocks" : "exact chain";
    if (chain.one_in > 1) odds.method += ", one in " + std::to_string(chain.one_in) + " of the ordinary ones";
    bracket(odds, per_year(chain.least, cycle), per_year(chain.most + chain.undecided, cycle),
            odds.per_year - per_year(chain.total(), cycle), chain.one_in > 1 ? sampled_apart : settled_apart);
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
    if (may_be_too_old(link, Direction::to_device) || may_be_too_old(link, Direction::to_controller)) {
        return walked_odds(link, effort);
    }
    if (polled && always_in_time(link)) {
        TripOdds never;
        never.method = cannot_happen;
        return never;
    }
    if (auto odds = polled ? by_polled_chain(link, effort) : by_streaming_chain(link)) return *odds;
    return walked_odds(link, effort);
}

/// Whether the longest measured delays of that way are taken from a fit that is believed.
bool is_fitted(const DelayShape& delay) { return delay.fitted && delay.fitted->refused.empty(); }

/// Shares of the delays of each way that may be longer than all that is known of, both with 95 %: of a fit what lies
/// past its reach.
struct Unseen {
    double out = 0.0, back = 0.0;
};
Unseen unseen_of(const LinkModel& link) {
    const DelayShape &out = link.to_device.channel.delay, &back = link.to_controller.channel.delay;
    const double confidence =
        out.samples != 0 && back.samples != 0 ? 1.0 - (1.0 - unseen_confidence) / 2.0 : unseen_confidence;
    const auto of = [confidence](const DelayShape& delay) {
        return is_fitted(delay) ? delay.fitted->high.beyond : unseen_share(delay.samples, confidence);
    };
    return {of(out), of(back)};
}

void add_late(DelayShape& delay, double share, Duration as_late_as) {
    if (!(share > 0.0)) return;
    std::uint64_t weight = 0;
    for (const DelayShape::Cell& cell : delay.tail) weight += cell.weight;
    // beside the tail that it may have, in proportion
    const double part = delay.tail.empty() ? 1.0 : static_cast<double>(weight) * share / delay.tail_share;
    delay.tail.push_back({as_late_as, as_late_as, std::max<std::uint64_t>(static_cast<std::uint64_t>(part), 1)});
    delay.tail_share += share;
}

/// Delays that nobody saw, each as long as somebody declares for the longest: a round trip may be so late on both ways.
struct Declared {
    Unseen share;
    Duration longest{};
    [[nodiscard]] Duration as_late_as(const DelayShape& delay, const DelayShape& other) const {
        const bool of_both = delay.of_round_trips && other.of_round_trips && other.samples == 0;
        return of_both ? longest * 2 - shortest_of(other) : longest;
    }
};

/// As described; with a fit to the longest measured delays from the lower to the upper limit of what it says.
TripOdds with_fits(const LinkModel& link, const OddsEffort& effort, const std::optional<Declared>& declared) {
    const auto reckon = [&](LinkModel with) {
        if (declared) {
            DelayShape &out = with.to_device.channel.delay, &back = with.to_controller.channel.delay;
            add_late(out, declared->share.out, declared->as_late_as(out, back));
            add_late(back, declared->share.back, declared->as_late_as(back, out));
        }
        return engine(with, effort);
    };
    if (!is_fitted(link.to_device.channel.delay) && !is_fitted(link.to_controller.channel.delay)) return reckon(link);
    LinkModel central = link, low = link, high = link;
    for (WayModel LinkModel::*way : {&LinkModel::to_device, &LinkModel::to_controller}) {
        const DelayShape& delay = (link.*way).channel.delay;
        if (!is_fitted(delay)) continue;
        FittedShapes shapes = fitted_shapes(delay);
        (central.*way).channel.delay = std::move(shapes.central);
        (low.*way).channel.delay = std::move(shapes.low);
        (high.*way).channel.delay = std::move(shapes.high);
    }
    TripOdds odds = reckon(std::move(central));
    odds.low = std::min(odds.low, reckon(std::move(low)).low);
    const TripOdds at_most = reckon(std::move(high));
    odds.high = odds.high && at_most.high ? std::optional(std::max(*odds.high, *at_most.high)) : std::nullopt;
    odds.method += ", the longest delays by a generalised Pareto law";
    return odds;
}

/// A file of measured times is a sample: the share of too long ones that it has may be any in its exact interval. Each
/// is a stop at most, and stops by late ones are rarer by as much as that share may be.
void add_measured(TripOdds& odds, const LinkModel& link) {
    odds.measured = measured_share(link);
    if (link.to_device.channel.delay.lost_together != 0 || link.to_controller.channel.delay.lost_together != 0) {
        odds.high.reset();
        odds.high_as_described.reset();
        odds.method += ", high unknown since the measured losses come together";
    }
    if (!odds.measured || odds.measured->longer == 0) return;
    const MeasuredShare& share = *odds.measured;
    const double seen = static_cast<double>(share.longer) / static_cast<double>(share.samples);
    odds.low *= share.low / seen;
    const auto raise = [&](std::optional<double>& high) {
        if (high) high = std::max(*high, per_year(share.high, link.controller.scan));
    };
    raise(odds.high);
    raise(odds.high_as_described);
    odds.method += ", from " + std::to_string(share.longer) + " of " + std::to_string(share.samples) +
                   " measured times that are too long, which is a sample (95 %)";
}

/// A longer delay than any that was seen may come. Where somebody stands for a longest one, each may be as long as
/// that; else nothing says how long: at worst it outlasts every watchdog, and all that is sent after it waits behind
/// it. So each is a stop, beside those of the link as it is when none comes.
void add_unseen(TripOdds& odds, const LinkModel& link, const OddsEffort& effort) {
    const Unseen unseen = unseen_of(link);
    if (!(unseen.out + unseen.back > 0.0)) return;
    if (odds.method == cannot_happen) odds.method = "no stop with the times as measured";
    odds.samples = std::max(link.to_device.channel.delay.samples, link.to_controller.channel.delay.samples);
    odds.high_as_described = odds.high;
    if (link.declared_delay) {
        const TripOdds with_late = with_fits(link, effort, Declared{unseen, *link.declared_delay});
        odds.high = with_late.high && odds.high ? std::optional(std::max(*with_late.high, *odds.high)) : std::nullopt;
        odds.method += ", high with as many delays of the declared longest as";
        if (!(odds.per_year > 0.0)) odds.by_cause = with_late.by_cause;
    } else {
        const double out = per_year(unseen.out, step_of(link, Direction::to_device));
        const double back = per_year(unseen.back, step_of(link, Direction::to_controller));
        if (odds.high) odds.high = *odds.high + out + back;
        odds.with_any_watchdog = out + back;
        odds.method += ", high with a stop for each of as many longer delays as";
        if (!(odds.per_year > 0.0)) {
            of(odds.by_cause, StopCause::device_watchdog) = out;
            of(odds.by_cause, StopCause::controller_watchdog) = back;
        }
    }
    const bool fitted = is_fitted(link.to_device.channel.delay) || is_fitted(link.to_controller.channel.delay);
    odds.method += fitted ? " may lie past its reach (95 %)"
                          : " " + std::to_string(odds.samples) + " samples leave possible (95 %)";
    if (!(odds.per_year > 0.0) && odds.high != 0.0) odds.claimed = false;
}

}  // namespace

double unseen_share(std::uint64_t samples, double confidence) {
    return samples == 0 ? 0.0 : -portable_expm1(portable_log1p(-confidence) / static_cast<double>(samples));
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

namespace {

TripOdds with_the_unseen(const LinkModel& link, const OddsEffort& effort) {
    TripOdds odds = with_fits(link, effort, std::nullopt);
    add_unseen(odds, link, effort);
    add_measured(odds, link);
    return odds;
}

/// Round trips of which nobody knows on which way they are late, each drawn alone.
bool may_be_late_either_way(const LinkModel& link) {
    const DelayShape &out = link.to_device.channel.delay, &back = link.to_controller.channel.delay;
    return out.of_round_trips && back.of_round_trips && out.of_round_trips->source == back.of_round_trips->source &&
           (out.samples == 0) != (back.samples == 0) && out.of_round_trips->stated == OfRoundTrips::Late::unknown &&
           out.block == 0 && back.block == 0;
}

}  // namespace

TripOdds trip_odds(const LinkModel& link, const OddsEffort& effort) {
    TripOdds odds = with_the_unseen(link, effort);
    if (may_be_late_either_way(link)) {
        LinkModel other = link;
        std::swap(other.to_device.channel.delay, other.to_controller.channel.delay);
        const TripOdds late_there = with_the_unseen(other, effort);
        odds.low = std::min(odds.low, late_there.low);
        const auto more = [](const std::optional<double>& a, const std::optional<double>& b) {
            return a && b ? std::optional(std::max(*a, *b)) : std::nullopt;
        };
        odds.high = more(odds.high, late_there.high);
        if (odds.high_as_described) odds.high_as_described = more(odds.high_as_described, late_there.high_as_described);
        odds.method += ", late on either way";
    }
    name_cause(odds);
    if (odds.high && *odds.high <= 0.0) {
        if (odds.samples == 0) odds.method = cannot_happen;
    } else if (odds.high && *odds.high < rarest_claim_per_year) {
        odds.claimed = false;
        odds.per_year = odds.low = 0.0;
        odds.high = rarest_claim_per_year;
        odds.method = "too rare to claim: under 1e-9 a year";
    }
    return odds;
}

}  // namespace sim
