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

inline sim::Safeguard guard(const std::string& name, proto::Duration delay) {
    sim::Safeguard one;
    one.name = name;
    one.delay = delay;
    return one;
}

inline sim::SafetyFunction function(const std::string& name, const std::string& guard, sim::StopCategory must) {
    sim::SafetyFunction one;
    one.name = name;
    one.safeguards = {guard};
    one.must.push_back({"rollers", must, proto::milliseconds(600), {}});
    return one;
}

inline sim::Scenario debarker() {
    using proto::milliseconds;
    sim::Scenario s;
    s.title = "Log debarker";
    s.file = "debarker.toml";
    s.controller.name = "yard controller";
    s.device.name = "debarker drive";
    s.machine.emplace().name = "rollers";
    s.machine->speed_um_s = 900'000;
    s.machine->reduced_speed_um_s = 120'000;
    s.safeguards = {guard("flap", milliseconds(4)), guard("pull_cord", milliseconds(10)),
                    guard("mat", milliseconds(20)), guard("pit_door", milliseconds(4)),
                    guard("hatch", milliseconds(2))};
    s.signals.resize(2);
    s.signals[0].name = "guards_closed";
    s.signals[1].name = "mat_free";
    s.functions = {function("opening the flap stops the rollers", "flap", sim::StopCategory::category_0),
                   function("pulling the cord stops the rollers", "pull_cord", sim::StopCategory::category_2),
                   function("stepping on the mat slows the rollers", "mat", sim::StopCategory::reduced_speed),
                   function("opening the pit door stops the rollers", "pit_door", sim::StopCategory::category_0)};
    s.functions[0].level = sim::FunctionLevel{sim::FunctionLevel::Scale::pl, 4};
    return s;
}

/// A log debarker: the flap keeps its function, the cord comes too late, the mat slows, the pit door shows nothing
/// since the rollers stood, and nothing obeys the hatch, long after which the rollers stop for another reason.
inline Rehearsed guarded() {
    using proto::milliseconds;
    Rehearsed r;
    sim::Scenario& s = r.scenario;
    s = debarker();
    sim::RunResult& result = r.result;
    result.scenario_title = s.title;
    result.scenario_file = s.file;
    result.link_started = result.machine_started = true;
    result.stopping = milliseconds(320);
    const auto demanded = [&](std::size_t guard, std::int64_t at_ms) -> sim::DemandResult& {
        s.demands.push_back({});
        s.demands.back().safeguard = s.safeguards[guard].name;
        sim::DemandResult demand{};
        demand.demand = s.demands.size() - 1;
        demand.at = milliseconds(at_ms);
        demand.link_ran = demand.moved = true;
        result.demands.push_back(demand);
        return result.demands.back();
    };
    sim::DemandResult& flap = demanded(0, 2004);
    flap.command = milliseconds(9);
    flap.reduced = milliseconds(289);
    flap.standstill = milliseconds(329);
    flap.travelled_um = 161'100;
    flap.hops = {{0, milliseconds(6), milliseconds(7), milliseconds(9), false}};
    sim::DemandResult& cord = demanded(1, 8010);
    cord.command = milliseconds(3);
    cord.reduced = milliseconds(543);
    cord.standstill = milliseconds(623);
    cord.travelled_um = 290'700;
    sim::DemandResult& mat = demanded(2, 9020);
    mat.command = milliseconds(3);
    mat.reduced = milliseconds(548);
    mat.hops = {{1, milliseconds(1), milliseconds(2), milliseconds(3), false}};
    sim::DemandResult& door = demanded(3, 10'204);
    door.moved = false;
    door.hops = {{0, milliseconds(6), milliseconds(6), std::nullopt, true}};
    sim::DemandResult& hatch = demanded(4, 12'002);
    hatch.reaches_output = false;
    hatch.reduced = milliseconds(2301);
    hatch.standstill = milliseconds(2361);
    hatch.travelled_um = 1'989'900;
    const auto judged = [&](std::size_t which, sim::Met met, std::optional<proto::Duration> took, std::string why) {
        result.function_rows.push_back({which, which, 0, met, took, milliseconds(596), std::move(why)});
        result.functions.push_back({which, met, took, milliseconds(600), {}, result.function_rows.back().why});
    };
    judged(0, sim::Met::yes, milliseconds(329), "");
    judged(1, sim::Met::no, milliseconds(623), "told by another part of the program");
    judged(2, sim::Met::yes, milliseconds(548), "");
    judged(3, sim::Met::not_shown, std::nullopt, "the rollers stood already");
    result.verdict = sim::RunVerdict::dangerous;
    result.dangerous = {{milliseconds(8010), std::nullopt, "the cord came too late"},
                        {milliseconds(9000), std::nullopt, "an old value was used"}};
    return r;
}

/// Guards and functions of whose demands the scenario does not know all, each with that name.
inline void extreme_guards(Rehearsed& r, const std::string& hostile) {
    constexpr proto::Duration longest{std::numeric_limits<std::int64_t>::max()};
    r.scenario.safeguards = {guard(hostile, longest), guard("guard", longest)};
    r.scenario.signals.resize(1);
    r.scenario.signals[0].name = hostile;
    r.scenario.functions = {function(hostile, hostile, sim::StopCategory::category_0)};
    r.scenario.demands.resize(1);
    r.scenario.demands[0].safeguard = hostile;
    for (unsigned met = 0; met < 3; ++met) {
        sim::DemandResult demand{};
        demand.demand = met;  // of two of them the scenario knows nothing
        demand.at = longest;
        demand.reaches_output = met != 1;
        demand.command = demand.reduced = demand.standstill = longest;
        demand.hops.assign(3, {met, longest, longest, longest, met == 2});
        r.result.demands.push_back(demand);
        r.result.function_rows.push_back({met, met, met, static_cast<sim::Met>(met), longest, longest, hostile});
        r.result.functions.push_back({met, static_cast<sim::Met>(met), longest, longest, {hostile}, hostile});
    }
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
    extreme_guards(r, hostile);
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
