#include "sim/odds/window.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "sim/numeric/portable_math.hpp"
#include "sim/odds/channel_cautions.hpp"
#include "sim/odds/odds_words.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/function_time.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

std::string ms(Duration time) { return written(time); }

/// A round figure inside: a cycle more than needed, so that one more loss is ridden through, if there is room for it.
Duration suggestion(const WindowEnds& ends, Duration cycle) {
    const Duration from = *ends.lowest;
    const Duration to = ends.highest.value_or(from + cycle * 2);
    Duration best = from + cycle <= to ? from + cycle : from + Duration{(to - from).ns / 2};
    for (const Duration step : {proto::milliseconds(1), proto::microseconds(100)}) {
        const Duration round{(best.ns + step.ns - 1) / step.ns * step.ns};
        if (round <= to) return round;
    }
    return best <= to ? best : from;
}

/// `"opening the flap" is over within = 600 ms`, with the watchdog now set or another.
std::string over_its_limit(const Scenario& scenario, std::size_t function) {
    for (const FunctionTime& time : function_times(scenario))
        if (time.function == function && time.limit())
            return "\"" + scenario.functions[function].name + "\" is over " + limit_in_words(time);
    return "\"" + scenario.functions[function].name + "\" is not kept";
}

std::string upper_reason(const Scenario& scenario, Duration highest) {
    const LongestWatchdog longest = longest_watchdog(scenario);
    if (longest.by_function && *longest.by_function <= highest) return over_its_limit(scenario, longest.function);
    if (longest.by_distance && *longest.by_distance <= highest && scenario.distance)
        return "the machine stops too late for a guard at " + written(micrometres(*scenario.distance->there_um));
    if (longest.by_overall && *longest.by_overall <= highest)
        return "the overall time is over the required " + ms(*scenario.required.overall);
    return "the response of the link is over what [required] states";
}

/// What it is that no watchdog keeps: the first function, or what the tables state.
std::string never_kept_in_words(const Scenario& scenario) {
    if (longest_watchdog_by_tables(scenario).none || scenario.functions.empty()) return "what is required";
    return "\"" + scenario.functions[longest_watchdog(scenario).function].name + "\"";
}

/// Why not even the longest watchdog that was tried is called usable.
std::string never_rare_enough(const Scenario& scenario, const TripOdds& of_both, Duration longest) {
    const TripOdds& odds = of_both.worse();
    const std::string allowed = "allowed are " + two_digits(scenario.trip_limit.per_year) + " a year";
    if (rare_enough(odds, scenario.trip_limit.per_year) == RareEnough::cannot_be_told)
        return "Up to " + ms(longest) + " it cannot be told whether stops are so rare: " + allowed + ", and " +
               (odds.samples != 0 ? std::to_string(odds.samples) + " measured times leave " : "what was seen leaves ") +
               (odds.high ? "up to " + in_words_of(*odds.high) : "any number") + " possible.";
    std::string text = "Even with " + ms(longest) + " the plant stops for nothing " + in_words(odds) + ", " + allowed;
    if (odds.main_cause) text += "; most of it comes from: " + std::string(name_of(*odds.main_cause));
    return text + ".";
}

std::string why_of(const Scenario& scenario, const WatchdogWindow& window, const WindowEnds& ends,
                   OddsByWatchdog& odds) {
    if (!ends.lowest) return never_rare_enough(scenario, odds.at(ends.longest_tried), ends.longest_tried);
    if (!window.open()) {
        if (window.never_kept)
            return "At least " + ms(*ends.lowest) + " for the plant to run, but no watchdog keeps " +
                   never_kept_in_words(scenario) + ".";
        return "At least " + ms(*ends.lowest) + " for the plant to run, at most " + ms(*ends.highest) +
               ", since above " + upper_reason(scenario, *ends.highest) + ".";
    }
    std::string text;
    const Duration below = *ends.lowest - odds.step();
    if (below > scenario.controller.link.cycle) {
        const TripOdds of_both = odds.at(below);
        const TripOdds& its = of_both.worse();
        text = "Below " + ms(*ends.lowest) + " the plant stops for nothing " + in_words(its);
        if (its.main_cause) text += " (most by: " + std::string(name_of(*its.main_cause)) + ")";
    } else {
        text = "Already the shortest watchdog over a cycle stops for nothing seldom enough";
    }
    if (ends.highest)
        text += "; above " + ms(*ends.highest) + " " + upper_reason(scenario, *ends.highest);
    else
        text += "; nothing in the scenario sets an upper end: state [distance] or [required]";
    return text + ".";
}

/// What would tell whether stops are rare enough where what is known cannot.
std::vector<Opener> what_would_tell(const Scenario& scenario, const TripOdds& odds) {
    if (!odds.high && (scenario.to_device.delay.lost_together != 0 || scenario.to_controller.delay.lost_together != 0))
        return {{"losses", "as bursts, as they were measured: loss = { good_to_bad = ..., bad_to_good = ... }"}};
    if (odds.samples == 0)
        return {{"years", "linkdrill endurance counts stops in simulated years, as many as you have time for"}};
    if (odds.in_blocks && !odds.in_blocks->claimed && !odds.in_blocks->high_as_described)
        return {{"years", "linkdrill endurance with blocks_of in the scenario counts what the walks are too few for"}};
    const double cycles_a_year = hours_per_year * 3600e9 / static_cast<double>(scenario.controller.link.cycle.ns);
    // 3 delays of all on one way, or 3.7 on each: what none in so many leaves possible
    const bool both = scenario.to_device.delay.samples != 0 && scenario.to_controller.delay.samples != 0;
    const double each =
        both ? -portable_log((1.0 - unseen_confidence) / 2.0) * 2.0 : -portable_log(1.0 - unseen_confidence);
    const double enough = each * cycles_a_year / scenario.trip_limit.per_year;
    std::vector<Opener> all{{"more time", "about " + two_digits(enough) + " measured times, none of them late"}};
    if (!scenario.declared_delay)
        all.push_back({"declared", "a longest delay for which somebody stands: one_way_delay in [limit]"});
    if (!scenario.to_device.delay.fitted && !scenario.to_controller.delay.fitted)
        all.push_back({"by a fit", "tail = \"generalised-pareto\" beside a file: one order of magnitude, if believed"});
    all.push_back(
        {"by name", "a shape for the delays, if there is a reason to believe in one: delay = { shape = ... }"});
    return all;
}

}  // namespace

std::optional<bool> WatchdogPoint::usable() const {
    if (!kept || stops == RareEnough::no) return false;
    return stops == RareEnough::yes ? std::optional(true) : std::nullopt;
}

WatchdogPoint watchdog_point(const Scenario& scenario, Duration watchdog, OddsByWatchdog& odds) {
    const Scenario at = with_watchdog(scenario, watchdog);
    WatchdogPoint point;
    point.watchdog = watchdog;
    point.odds = odds.at(watchdog);
    point.stops = rare_enough(point.odds, scenario.trip_limit.per_year);
    const Scenario decides = deciding_at(scenario, watchdog);
    const ResponseTime response = response_of(decides);
    point.response = response.response;
    point.overall = response.overall;
    if (const auto distance = distance_of(decides, response)) {
        point.needed = distance->needed;
        if (decides.distance->there_um)
            point.spare_um = (micrometres(*decides.distance->there_um) - distance->needed).pm / 1'000'000;
    }
    const Kept kept = requirements_kept(at, response_of(at));
    point.kept = kept.kept;
    if (!kept.kept) point.why = kept.why;
    if (point.stops == RareEnough::no) point.why = "stops for nothing too often";
    if (kept.kept && point.stops == RareEnough::cannot_be_told)
        point.why = point.odds.worse().samples != 0
                        ? "cannot be told from " + std::to_string(point.odds.samples) + " measured times"
                        : "cannot be told: too little was seen";
    return point;
}

WatchdogWindow watchdog_window(const Scenario& scenario, OddsByWatchdog& odds, const OddsEffort& effort,
                               const std::function<void(const std::string&)>& told) {
    const WindowEnds ends = ends_of(scenario, odds);
    WatchdogWindow window;
    window.lowest = ends.lowest;
    window.highest = ends.highest;
    if (odds.in_blocks() != nullptr) told("looking for the lower end of each model");
    const LowestOfEach of_each = lowest_of_each(scenario, odds);
    window.lowest_alone = of_each.alone;
    window.lowest_in_blocks = of_each.in_blocks;
    window.never_kept = ends.none;
    window.nothing_required = !ends.none && !ends.highest;
    window.longest_tried = ends.longest_tried;
    window.limit_per_year = scenario.trip_limit.per_year;
    window.is_open = ends.open();
    window.ideal_channel = is_ideal(scenario);
    if (!ends.lowest) {
        const TripOdds longest = odds.at(ends.longest_tried);
        window.cannot_be_told = rare_enough(longest, window.limit_per_year) == RareEnough::cannot_be_told;
        if (window.cannot_be_told) window.openers = what_would_tell(scenario, longest);
    }
    if (ends.open() && !window.ideal_channel)
        window.suggested = suggestion(ends, scenario.controller.link.cycle);
    else if (!ends.open() && !window.cannot_be_told && odds.in_blocks() != nullptr)
        window.openers_sought = false;
    else if (!ends.open() && !window.cannot_be_told)
        window.openers = openers_of(scenario, ends, effort, told);
    window.why = why_of(scenario, window, ends, odds);
    return window;
}

}  // namespace sim
