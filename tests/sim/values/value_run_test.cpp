// Values in a rehearsal: what is meant, what is used, and what a run calls it.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "sim/drive/rehearsal.hpp"
#include "sim/judge/time_line.hpp"
#include "tests/support/scenarios.hpp"
#include "tests/support/slow_values.hpp"

namespace {

using proto::End;
using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using sim::FaultWay;
using sim::RunResult;
using sim::RunVerdict;
using sim::Scenario;
using sim::TypedValue;
using sim::ValueOrder;
using sim::ValueSource;
using sim::ValueType;

const TypedValue as_typed{ValueType::u16, 2, ValueOrder::high_first, 1'000, {}};

Scenario with_speed() {
    Scenario s = tests::polled_link();
    sim::SafeValue value = tests::speed_value("allowed_speed");
    value.high = 65'535'000;
    tests::add_value(s, value, as_typed);
    return s;
}

TypedValue& at_device(Scenario& s) { return s.values.typed[1].front(); }

void set_steps(Scenario& s, std::vector<ValueSource::Step> steps) {
    s.values.all.front().source = {ValueSource::Kind::over_time, std::move(steps)};
}

bool says(const RunResult& result, const std::string& words) {
    return std::any_of(result.dangerous.begin(), result.dangerous.end(),
                       [&](const sim::DangerousEvent& event) { return event.why.find(words) != std::string::npos; });
}

TEST_CASE("a value that both ends have alike is used as it is meant") {
    const RunResult result = sim::rehearse(with_speed(), 1);
    CHECK(result.verdict == RunVerdict::pass);
    REQUIRE(result.values.size() == 1);
    CHECK(result.values[0].lowest == 100'000);
    CHECK(result.values[0].highest == 100'000);
    CHECK(result.values[0].out_of_range == 0);
    CHECK(result.values[0].substitutes == 0);
}

TEST_CASE("R-85: a value that is read as another than was meant is dangerous, whatever makes it so") {
    Scenario order = with_speed();
    at_device(order).order = ValueOrder::low_first;
    RunResult result = sim::rehearse(order, 1);
    CHECK(result.verdict == RunVerdict::dangerous);
    CHECK(
        says(result,
             "at table I/O a value does not mean what it means at its source: allowed_speed, 25600 mm/s instead of 100 "
             "mm/s"));
    CHECK(result.dangerous.size() == 1);  // it is told once, not in every telegram

    Scenario scale = with_speed();
    at_device(scale).scale = 100;
    CHECK(says(sim::rehearse(scale, 1), "allowed_speed, 10 mm/s instead of 100 mm/s"));

    Scenario place = with_speed();
    sim::SafeValue second = tests::speed_value("second_speed");
    second.high = 65'535'000;
    second.source.steps = {{{}, 7'000}};
    tests::add_value(place, second, {ValueType::u16, 4, ValueOrder::high_first, 1'000, {}});
    std::swap(place.values.typed[1][0].at, place.values.typed[1][1].at);
    CHECK(says(sim::rehearse(place, 1),
               "allowed_speed, 7 mm/s instead of 100 mm/s, second_speed, 100 mm/s instead of 7 mm/s"));

    Scenario type = with_speed();
    type.values.all.front().low = -65'535'000;
    type.values.all.front().source.steps = {{{}, 40'000'000}};
    at_device(type).type = ValueType::i16;
    CHECK(says(sim::rehearse(type, 1), "allowed_speed, -25536 mm/s instead of 40000 mm/s"));
}

TEST_CASE("what is read out of range is replaced: safe, but no pass") {
    Scenario s = with_speed();
    s.values.all.front().high = 250'000;
    at_device(s).order = ValueOrder::low_first;
    const RunResult result = sim::rehearse(s, 1);
    CHECK(result.dangerous.empty());
    CHECK(result.verdict == RunVerdict::fail);
    CHECK(result.values[0].out_of_range > 100);
    CHECK(!result.values[0].highest.has_value());
    CHECK(result.remarks.back().starts_with("allowed_speed was read out of its range at table I/O"));
}

TEST_CASE("R-84: a change towards safe is timed from its moment to its use") {
    Scenario s = with_speed();
    set_steps(s, {{{}, 100'000}, {milliseconds(1001), 25'000}, {milliseconds(1500), 90'000}});
    const RunResult result = sim::rehearse(s, 1);
    CHECK(result.verdict == RunVerdict::pass);
    CHECK(result.values[0].lowest == 25'000);
    CHECK(result.values[0].towards_safe == 1);  // up again is no demand
    REQUIRE(result.values[0].slowest.has_value());
    // the controller scans at 1010 ms, one way takes 1 ms, the device scans at 1013 ms
    CHECK(*result.values[0].slowest == milliseconds(12));
}

TEST_CASE("R-84: a change towards safe that an end does not take over in time is dangerous") {
    Scenario s = with_speed();
    set_steps(s, {{{}, 100'000}, {milliseconds(1200), 25'000}});
    sim::Fault frozen = tests::fault_of(FaultWay::frozen_data, seconds(1));
    frozen.at_end = End::device;
    s.faults = {frozen};
    const RunResult result = sim::rehearse(s, 1);
    CHECK(result.verdict == RunVerdict::dangerous);
    CHECK(says(result, "at table I/O allowed_speed had not come to 25 mm/s after 200.000 ms"));
    CHECK(says(result, "allowed_speed, 100 mm/s instead of 25 mm/s"));
    // without the change the held value is the true one, and later as well as before
    set_steps(s, {{{}, 100'000}});
    CHECK(!says(sim::rehearse(s, 1), "allowed_speed"));
    set_steps(s, {{{}, 25'000}, {milliseconds(1200), 100'000}});
    CHECK(!says(sim::rehearse(s, 1), "allowed_speed"));
}

TEST_CASE("R-85: a sender whose values stand still behind a living link means another value than it sends") {
    Scenario s = with_speed();
    set_steps(s, {{{}, 100'000}, {milliseconds(1200), 25'000}});
    sim::Fault frozen = tests::fault_of(FaultWay::frozen_data, seconds(1));
    frozen.at_end = End::controller;
    s.faults = {frozen};
    CHECK(says(sim::rehearse(s, 1), "allowed_speed, 100 mm/s instead of 25 mm/s"));
    set_steps(s, {{{}, 25'000}, {milliseconds(1200), 100'000}});
    CHECK(!says(sim::rehearse(s, 1), "allowed_speed"));
}

TEST_CASE("a value alone, without any signal at 1, grows too old as a signal does") {
    Scenario s = with_speed();
    s.required.to_device = milliseconds(30);
    s.signals.clear();
    s.machine.reset();
    s.operator_acts.pop_back();
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->bits.clear();
    s.faults = {tests::lasting(tests::fault_of(FaultWay::drop), milliseconds(100))};
    CHECK(says(sim::rehearse(s, 1), "used a value that was"));
    s.values.all.front().source.steps = {{{}, 0}};  // as its substitute: permits nothing, at any age
    CHECK(sim::rehearse(s, 1).dangerous.empty());
}

TEST_CASE("R-64: a link that stops uses the substitute, at either safe end, and the zeros of a start are no values") {
    for (const sim::SafeEnd safe : {sim::SafeEnd::low, sim::SafeEnd::high}) {
        Scenario s = with_speed();
        s.values.all.front().safe = safe;
        s.faults = {tests::lasting(tests::on(tests::fault_of(FaultWay::drop), tests::Ways::both), milliseconds(200))};
        sim::TimeLine line(s);
        const RunResult result = sim::rehearse(s, 1, {.line = &line});
        CHECK(result.verdict == RunVerdict::pass);
        const auto& used = line.values_used(End::device);
        REQUIRE(used.size() >= 3);
        for (std::size_t i = 0; i < used.size(); ++i) {
            const std::int64_t is = used[i].values.is[0];
            CHECK(is == (used[i].values.is_substitute(0) ? s.values.all.front().substitute() : 100'000));
        }
        // replaced first, then meant, then replaced by the stop, then meant again
        std::string order;
        for (const auto& change : used) order += change.values.is_substitute(0) ? 's' : 'v';
        CHECK(order == "svsv");
    }
}

TEST_CASE("what the machine does is told as it is scanned: its state, and its speed") {
    Scenario s = tests::polled_link();
    s.machine->at = End::device;
    sim::SafeValue state = tests::speed_value("state"), speed = tests::speed_value("speed");
    state.direction = speed.direction = sim::Direction::to_controller;
    state.safe = speed.safe = sim::SafeEnd::high;
    state.source = {ValueSource::Kind::machine_state, {}, 100'000, 200'000, 300'000};
    speed.source = {ValueSource::Kind::machine_speed, {}};
    tests::add_value(s, state, {ValueType::u16, 2, ValueOrder::high_first, 100, {}});
    tests::add_value(s, speed, {ValueType::u16, 4, ValueOrder::low_first, 100, {}});
    s.demands = {tests::demand_of("rope_pull", seconds(1))};
    sim::TimeLine line(s);
    const RunResult result = sim::rehearse(s, 1, {.line = &line});
    CHECK(result.dangerous.empty());
    CHECK(result.verdict == RunVerdict::pass);
    CHECK(result.values[0].lowest == 100'000);
    CHECK(result.values[0].highest == 300'000);
    CHECK(result.values[1].lowest == 0);
    CHECK(result.values[1].highest == 250'000);
    CHECK(line.values_meant(End::device).size() > 10);  // all the way down
    CHECK(line.values_used(End::controller).size() > 10);
}

// ---- the machine's reduced speed ----

/// The rope pull slows the table down, to 50 mm/s as typed, to what the value says if that is less.
Scenario slowed_by_value(std::vector<ValueSource::Step> steps) {
    Scenario s = with_speed();
    set_steps(s, std::move(steps));
    s.machine->reduced_speed_um_s = 50'000;
    s.machine->reactions = {{"tilting_allowed", sim::StopCategory::reduced_speed, {}}};
    s.machine->reduced_speed_from = "allowed_speed";
    s.demands = {tests::demand_of("rope_pull", milliseconds(700))};
    s.demands[0].lasting = seconds(1);
    return s;
}

std::int64_t speed_at(const sim::TimeLine& line, proto::Duration at) {
    std::int64_t speed = 0;
    for (const sim::TimeLine::Corner& corner : line.speed())
        if (corner.at <= Instant{} + at) speed = corner.um_s;
    return speed;
}

TEST_CASE("a value lowers the reduced speed of the machine and never raises it") {
    struct Case {
        std::int64_t said, runs_at;
    };
    for (const Case& each : {Case{30'000, 30'000}, {50'000, 50'000}, {80'000, 50'000}, {0, 0}}) {
        CAPTURE(each.said);
        const Scenario s = slowed_by_value({{{}, each.said}});
        sim::TimeLine line(s);
        const RunResult result = sim::rehearse(s, 1, {.line = &line});
        CHECK(result.dangerous.empty());
        CHECK(speed_at(line, milliseconds(600)) == 250'000);
        CHECK(speed_at(line, milliseconds(1500)) == each.runs_at);
    }
}

TEST_CASE("a reduced speed follows its value, down and up again, but no further than typed") {
    const Scenario s = slowed_by_value(
        {{{}, 30'000}, {milliseconds(1000), 12'000}, {milliseconds(1200), 40'000}, {milliseconds(1400), 200'000}});
    sim::TimeLine line(s);
    CHECK(sim::rehearse(s, 1, {.line = &line}).dangerous.empty());
    CHECK(speed_at(line, milliseconds(990)) == 30'000);
    CHECK(speed_at(line, milliseconds(1190)) == 12'000);
    CHECK(speed_at(line, milliseconds(1390)) == 40'000);
    CHECK(speed_at(line, milliseconds(1590)) == 50'000);
}

TEST_CASE("a value out of range, or of a link that stopped, lets the machine come down to the substitute") {
    Scenario s = slowed_by_value({{{}, 30'000}});
    s.values.all.front().low = 5'000;  // and so the substitute
    s.values.all.front().high = 250'000;
    at_device(s).order = ValueOrder::low_first;  // 7680 mm/s
    sim::TimeLine wrong(s);
    CHECK(sim::rehearse(s, 1, {.line = &wrong}).verdict == RunVerdict::fail);
    CHECK(speed_at(wrong, milliseconds(1500)) == 5'000);

    at_device(s).order = ValueOrder::high_first;
    s.demands.clear();
    s.faults = {tests::lasting(tests::on(tests::fault_of(FaultWay::drop, milliseconds(700)), tests::Ways::both),
                               milliseconds(900))};
    sim::TimeLine stopped(s);
    static_cast<void>(sim::rehearse(s, 1, {.line = &stopped}));
    CHECK(speed_at(stopped, milliseconds(1500)) == 5'000);
}

TEST_CASE("a scenario without values is judged as ever, and a run with some is the same twice") {
    const Scenario s = slowed_by_value({{{}, 30'000}, {milliseconds(1000), 12'000}});
    CHECK(sim::rehearse(s, 5).digest == sim::rehearse(s, 5).digest);
    CHECK(sim::rehearse(s, 5).digest != sim::rehearse(slowed_by_value({{{}, 30'000}}), 5).digest);
    CHECK(sim::rehearse(tests::polled_link(), 1).values.empty());
}

}  // namespace
