#include "sim/odds/walked_odds.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/odds/splitting.hpp"
#include "sim/odds/yearly.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

constexpr double walks_interval = 2.131;  ///< 95 % both sides, Student's t with 15 degrees of freedom

/// Probability that two delays, one of each way, add up to more.
double both_above(const LinkModel& link, Duration time) {
    if (time.ns <= 0) return 1.0;
    const std::optional<SumTail> tail = round_trip_above(link, time);
    return tail ? tail->high : 1.0;  // behind other traffic nobody knows
}

/// Telegrams of that way, as a share of all, that their own delay and the one of what they answer to make too old, with
/// the longest waits for scans: what walks hardly see where it is rare. Each is taken for a stop.
double too_old_alone(const LinkModel& link, Direction way) {
    if (!may_be_too_old(link, way)) return 0.0;
    const bool out = way == Direction::to_device;
    const EndModel& receiver = out ? link.device : link.controller;
    const EndModel& sender = out ? link.controller : link.device;
    double share = 0.0;
    for (const AgeModel& age : receiver.ages) {
        const bool by_lag = age.by == AgeModel::By::lag;
        const Duration most = by_lag ? receiver.scan * static_cast<std::int64_t>(age.lag_most) : age.most;
        share += both_above(link, most - receiver.scan * 2 - sender.scan);
        if (age.by == AgeModel::By::clock) share += both_above(link, age.early * 2 - receiver.scan - sender.scan);
    }
    return std::min(share, 1.0);
}

/// A tail of which walks see something: delays up to `alone` as often as one in ten thousand, which only makes them
/// longer, and those beyond left out, with their share.
double show_tail(DelayShape& delay, Duration alone) {
    if (delay.tail.empty()) return 0.0;
    constexpr double seen_by_walks = 1e-4;
    std::vector<DelayShape::Cell> kept;
    double below = 0.0, beyond = 0.0;
    for (const DelayShape::Cell& cell : delay.tail) {
        const bool is_kept = cell.high <= alone;
        (is_kept ? below : beyond) += static_cast<double>(cell.weight);
        if (is_kept) kept.push_back(cell);
    }
    const double share = delay.tail_share * (beyond / (below + beyond));
    delay.tail = std::move(kept);
    delay.tail_share = below > 0.0 ? std::max(seen_by_walks, delay.tail_share) : 0.0;
    if (delay.tail.empty()) delay.tail_share = 0.0;
    return share;
}

/// Walks hardly see a delay of which there is one in a million. What could stop a link alone is taken for a stop each
/// time; with the shorter ones, made far more frequent, the link is walked again.
void add_tails(TripOdds& odds, const LinkModel& link, const SplittingEffort& effort) {
    if (link.to_device.channel.delay.tail.empty() && link.to_controller.channel.delay.tail.empty()) return;
    LinkModel shown = link;
    const Duration alone = std::min(link.controller.watchdog, link.device.watchdog) - link.controller.scan * 2 -
                           link.device.scan - longest_of(link.to_device.channel.delay) -
                           longest_of(link.to_controller.channel.delay);
    const double out = show_tail(shown.to_device.channel.delay, alone);
    const double back = show_tail(shown.to_controller.channel.delay, alone);
    const SplittingOdds found = split(shown, effort);
    const double with_tails = per_year(found.stops + walks_interval * found.standard_error, link.controller.scan);
    odds.high = std::max(*odds.high, with_tails) + per_year(out, step_of(link, Direction::to_device)) +
                per_year(back, step_of(link, Direction::to_controller));
}

bool ages_by_clock(const LinkModel& link) {
    const auto by_clock = [](const AgeModel& age) { return age.by == AgeModel::By::clock; };
    return std::any_of(link.device.ages.begin(), link.device.ages.end(), by_clock) ||
           std::any_of(link.controller.ages.begin(), link.controller.ages.end(), by_clock);
}

/// How well the clock is set differs from start to start, and holds until the next: what was walked is the worst.
void from_the_worst_clock(TripOdds& odds) {
    odds.low = odds.per_year = 0.0;
    odds.claimed = odds.settled = false;
    odds.method += ", with the clock set as badly as a start allows";
}

}  // namespace

TripOdds walked_odds(const LinkModel& link, const OddsEffort& effort) {
    SplittingEffort splitting;
    splitting.jobs = effort.jobs;
    splitting.seed = effort.seed;
    if (!effort.thorough) {
        splitting.pilot_cycles /= 4;
        splitting.walks /= 4;
    }
    const bool too_old = may_be_too_old(link, Direction::to_device) || may_be_too_old(link, Direction::to_controller);
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
    odds.low = std::max(0.0, odds.per_year - walks_interval * error);
    odds.high = odds.per_year + walks_interval * error;
    add_tails(odds, link, splitting);
    constexpr std::uint64_t mostly_counted = 300;
    if (found.counted < mostly_counted)
        for (const Direction way : {Direction::to_device, Direction::to_controller})
            *odds.high += per_year(too_old_alone(link, way), step_of(link, way));
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
    if (ages_by_clock(link) && too_old) from_the_worst_clock(odds);
    return odds;
}

}  // namespace sim
