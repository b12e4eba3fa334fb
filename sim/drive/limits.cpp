#include "sim/drive/limits.hpp"

#include <algorithm>

#include "sim/plant/machine.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

constexpr Direction both[] = {Direction::to_device, Direction::to_controller};

const ChannelSettings& channel_of(const Scenario& scenario, Direction direction) {
    return direction == Direction::to_device ? scenario.to_device : scenario.to_controller;
}

/// A stream without supervised age has a bound only for a delay that is declared: the channel's longest.
Duration declared_bound(const Scenario& scenario, Direction direction) {
    const proto::LinkSettings& to = scenario.end(receiver(direction)).link;
    const DelayShape& delay = channel_of(scenario, direction).delay;
    return streaming_bound({.longest_delay = longest_of(delay),
                            .shortest_delay = shortest_of(delay),
                            .sender_scan = scenario.end(sender(direction)).link.scan,
                            .receiver = {.watchdog = to.watchdog, .scan = to.scan}});
}

/// Effects that come later than a bound after the injection cannot be told late from it: the fault builds up, or is
/// let through once and strikes again later.
bool builds_up(const Fault& fault, const proto::LinkSettings& link) {
    // In a stream that goes on, old telegrams in place of new ones soon are a late stream in good order; its end is a
    // gap.
    const bool late_stream = fault.way == FaultWay::instead && link.exchange == proto::Exchange::streaming &&
                             link.reaction == proto::Reaction::discard;
    // A condition that lets go and takes hold again does the same.
    const bool comes_again = !fault.at_end && fault.when.comes_and_goes() &&
                             (fault.lasting || fault.when.until || fault.times.value_or(1) > 1);
    return late_stream || comes_again || fault.way == FaultWay::creeping || fault.way == FaultWay::bit_rate ||
           fault.every > 1 || fault.way == FaultWay::old_parameters || fault.way == FaultWay::frozen_data ||
           fault.way == FaultWay::clock_drift || fault.way == FaultWay::drive_does_not_slow;
}

/// A span of the clock at the output's end in true time, when that clock is slowest; rounded up.
Duration by_slowest_clock(const Scenario& scenario, Duration span) {
    constexpr std::int64_t million = 1'000'000;
    std::int64_t slow_ppm = 0;
    for (const Fault& fault : scenario.faults)
        if (fault.way == FaultWay::clock_drift && fault.at_end == output_end(scenario))
            slow_ppm = std::max(slow_ppm, -fault.drift_ppm);
    if (slow_ppm == 0) return span;
    // where a clock drifts, spans are below two hours, so the product fits 64 bits
    return {(span.ns * million + million - slow_ppm - 1) / (million - slow_ppm)};
}

/// How long a fault keeps the output's end from its next scan.
Duration stall_at_output(const Scenario& scenario, const Fault& fault) {
    const bool stalls = fault.way == FaultWay::stall && fault.at_end == output_end(scenario);
    return stalls ? fault.lasting.value_or(scenario.duration) : Duration{};
}

Duration longest_cycle(const Scenario& s) { return std::max(s.controller.link.cycle, s.device.link.scan); }
Duration longest_watchdog(const Scenario& s) { return std::max(s.controller.link.watchdog, s.device.link.watchdog); }

}  // namespace

ScenarioLimits limits_of(const Scenario& scenario) {
    ScenarioLimits found;
    std::array<Duration, 2> bounds{};
    const std::optional<Duration> stated[] = {scenario.required.to_device, scenario.required.to_controller};
    const End output = output_end(scenario);
    const Direction main = output == End::device ? Direction::to_device : Direction::to_controller;
    const bool over_controller = std::any_of(scenario.safeguards.begin(), scenario.safeguards.end(),
                                             [&](const Safeguard& guard) { return guard.at == output; });
    for (const Direction direction : both) {
        const auto i = static_cast<std::size_t>(direction);
        const std::optional<Duration> calculated = bound_of(scenario, direction);
        bounds[i] = calculated.value_or(declared_bound(scenario, direction));
        found.limits.required[i] = stated[i].value_or(bounds[i]);
        if (direction != main) continue;
        found.bound = calculated;
        found.required = stated[i];
        if (!calculated)
            found.remarks.emplace_back(
                "Nothing in this stream measures the age of a value: a bound exists only for the "
                "declared longest delay of the channel.");
        if (!stated[i])
            found.remarks.emplace_back(
                "The scenario states no required response; the calculated bound was used instead, "
                "so a mistyped watchdog would raise its own limit. State [required].");
    }
    // a safeguard read at the output's own end goes over the other end and back
    const auto m = static_cast<std::size_t>(main);
    Duration chain = bounds[m];
    if (over_controller && scenario.controller.link.exchange == proto::Exchange::streaming)
        chain = bounds[0] + bounds[1] + scenario.controller.link.cycle;
    found.limits.demand_required = found.required ? *found.required : chain;
    if (over_controller && found.bound) found.bound = chain;

    found.limits.reduced_speed_counts = reduced_speed_counts(scenario);
    if (scenario.machine)
        for (const MachineReaction& reaction : scenario.machine->reactions) {
            const Duration time = MachineModel::stopping_time(*scenario.machine, reaction.stop);
            found.stopping = std::max(found.stopping.value_or(Duration{}), time);
            const std::int64_t way = MachineModel::stopping_distance(*scenario.machine, reaction.stop);
            found.stopping_um = std::max(found.stopping_um.value_or(0), way);
        }

    // A fault on the way back stops its receiver first; the other end learns of it by the next parameter telegram, or
    // by its own watchdog.
    const Duration told = longest_cycle(scenario) * 2 +
                          std::max(longest_of(scenario.to_device.delay), longest_of(scenario.to_controller.delay));
    Duration link = chain;
    if (scenario.controller.link.exchange == proto::Exchange::streaming) link = std::max(bounds[0], bounds[1]) + told;
    found.reaction = link;
    found.longest_delays = longest_of(scenario.to_device.delay) + longest_of(scenario.to_controller.delay);
    renew_fault_limits(scenario, found);
    return found;
}

void renew_fault_limits(const Scenario& scenario, ScenarioLimits& found) {
    const Duration link = found.reaction;
    found.limits.allowed.clear();
    for (const Fault& fault : scenario.faults) {
        if (builds_up(fault, scenario.end(fault.to_device ? End::device : End::controller).link))
            found.limits.allowed.emplace_back(std::nullopt);
        else
            found.limits.allowed.emplace_back(by_slowest_clock(scenario, link) + stall_at_output(scenario, fault) +
                                              fault.hold + found.stopping.value_or(Duration{}));
    }
    Duration longest_fault{};
    for (const Fault& fault : scenario.faults)
        longest_fault = std::max({longest_fault, fault.hold, fault.way == FaultWay::step ? fault.extra : Duration{}});
    found.limits.settle =
        longest_watchdog(scenario) * 2 + longest_cycle(scenario) * 4 + longest_fault + found.longest_delays;
}

Duration worst_with_end_faults(const Scenario& scenario, Duration bound) {
    Duration stall{};
    for (const Fault& fault : scenario.faults) stall = std::max(stall, stall_at_output(scenario, fault));
    return by_slowest_clock(scenario, bound) + stall;
}

}  // namespace sim
