#include "sim/odds/window_openers.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "sim/numeric/portable_math.hpp"
#include "sim/odds/odds_words.hpp"
#include "sim/odds/polled_chain.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/function_time.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

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

double ten_to_the(double power) {
    constexpr double ln10 = 0x1.26bb1bbb55516p+1;
    return portable_exp(power * ln10);
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
        const Duration at = longest.longest().value_or(changed.controller.link.cycle * window_cycles_tried);
        if (at <= changed.controller.link.cycle) return false;
        return OddsByWatchdog(changed, effort).at(at).at_most(changed.trip_limit.per_year);
    };
    double good = -12.0, bad = 0.0;  // as powers of ten
    if (!opens(ten_to_the(good))) return std::nullopt;
    constexpr double fine = 0.005;
    while (bad - good > fine) {
        const double middle = (good + bad) / 2;
        (opens(ten_to_the(middle)) ? good : bad) = middle;
    }
    return ten_to_the(good);
}

double mean_loss(const ChannelSettings& way) {
    if (!way.bursts) return way.loss;
    const BurstLoss& b = *way.bursts;
    const double sum = b.good_to_bad + b.bad_to_good;
    return sum > 0.0 ? (b.bad_to_good * b.in_good + b.good_to_bad * b.in_bad) / sum : b.in_good;
}

std::string ms(Duration time) { return written(time); }

void open_by_distance(const Scenario& whole, const WindowEnds& ends, std::vector<Opener>& openers) {
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
        const WindowEnds ends = ends_tried(changed, effort);
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
    const WindowEnds ends = ends_tried(changed, effort);
    if (!ends.open()) return;
    openers.push_back({"exchange", std::string(polled ? "streaming, up to 3 numbers missing" : "polled") + ": then " +
                                       ms(*ends.lowest) + (ends.highest ? " to " + ms(*ends.highest) : " and more")});
}

void open_by_reaction(const Scenario& scenario, const OddsEffort& effort, std::vector<Opener>& openers) {
    if (scenario.controller.link.reaction == proto::Reaction::discard) return;
    if (!(scenario.to_device.bit_error_rate > 0.0) && !(scenario.to_controller.bit_error_rate > 0.0)) return;
    Scenario changed = scenario;
    for (TypedEnd* end : {&changed.controller, &changed.device}) end->link.reaction = proto::Reaction::discard;
    const WindowEnds ends = ends_tried(changed, effort);
    if (ends.open())
        openers.push_back({"reaction", "discard (now trip), the second error within " +
                                           ms(scenario.controller.link.error_interval) + " stops: then from " +
                                           ms(*ends.lowest)});
}

}  // namespace

std::vector<Opener> openers_of(const Scenario& scenario, const WindowEnds& ends, const OddsEffort& effort,
                               const std::function<void(const std::string&)>& told) {
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

Scenario deciding_at(const Scenario& scenario, Duration watchdog) {
    Scenario at = with_watchdog(scenario, watchdog);
    at.faults.clear();
    const std::vector<FunctionTime> times = function_times(at);
    const FunctionTime* decides = tightest(times);
    return decides != nullptr ? seen_by(at, *decides) : at;
}

}  // namespace sim
