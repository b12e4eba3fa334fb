#include "sim/timing/response.hpp"

#include <algorithm>
#include <utility>

#include "proto/contract.hpp"
#include "sim/plant/application.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/function_time.hpp"
#include "sim/timing/stopping.hpp"
#include "sim/timing/way_of_demand.hpp"

namespace sim {
namespace {

const Safeguard* safeguard_called(const Scenario& scenario, const std::string& name) {
    const std::size_t place = scenario.place_of(name);
    return place == scenario.safeguards.size() ? nullptr : &scenario.safeguards[place];
}

const Safeguard* safeguard_of(const Scenario& scenario) {
    if (scenario.distance) return safeguard_called(scenario, scenario.distance->safeguard);
    if (!scenario.demands.empty()) return safeguard_called(scenario, scenario.demands.front().safeguard);
    for (const Safeguard& safeguard : scenario.safeguards)
        if (!longest_way(scenario, safeguard.name).empty()) return &safeguard;
    return nullptr;
}

Duration delay_of(const Scenario& scenario, Direction direction) {
    return longest_of(direction == Direction::to_device ? scenario.to_device.delay : scenario.to_controller.delay);
}

Duration scan_of(const Scenario& scenario, End end) { return scenario.end(end).link.scan; }

/// Request, the device's scan, answer, the controller's scan (in the shape of IEC 62541-15, 8.2).
Duration longest_exchange(const Scenario& scenario) {
    return delay_of(scenario, Direction::to_device) + scan_of(scenario, End::device) +
           delay_of(scenario, Direction::to_controller) + scan_of(scenario, End::controller);
}

ResponsePart polled_link(const Scenario& scenario, std::span<const Direction> hops) {
    const Direction last = hops.back();
    const proto::LinkSettings& consumer = scenario.end(receiver(last)).link;
    ResponsePart part;
    part.name = "link";
    // A value sampled just after a telegram was made waits for one exchange; then each way costs its delay and a scan.
    part.delay = longest_exchange(scenario);
    for (const Direction hop : hops)
        part.delay = part.delay + delay_of(scenario, hop) + scan_of(scenario, receiver(hop));
    // What is sampled at an end with the acceptance of one exchange is in use at the same end until the one after the
    // next, or the watchdog: two watchdogs. A way to the other end and back is inside them, since the answer supervises
    // both; each further there and back adds one exchange, that is one more watchdog.
    const std::int64_t watchdogs = 2 + static_cast<std::int64_t>(hops.size() - 1) / 2;
    part.with_fault = consumer.watchdog * watchdogs + consumer.scan;
    const std::string name = scenario.end(receiver(last)).name;
    part.source = std::to_string(watchdogs) + " * " + written(consumer.watchdog) + " (watchdog of " + name + ") + " +
                  written(consumer.scan) + " (its scan); without a fault the longest exchange, " +
                  written(longest_exchange(scenario)) + ", and " +
                  (hops.size() == 1 ? "one way" : "the way there and back") + " with its scans";
    if (part.delay > part.with_fault) {
        part.delay = part.with_fault;
        part.source += ", cut off by the watchdog, which is too short for it";
    }
    return part;
}

/// Nothing if a way has no bound.
std::optional<ResponsePart> streaming_link(const Scenario& scenario, std::span<const Direction> hops) {
    ResponsePart part;
    part.name = "link";
    for (std::size_t i = 0; i < hops.size(); ++i) {
        const std::optional<Duration> bound = bound_of(scenario, hops[i]);
        if (!bound) return std::nullopt;
        const Duration between = i == 0 ? Duration{} : scenario.controller.link.cycle;
        part.delay = part.delay + scan_of(scenario, sender(hops[i])) + delay_of(scenario, hops[i]) +
                     scan_of(scenario, receiver(hops[i]));
        // One episode may strike both ways of one link, so that both bounds count.
        part.with_fault = part.with_fault + *bound + between;
        const proto::LinkSettings& consumer = scenario.end(receiver(hops[i])).link;
        if (!part.source.empty()) part.source += "; then ";
        part.source += written(*bound) + " at " + scenario.end(receiver(hops[i])).name + ": ";
        if (consumer.exchange == proto::Exchange::polled)  // the ends disagree
            part.source += "polled, as typed there";
        else if (consumer.profile.time_stamp_bits != 0)
            part.source += "age by time stamp";
        else if (consumer.max_lag)
            part.source += "age by the number fed back";
        else
            part.source += "declared delay of " + written(*scenario.declared_delay);
        part.source += ", watchdog " + written(consumer.watchdog) + ", scans";
    }
    part.delay = std::min(part.delay, part.with_fault);
    return part;
}

void add_outside(const Scenario& scenario, OutsidePart::Place place, const Safeguard* safeguard,
                 std::vector<ResponsePart>& parts) {
    for (const OutsidePart& part : scenario.outside_parts)
        if (part.at == place && is_on_way_of(part, safeguard != nullptr ? safeguard->name : ""))
            parts.push_back({part.name, part.delay, part.with_fault, part.source, part.segment});
}

/// The first link on the safeguard's way, other than this one, of which nothing limits the delay.
const OutsidePart* without_bound(const Scenario& scenario, const Safeguard* safeguard) {
    for (const OutsidePart& part : scenario.outside_parts)
        if (part.no_bound && is_on_way_of(part, safeguard != nullptr ? safeguard->name : "")) return &part;
    return nullptr;
}

bool crosses_links(const std::vector<ResponsePart>& parts) {
    return std::count_if(parts.begin(), parts.end(), [](const ResponsePart& part) { return part.segment != 0; }) > 1;
}

ResponsePart scan_part(const Scenario& scenario, End end) {
    return {.name = end == End::controller ? "controller scan" : "device scan",
            .source = "its " + written(scan_of(scenario, end)) +
                      " are in the link's part: it takes in, computes and sends in one scan"};
}

void add_parts(const Scenario& scenario, const Safeguard* safeguard, std::span<const Direction> hops,
               ResponseTime& found) {
    const Duration sensor = safeguard != nullptr ? safeguard->delay : Duration{};
    found.parts.push_back({.name = "sensor",
                           .delay = sensor,
                           .with_fault = sensor,
                           .source = safeguard != nullptr ? "delay of " + safeguard->name : "no safeguard"});
    add_outside(scenario, OutsidePart::Place::before_link, safeguard, found.parts);
    found.parts.push_back(scan_part(scenario, sender(hops.front())));
    const std::optional<ResponsePart> link = part_of_link(scenario, hops);
    if (link) found.parts.push_back(*link);
    const End other = sender(hops.front()) == End::controller ? End::device : End::controller;
    found.parts.push_back(scan_part(scenario, other));
    add_outside(scenario, OutsidePart::Place::after_link, safeguard, found.parts);
    if (found.off_delay != Duration{})
        found.parts.push_back({.name = "off delay",
                               .delay = found.off_delay,
                               .with_fault = found.off_delay,
                               .source = "signals on its way that fall only after their off_delay"});
    found.parts.push_back({.name = "drive", .source = "its time is in the stopping time, from the output command on"});
    if (const OutsidePart* part = without_bound(scenario, safeguard)) {
        found.cautions.push_back(
            "Nothing in the stream of " + part->name +
            " measures the age of a value, so its delay has no bound. State the largest delay as "
            "one_way_delay in its [link.limit], or write a profile with feedback or a time stamp.");
    } else if (link) {
        found.response = added_up(found.parts);
        if (crosses_links(found.parts)) found.apart = added_up_apart(found.parts);
    } else {
        found.cautions.emplace_back(
            "Nothing in this stream measures the age of a value, so its delay has no bound. State the largest delay as "
            "one_way_delay in [limit], or write a profile with feedback or a time stamp.");
    }
}

std::optional<Duration> required_of_link(const Scenario& scenario) {
    return output_end(scenario) == End::device ? scenario.required.to_device : scenario.required.to_controller;
}

const ResponsePart* link_part(const ResponseTime& response) {
    for (const ResponsePart& part : response.parts)
        if (part.name == "link") return &part;
    return nullptr;
}

/// The longest overall time for the distance at hand; nothing if none is stated.
std::optional<Duration> overall_for_distance(const Scenario& scenario) {
    if (!scenario.distance || !scenario.distance->there_um) return std::nullopt;
    return longest_overall(scenario.distance->how, micrometres(*scenario.distance->there_um));
}

}  // namespace

Duration added_up(std::span<const ResponsePart> parts) {
    Duration sum{}, excess{};
    for (const ResponsePart& part : parts) {
        sum = sum + part.delay;
        Duration together = part.with_fault - part.delay;
        for (const ResponsePart& other : parts)
            if (&other != &part && part.segment != 0 && other.segment == part.segment)
                together = together + (other.with_fault - other.delay);
        excess = std::max(excess, together);
    }
    return sum + excess;
}

Duration added_up_apart(std::span<const ResponsePart> parts) {
    std::vector<ResponsePart> apart(parts.begin(), parts.end());
    for (ResponsePart& part : apart) part.segment = 0;
    return added_up(apart);
}

std::optional<ResponsePart> part_of_link(const Scenario& scenario, std::span<const Direction> hops) {
    const bool polled = scenario.controller.link.exchange == proto::Exchange::polled;
    std::optional<ResponsePart> part =
        polled ? std::optional(polled_link(scenario, hops)) : streaming_link(scenario, hops);
    if (part) part->segment = scenario.segment;
    return part;
}

std::vector<Direction> hops_of(const Scenario& scenario, const std::string& safeguard) {
    std::vector<Direction> hops;
    for (const std::size_t signal : longest_way(scenario, safeguard))
        if (!scenario.signals[signal].elsewhere) hops.push_back(scenario.signals[signal].direction);
    return hops;
}

namespace {

/// Of all the functions of that safeguard, which [stopping] stands in for where there is none.
ReducedSpeedEnds reduced_speed_of(const Scenario& scenario, const std::string& safeguard) {
    ReducedSpeedEnds ends{.by_guard = reduced_speed_monitored(scenario) && scenario.stopping.reduced_speed_ends_hazard,
                          .by_failure = reduced_speed_counts(scenario)};
    bool asked = false;
    for (const SafetyFunction& function : scenario.functions) {
        const auto& guards = function.safeguards;
        if (std::find(guards.begin(), guards.end(), safeguard) == guards.end()) continue;
        const bool counts = reduced_speed_counts(scenario, function);
        ends.by_guard = asked ? ends.by_guard && counts : counts;
        asked = true;
    }
    return ends;
}

ResponseTime response_by(const Scenario& scenario, const Safeguard* safeguard) {
    ResponseTime found;
    std::vector<std::size_t> path;
    if (safeguard != nullptr) path = longest_way(scenario, safeguard->name);
    std::vector<Direction> hops;
    for (const std::size_t signal : path) {
        if (!scenario.signals[signal].elsewhere) hops.push_back(scenario.signals[signal].direction);
        found.path.push_back(scenario.signals[signal].name);
        found.off_delay = found.off_delay + scenario.signals[signal].off_delay;
    }
    if (hops.empty()) {
        found.cautions.push_back(safeguard == nullptr
                                     ? std::string("No safeguard reaches the output: only the link is added up.")
                                     : safeguard->name + " does not reach the output: only the link is added up.");
        hops.push_back(output_end(scenario) == End::device ? Direction::to_device : Direction::to_controller);
        if (scenario.distance) found.no_way = true;
    } else {
        found.safeguard = safeguard->name;
    }
    add_parts(scenario, safeguard, hops, found);
    if (found.no_way) found.response = std::nullopt;
    if (scenario.machine) {
        StoppingTime stop = stop_for(scenario, found.safeguard);
        found.stops = std::move(stop.parts);
        found.stopping = stop.time;
        for (std::string& caution : stop.cautions) found.cautions.push_back(std::move(caution));
    } else {
        found.cautions.emplace_back("There is no machine in this scenario: nothing is known about its stop.");
    }
    found.cautions.emplace_back(
        "Tolerance of the clocks and jitter of the scans are not in the link's part: where they count, add a "
        "[[part]].");
    if (found.response && found.stopping) found.overall = *found.response + *found.stopping;
    return found;
}

}  // namespace

ResponseTime response_of(const Scenario& scenario) { return response_by(scenario, safeguard_of(scenario)); }

ResponseTime response_of(const Scenario& scenario, const std::string& safeguard) {
    const Safeguard* found = safeguard_called(scenario, safeguard);
    proto::require(found != nullptr, "the response of no safeguard");
    return response_by(scenario, found);
}

StoppingTime stop_for(const Scenario& scenario, const std::string& safeguard, std::optional<std::int64_t> from_um_s) {
    const std::uint64_t by_guard = safeguard.empty() ? ~std::uint64_t{0} : stopping_signals(scenario, safeguard);
    return stopping_of(scenario, by_guard, reduced_speed_of(scenario, safeguard), from_um_s);
}

std::optional<Distance> distance_of(const Scenario& scenario, const ResponseTime& response) {
    if (!scenario.distance || !response.overall || *response.overall > overall_most) return std::nullopt;
    return needed_distance(scenario.distance->how, *response.overall);
}

Scenario with_watchdog(const Scenario& scenario, Duration watchdog) {
    Scenario changed = scenario;
    for (TypedEnd* end : {&changed.controller, &changed.device})
        end->link.watchdog = end->link.peer_watchdog = watchdog;
    return changed;
}

std::optional<Duration> longest_watchdog_with(const Scenario& scenario,
                                              const std::function<bool(const Scenario&)>& holds) {
    Scenario copy = scenario;
    copy.faults.clear();  // no part of it, and there may be thousands
    const auto with = [&](std::int64_t us) {
        copy.controller.link.watchdog = copy.controller.link.peer_watchdog = proto::microseconds(us);
        copy.device.link.watchdog = copy.device.link.peer_watchdog = proto::microseconds(us);
        return holds(copy);
    };
    std::int64_t low = std::max(scenario.controller.link.cycle.ns, scenario.device.link.cycle.ns) / 1000 + 1;
    std::int64_t high = proto::seconds(3600).ns / 1000;
    if (!with(low)) return std::nullopt;
    if (with(high)) return proto::microseconds(high);
    while (high - low > 1) {
        const std::int64_t middle = low + (high - low) / 2;
        (with(middle) ? low : high) = middle;
    }
    return proto::microseconds(low);
}

std::optional<Duration> LongestWatchdog::longest() const {
    std::optional<Duration> least;
    if (none) return least;
    for (const std::optional<Duration>& by : {by_distance, by_overall, by_link, by_function})
        if (by && (!least || *by < *least)) least = by;
    return least;
}

LongestWatchdog longest_watchdog(const Scenario& scenario) {
    LongestWatchdog found = longest_watchdog_by_tables(scenario);
    for (std::size_t i = 0; i < scenario.functions.size() && !found.none; ++i) {
        if (!has_limit(scenario, scenario.functions[i])) continue;
        const std::optional<Duration> longest = longest_watchdog_for(scenario, i);
        found.none = !longest;
        if (longest && found.by_function && *found.by_function <= *longest) continue;
        found.by_function = longest;
        found.function = i;
    }
    return found;
}

LongestWatchdog longest_watchdog_by_tables(const Scenario& scenario) {
    LongestWatchdog found;
    const auto overall_within = [&](Duration most) {
        return longest_watchdog_with(scenario, [&](const Scenario& s) {
            const ResponseTime response = response_of(s);
            return response.overall && *response.overall <= most;
        });
    };
    if (scenario.distance && scenario.distance->there_um) {
        if (const auto most = overall_for_distance(scenario)) found.by_distance = overall_within(*most);
        found.none = found.none || !found.by_distance;
    }
    if (scenario.required.overall) {
        found.by_overall = overall_within(*scenario.required.overall);
        found.none = found.none || !found.by_overall;
    }
    if (const auto most = required_of_link(scenario)) {
        found.by_link = longest_watchdog_with(scenario, [&](const Scenario& s) {
            const ResponseTime response = response_of(s);
            const ResponsePart* link = link_part(response);
            return link != nullptr && link->with_fault <= *most;
        });
        found.none = found.none || !found.by_link;
    }
    return found;
}

Kept requirements_kept(const Scenario& scenario, const ResponseTime& response) {
    Kept kept = tables_kept(scenario, response);
    if (!kept.kept || scenario.functions.empty()) return kept;
    const std::vector<FunctionTime> times = function_times(scenario);
    const FunctionTime* decides = tightest(times);
    if (decides == nullptr || decides->kept) return kept;
    return {false, "\"" + scenario.functions[decides->function].name + "\": " + decides->why};
}

Kept tables_kept(const Scenario& scenario, const ResponseTime& response) {
    const auto not_kept = [](std::string why) { return Kept{false, std::move(why)}; };
    const bool wants_overall = (scenario.distance && scenario.distance->there_um) || scenario.required.overall;
    if (wants_overall && !response.overall) {
        return not_kept(!response.response ? "the response has no bound"
                                           : "the machine's stop may not be counted, so there is no overall time");
    }
    if (scenario.distance && scenario.distance->there_um) {
        const std::optional<Distance> distance = distance_of(scenario, response);
        if (!distance) return not_kept("the overall time is over an hour");
        const Length there = micrometres(*scenario.distance->there_um);
        if (distance->needed > there) {
            return not_kept(std::to_string(whole_mm_up(distance->needed)) + " mm are needed, " + written(there) +
                            " are there");
        }
    }
    if (scenario.required.overall && *response.overall > *scenario.required.overall) {
        return not_kept("overall " + written(*response.overall) + ", required " + written(*scenario.required.overall));
    }
    if (const auto most = required_of_link(scenario)) {
        const ResponsePart* link = link_part(response);
        if (link == nullptr) return not_kept("the link has no bound, " + written(*most) + " are required of it");
        if (link->with_fault > *most)
            return not_kept("the link takes " + written(link->with_fault) + ", required " + written(*most));
    }
    return {};
}

}  // namespace sim
