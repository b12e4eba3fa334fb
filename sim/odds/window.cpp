#include "sim/odds/window.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "sim/odds/odds_words.hpp"
#include "sim/odds/polled_chain.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/function_time.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

using Told = std::function<void(const std::string&)>;

/// Odds only change where a watchdog reaches a further scan of one end.
std::int64_t grid_of(const Scenario& scenario) {
    return std::gcd(scenario.controller.link.cycle.ns, scenario.device.link.scan.ns);
}

double limit_of(const Scenario& scenario) { return scenario.trip_limit.per_year; }

constexpr std::int64_t cycles_tried = 400;

struct Ends {
    std::optional<Duration> lowest;
    Duration longest_tried{};
    std::optional<Duration> highest;
    bool none = false;
    [[nodiscard]] bool open() const { return lowest && !none && (!highest || *lowest <= *highest); }
};

/// The shortest watchdog of the grid whose odds are low enough, by halving, since odds never rise with it.
std::optional<Duration> lowest_of(const LinkModel& link, std::int64_t grid, double limit, Duration longest,
                                  const OddsEffort& effort) {
    const std::int64_t first = link.controller.scan.ns / grid + 1;  // over a cycle
    const auto good = [&](std::int64_t n) {
        return trip_odds(with_watchdogs(link, {n * grid}), effort).at_most(limit);
    };
    const std::int64_t last = longest.ns / grid;
    // doubled until good, so that long watchdogs, which are slow to reckon, are tried only if need be
    std::int64_t bad = first - 1;
    std::int64_t fine = first;
    for (;; fine = std::min(2 * fine, last)) {
        if (good(fine)) break;
        bad = fine;
        if (fine >= last) return std::nullopt;
    }
    while (fine - bad > 1) {
        const std::int64_t middle = bad + (fine - bad) / 2;
        (good(middle) ? fine : bad) = middle;
    }
    return Duration{fine * grid};
}

Ends ends_of(const Scenario& scenario, OddsEffort effort) {
    effort.thorough = false;
    Ends ends;
    const LongestWatchdog longest = longest_watchdog(scenario);
    ends.none = longest.none;
    ends.highest = longest.longest();
    const Duration cycle = scenario.controller.link.cycle;
    if (ends.highest && *ends.highest <= cycle) {
        ends.none = true;
        ends.highest.reset();
    }
    const std::int64_t grid = grid_of(scenario);
    constexpr Duration watchdog_most = proto::seconds(3600);
    ends.longest_tried = std::min(watchdog_most, cycle * cycles_tried);
    ends.lowest = lowest_of(model_of(scenario), grid, limit_of(scenario), ends.longest_tried, effort);
    return ends;
}

/// A round figure inside: a cycle more than needed, so that one more loss is ridden through, if there is room for it.
Duration suggestion(const Ends& ends, Duration cycle) {
    const Duration from = *ends.lowest;
    const Duration to = ends.highest.value_or(from + cycle * 2);
    Duration best = from + cycle <= to ? from + cycle : from + Duration{(to - from).ns / 2};
    for (const Duration step : {proto::milliseconds(1), proto::microseconds(100)}) {
        const Duration round{(best.ns + step.ns - 1) / step.ns * step.ns};
        if (round <= to) return round;
    }
    return best <= to ? best : from;
}

/// Many settings can be tried in a moment.
bool quick_engine(const Scenario& scenario) {
    const LinkModel link = model_of(scenario);
    constexpr std::int64_t cycles_on_the_way = 4;
    const Duration longest =
        std::max(longest_of(link.to_device.channel.delay), longest_of(link.to_controller.channel.delay));
    if (longest > link.controller.scan * cycles_on_the_way) return false;
    return link.exchange == proto::Exchange::streaming || polled_chain_suits(link);
}

void set_cycle(Scenario& scenario, Duration cycle) {
    const Duration before = scenario.controller.link.cycle;
    for (TypedEnd* end : {&scenario.controller, &scenario.device}) {
        end->link.cycle = cycle;
        if (end->link.scan >= before) end->link.scan = cycle;
    }
    scenario.device_phase = {scenario.device_phase.ns % scenario.device.link.scan.ns};
}

/// Both ways alike, and every kind of loss.
void scale_losses(Scenario& scenario, double factor) {
    for (ChannelSettings* way : {&scenario.to_device, &scenario.to_controller}) {
        way->loss *= factor;
        if (way->bursts) {
            way->bursts->good_to_bad *= factor;
            way->bursts->in_good *= factor;
        }
    }
}
void scale_bit_errors(Scenario& scenario, double factor) {
    scenario.to_device.bit_error_rate *= factor;
    scenario.to_controller.bit_error_rate *= factor;
}

void scale_load(Scenario& scenario, double factor) {
    for (ChannelSettings* way : {&scenario.to_device, &scenario.to_controller})
        if (way->queue) {
            way->queue->load *= factor;
            way->queue->ramp_to *= factor;
        }
}

/// The largest factor under 1 with which `changed` opens a window, to one digit in a hundred; nothing if not even none
/// of it does.
std::optional<double> largest_factor(const Scenario& scenario, const OddsEffort& effort,
                                     void (*change)(Scenario&, double)) {
    const auto opens = [&](double factor) {
        Scenario changed = scenario;
        change(changed, factor);
        const LongestWatchdog longest = longest_watchdog(changed);
        if (longest.none) return false;
        const Duration at = longest.longest().value_or(changed.controller.link.cycle * cycles_tried);
        if (at <= changed.controller.link.cycle) return false;
        return trip_odds(with_watchdogs(model_of(changed), at), effort).at_most(limit_of(changed));
    };
    double good = -12.0, bad = 0.0;  // as powers of ten
    if (!opens(std::pow(10.0, good))) return std::nullopt;
    constexpr double fine = 0.005;
    while (bad - good > fine) {
        const double middle = (good + bad) / 2;
        (opens(std::pow(10.0, middle)) ? good : bad) = middle;
    }
    return std::pow(10.0, good);
}

double mean_loss(const ChannelSettings& way) {
    if (!way.bursts) return way.loss;
    const BurstLoss& b = *way.bursts;
    const double sum = b.good_to_bad + b.bad_to_good;
    return sum > 0.0 ? (b.bad_to_good * b.in_good + b.good_to_bad * b.in_bad) / sum : b.in_good;
}

std::string ms(Duration time) { return written(time); }

/// With that watchdog, and with the guard of the function that decides where there are functions.
Scenario deciding_at(const Scenario& scenario, Duration watchdog) {
    Scenario at = with_watchdog(scenario, watchdog);
    at.faults.clear();
    const std::vector<FunctionTime> times = function_times(at);
    const FunctionTime* decides = tightest(times);
    return decides != nullptr ? seen_by(at, *decides) : at;
}

void open_by_distance(const Scenario& whole, const Ends& ends, std::vector<Opener>& openers) {
    if (!ends.lowest) return;
    const Scenario scenario = deciding_at(whole, *ends.lowest);
    const Scenario& at = scenario;
    const ResponseTime response = response_of(at);
    if (scenario.distance && scenario.distance->there_um) {
        if (const auto needed = distance_of(at, response)) {
            const Length there = micrometres(*scenario.distance->there_um);
            if (needed->needed > there)
                openers.push_back({"distance", std::to_string(whole_mm_up(needed->needed)) + " mm or more (" +
                                                   std::to_string(whole_mm_up(needed->needed - there)) +
                                                   " mm more): then from " + ms(*ends.lowest)});
            const auto longest = longest_overall(scenario.distance->how, there);
            if (longest && response.overall && response.stopping) {
                const Duration excess = *response.overall - *longest;
                if (excess.ns > 0 && excess < *response.stopping)
                    openers.push_back({"stop", ms(*response.stopping - excess) + " or less (now " +
                                                   ms(*response.stopping) + "): then " + ms(*ends.lowest)});
            }
        }
    }
}

void open_by_cycle(const Scenario& scenario, const OddsEffort& effort, std::vector<Opener>& openers) {
    const Duration now = scenario.controller.link.cycle;
    // in tenths of the cycle, to whole tenths of a millisecond
    constexpr int parts = 10;
    for (int i = parts - 1; i > 0; --i) {
        constexpr std::int64_t tenth = 100'000;
        const Duration cycle{now.ns * i / parts / tenth * tenth};
        if (cycle < proto::microseconds(500)) return;
        Scenario changed = scenario;
        set_cycle(changed, cycle);
        const Ends ends = ends_of(changed, effort);
        if (!ends.open()) continue;
        openers.push_back({"cycle", ms(cycle) + " (now " + ms(now) + "): then " + ms(*ends.lowest) +
                                        (ends.highest ? " to " + ms(*ends.highest) : " and more")});
        return;
    }
}

void open_by_exchange(const Scenario& scenario, const OddsEffort& effort, std::vector<Opener>& openers) {
    using proto::Exchange;
    const bool polled = scenario.controller.link.exchange == Exchange::polled;
    Scenario changed = scenario;
    for (TypedEnd* end : {&changed.controller, &changed.device}) {
        end->link.exchange = polled ? Exchange::streaming : Exchange::polled;
        end->link.missing_allowed = polled ? 3 : 0;
        end->link.max_lag.reset();
        if (proto::fault_in(end->link)) return;
    }
    const Ends ends = ends_of(changed, effort);
    if (!ends.open()) return;
    openers.push_back({"exchange", std::string(polled ? "streaming, up to 3 numbers missing" : "polled") + ": then " +
                                       ms(*ends.lowest) + (ends.highest ? " to " + ms(*ends.highest) : " and more")});
}

void open_by_reaction(const Scenario& scenario, const OddsEffort& effort, std::vector<Opener>& openers) {
    if (scenario.controller.link.reaction == proto::Reaction::discard) return;
    if (!(scenario.to_device.bit_error_rate > 0.0) && !(scenario.to_controller.bit_error_rate > 0.0)) return;
    Scenario changed = scenario;
    for (TypedEnd* end : {&changed.controller, &changed.device}) end->link.reaction = proto::Reaction::discard;
    const Ends ends = ends_of(changed, effort);
    if (ends.open())
        openers.push_back({"reaction", "discard (now trip), the second error within " +
                                           ms(scenario.controller.link.error_interval) + " stops: then from " +
                                           ms(*ends.lowest)});
}

std::vector<Opener> openers_of(const Scenario& scenario, const Ends& ends, const OddsEffort& effort, const Told& told) {
    std::vector<Opener> openers;
    open_by_distance(scenario, ends, openers);
    if (quick_engine(scenario)) {
        told("looking for a cycle that opens a window");
        open_by_cycle(scenario, effort, openers);
        told("looking for another exchange or reaction");
        open_by_exchange(scenario, effort, openers);
        open_by_reaction(scenario, effort, openers);
    }
    OddsEffort quick = effort;
    quick.thorough = false;
    const double loss = std::max(mean_loss(scenario.to_device), mean_loss(scenario.to_controller));
    if (loss > 0.0) {
        told("looking for a loss that opens a window");
        if (const auto factor = largest_factor(scenario, quick, scale_losses))
            openers.push_back({"losses", two_digits(loss * *factor) + " or fewer (now " + two_digits(loss) + ")"});
    }
    const double bits = std::max(scenario.to_device.bit_error_rate, scenario.to_controller.bit_error_rate);
    if (bits > 0.0) {
        told("looking for a bit error rate that opens a window");
        if (const auto factor = largest_factor(scenario, quick, scale_bit_errors))
            openers.push_back({"bit errors", two_digits(bits * *factor) + " or fewer (now " + two_digits(bits) + ")"});
    }
    const auto load_of = [](const ChannelSettings& way) { return way.queue ? way.queue->ramp_to : 0.0; };
    const double load = std::max(load_of(scenario.to_device), load_of(scenario.to_controller));
    if (load > 0.0) {
        told("looking for a load that opens a window");
        if (const auto factor = largest_factor(scenario, quick, scale_load))
            openers.push_back({"load", two_digits(load * *factor) + " or less (now " + two_digits(load) + ")"});
    }
    return openers;
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

std::string why_of(const Scenario& scenario, const WatchdogWindow& window, const Ends& ends, const OddsEffort& effort) {
    const std::string limit = two_digits(window.limit_per_year);
    if (!ends.lowest) {
        const TripOdds odds = trip_odds(with_watchdogs(model_of(scenario), ends.longest_tried), effort);
        const std::string allowed = "allowed are " + limit + " a year";
        if (!odds.claimed)
            return "Up to " + ms(ends.longest_tried) + " nothing certain can be said about so rare stops (" +
                   odds.method + "), " + allowed + ".";
        std::string text =
            "Even with " + ms(ends.longest_tried) + " the plant stops for nothing " + in_words(odds) + ", " + allowed;
        if (odds.main_cause) text += "; most of it comes from: " + std::string(name_of(*odds.main_cause));
        return text + ".";
    }
    if (!window.open()) {
        if (window.never_kept)
            return "At least " + ms(*ends.lowest) + " for the plant to run, but no watchdog keeps " +
                   never_kept_in_words(scenario) + ".";
        return "At least " + ms(*ends.lowest) + " for the plant to run, at most " + ms(*ends.highest) +
               ", since above " + upper_reason(scenario, *ends.highest) + ".";
    }
    std::string text;
    const std::int64_t grid = grid_of(scenario);
    const Duration below{ends.lowest->ns - grid};
    if (below > scenario.controller.link.cycle) {
        const TripOdds odds = trip_odds(with_watchdogs(model_of(scenario), below), effort);
        text = "Below " + ms(*ends.lowest) + " the plant stops for nothing " + in_words(odds);
        if (odds.main_cause) text += " (most by: " + std::string(name_of(*odds.main_cause)) + ")";
    } else {
        text = "Already the shortest watchdog over a cycle stops for nothing seldom enough";
    }
    if (ends.highest)
        text += "; above " + ms(*ends.highest) + " " + upper_reason(scenario, *ends.highest);
    else
        text += "; nothing in the scenario sets an upper end: state [distance] or [required]";
    return text + ".";
}

}  // namespace

WatchdogPoint watchdog_point(const Scenario& scenario, Duration watchdog, const OddsEffort& effort) {
    const Scenario at = with_watchdog(scenario, watchdog);
    WatchdogPoint point;
    point.watchdog = watchdog;
    point.odds = trip_odds(model_of(at), effort);
    point.trips_ok = point.odds.at_most(limit_of(scenario));
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
    point.why = !point.trips_ok ? "stops for nothing too often" : point.kept ? "" : kept.why;
    return point;
}

WatchdogWindow watchdog_window(const Scenario& scenario, const OddsEffort& effort, const Told& told) {
    told("looking for the ends of the window");
    const Ends ends = ends_of(scenario, effort);
    WatchdogWindow window;
    window.lowest = ends.lowest;
    window.highest = ends.highest;
    window.never_kept = ends.none;
    window.nothing_required = !ends.none && !ends.highest;
    window.longest_tried = ends.longest_tried;
    window.limit_per_year = limit_of(scenario);
    if (ends.open())
        window.suggested = suggestion(ends, scenario.controller.link.cycle);
    else
        window.openers = openers_of(scenario, ends, effort, told);
    window.why = why_of(scenario, window, ends, effort);
    return window;
}

}  // namespace sim
