#pragma once
// Results to format: a usual one, and one with the longest and strangest of everything.
#include <cstdint>
#include <limits>
#include <optional>
#include <string>

#include "sim/judge/result.hpp"
#include "sim/scenario/scenario.hpp"

namespace samples {

struct Rehearsed {
    sim::Scenario scenario;
    sim::RunResult result;
};

inline sim::Fault fault(sim::FaultWay way) {
    sim::Fault f;
    f.way = way;
    f.error = sim::error_of(way);
    return f;
}

/// The veneer press with a corruption that was caught and a delay that was not.
inline Rehearsed usual() {
    Rehearsed r;
    r.scenario.title = "Veneer press, two errors";
    r.scenario.file = "press.toml";
    r.scenario.controller.name = "press controller";
    r.scenario.device.name = "press I/O";
    r.scenario.machine.emplace().name = "press";
    r.scenario.faults = {fault(sim::FaultWay::random_bits), fault(sim::FaultWay::creeping)};
    r.scenario.faults[0].count = 3;
    r.scenario.faults[1].extra = proto::milliseconds(2);

    sim::RunResult& result = r.result;
    result.scenario_title = r.scenario.title;
    result.scenario_file = r.scenario.file;
    result.plant = "veneer press";
    result.seed = 7;
    result.digest = 0x9c1e04b752ade310;
    result.link_started = true;
    result.verdict = sim::RunVerdict::dangerous;
    result.bound = proto::milliseconds(247);
    result.worst_seen = proto::milliseconds(229);

    sim::InjectionResult caught;
    caught.fault = 0;
    caught.at = proto::milliseconds(1000);
    caught.outcome = sim::Outcome::safe_state;
    caught.detected_by = proto::Measure::integrity;
    caught.also_by.add(proto::Measure::sequence);
    caught.detected_end = proto::End::device;
    caught.detect = proto::microseconds(200);
    caught.safe_state_device = proto::microseconds(200);
    caught.safe_state_controller = proto::microseconds(10'200);
    caught.standstill = proto::Duration{134'200'000};
    caught.allowed = proto::milliseconds(235);
    caught.expected = "safe-state, by integrity";
    sim::InjectionResult unseen;
    unseen.fault = 1;
    unseen.error = sim::ErrorKind::delay;
    unseen.direction = sim::Direction::to_controller;
    unseen.at = proto::milliseconds(10'000);
    unseen.outcome = sim::Outcome::dangerous;
    unseen.why = "The controller used guard values older than 124 ms.";
    result.injections = {caught, unseen};
    result.dangerous = {{proto::milliseconds(72'000), 1, "older than 124 ms"}};
    return r;
}

/// Everything as long, as large and as hostile as its type allows.
inline Rehearsed extreme() {
    constexpr proto::Duration longest{std::numeric_limits<std::int64_t>::max()};
    constexpr std::uint64_t most = std::numeric_limits<std::uint64_t>::max();
    const std::string word(300, 'W');
    const std::string hostile = "\x1b[31m" + word + " \xFF\xC3 =1+1 <&\"'> \r\n " + word;
    Rehearsed r = usual();
    r.scenario.title = r.scenario.plant = r.result.scenario_title = r.result.plant = hostile;
    r.scenario.file = r.result.scenario_file = hostile + ".toml";
    r.scenario.controller.name = r.scenario.device.name = hostile;
    r.scenario.machine->name = hostile;
    r.scenario.neighbour.emplace().name = hostile;
    r.scenario.expect_verdict = hostile;
    r.scenario.controller.link.watchdog = r.scenario.controller.link.cycle = longest;
    r.scenario.controller.link.reaction = proto::Reaction::discard;
    r.scenario.controller.link.error_interval = longest;
    r.scenario.faults.clear();
    r.result.injections.clear();
    for (unsigned way = 0; way <= static_cast<unsigned>(sim::FaultWay::loop_back); ++way) {
        sim::Fault f = fault(static_cast<sim::FaultWay>(way));
        f.count = f.length = f.back = std::numeric_limits<unsigned>::max();
        f.rate = 5e-324;
        f.field = sim::TelegramField::sequence;
        f.times = most;
        f.every = most;
        f.lasting = f.hold = f.extra = longest;
        r.scenario.faults.push_back(f);
        sim::InjectionResult i;
        i.fault = way;
        i.error = f.error;
        i.both_ways = true;
        i.at = longest;
        i.telegrams = most;
        i.outcome = static_cast<sim::Outcome>(way % 5);
        i.latent = true;
        i.detected_by = static_cast<proto::Measure>(way % proto::measure_count);
        for (unsigned m = 0; m < proto::measure_count; ++m) i.also_by.add(static_cast<proto::Measure>(m));
        i.owing_to = proto::Measure::different_integrity;
        i.detected_end = proto::End::device;
        i.detect = i.safe_state_controller = i.safe_state_device = i.standstill = i.allowed = longest;
        i.within_limit = i.as_expected = false;
        i.expected = i.why = hostile;
        r.result.injections.push_back(i);
    }
    r.result.injections.push_back({});
    r.result.injections.back().fault = std::numeric_limits<std::size_t>::max() - 1;  // no such fault
    r.result.seed = r.result.digest = r.result.cycles = r.result.exchanges = r.result.spurious_trips = most;
    r.result.stops = r.result.acknowledgements = r.result.twin.cycles = r.result.twin.spurious_trips = most;
    r.result.twin.recovered = r.result.as_expected = false;
    r.result.bound = r.result.required = r.result.stopping = longest;
    r.result.worst_seen = proto::Duration{std::numeric_limits<std::int64_t>::min()};
    r.result.dangerous.assign(100, {longest, std::nullopt, hostile});
    r.result.remarks.assign(3, hostile);
    r.result.controller.refusal = proto::Refusal::watchdog_controller;
    r.result.controller.counters.rejected.fill(most);
    return r;
}

}  // namespace samples
