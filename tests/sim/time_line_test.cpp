#include "sim/judge/time_line.hpp"

#include <doctest/doctest.h>

#include "sim/drive/rehearsal.hpp"
#include "sim/reading/read.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::End;
using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using proto::State;
using sim::TimeLine;

sim::Scenario with_a_cut() {
    sim::Scenario s = tests::polled_link();
    s.faults = {tests::lasting(tests::on(tests::fault_of(sim::FaultWay::drop), tests::Ways::both), milliseconds(200))};
    return s;
}

TEST_CASE("a line that is drawn changes nothing of the run that it is drawn of") {
    for (const std::string& file : tests::shipped_scenarios(LINKDRILL_SOURCE_DIR)) {
        INFO(file);
        const auto read = sim::read_scenario(file);
        REQUIRE(read.ok());
        if (read.value().duration > seconds(600)) continue;  // a day would show no more
        TimeLine line(read.value());
        const sim::RunResult with = sim::rehearse(read.value(), 3, {.line = &line}),
                             without = sim::rehearse(read.value(), 3);
        CHECK(with.digest == without.digest);
        CHECK(with.verdict == without.verdict);
        CHECK(line.end() == Instant{} + read.value().duration);
    }
}

TEST_CASE("a cable pulled and acknowledged shows as stopped, waiting, running at both ends") {
    const sim::Scenario s = with_a_cut();
    TimeLine line(s);
    const sim::RunResult result = sim::rehearse(s, 1, {.line = &line});
    for (const End end : {End::controller, End::device}) {
        const auto& states = line.states(end);
        REQUIRE(states.size() == 4);
        CHECK(states[0].state == State::running);
        CHECK(states[1].state == State::safe_state);
        CHECK(states[1].measure == proto::Measure::time_expectation);
        CHECK(states[2].state == State::awaiting_acknowledgement);
        CHECK(states[3].state == State::running);
        for (std::size_t i = 1; i < states.size(); ++i) CHECK(states[i - 1].at <= states[i].at);
    }
    // the same instant as the observer's, who heard it apart from the line
    const auto& injection = result.injections.at(0);
    REQUIRE(injection.safe_state_device.has_value());
    CHECK(line.states(End::device)[1].at == Instant{} + injection.at + *injection.safe_state_device);
}

TEST_CASE("a signal in use is 0 while its user is stopped, and the machine stands until it is started") {
    const sim::Scenario s = with_a_cut();
    TimeLine line(s);
    const sim::RunResult result = sim::rehearse(s, 1, {.line = &line});
    const Instant stopped = line.states(End::device)[1].at, runs_again = line.states(End::device)[3].at;
    bool fell = false;
    for (const auto& change : line.signals(End::device)) {
        if (change.at == stopped) {
            CHECK(change.used == 0);
            fell = true;
        }
        CHECK_FALSE((change.at > stopped && change.at < runs_again));
    }
    CHECK(fell);
    // stood still when the observer says so, not moving again before the link ran and somebody started it
    const auto& injection = result.injections.at(0);
    REQUIRE(injection.standstill.has_value());
    const Instant still = Instant{} + injection.at + *injection.standstill;
    bool stands = false;
    for (const auto& corner : line.speed()) {
        if (corner.at == still) stands = corner.um_s == 0;
        if (corner.at > still && corner.at < runs_again) CHECK(corner.um_s == 0);
    }
    CHECK(stands);
    CHECK(line.speed().front().um_s == 0);
}

TEST_CASE("between corners the speed is a straight line, also of a load that drops before its brake grips") {
    sim::Machine machine;
    machine.speed_um_s = 300'000;
    machine.braking_um_s2 = 2'000'000;
    machine.ramp_um_s2 = 1'000'000;
    machine.reaction_delay = milliseconds(20);
    machine.brake = sim::Brake{milliseconds(40), true};
    machine.reactions = {{"a", sim::StopCategory::category_0, {}}};
    sim::Scenario s = tests::polled_link();
    s.machine = machine;
    TimeLine line(s);
    sim::MachineModel model(machine);
    const Instant started = Instant{} + seconds(1), commanded = Instant{} + seconds(2);
    line.hear(sim::MachineTold{std::nullopt, started});
    model.start(started);
    line.hear(sim::MachineTold{sim::DriveCommand::stop_category_0, commanded});
    model.command(sim::DriveCommand::stop_category_0, commanded);
    line.finish(Instant{} + seconds(3));
    const auto& corners = line.speed();
    REQUIRE(corners.size() >= 5);
    for (std::size_t i = 1; i < corners.size(); ++i) {
        const auto &a = corners[i - 1], &b = corners[i];
        if (a.at < commanded || a.at == b.at) continue;
        const Instant middle{(a.at.ns + b.at.ns) / 2};
        const std::int64_t expected = (a.um_s + b.um_s) / 2;
        CHECK(model.speed(middle) >= expected - 2);
        CHECK(model.speed(middle) <= expected + 2);
    }
    CHECK(corners.back().um_s == 0);
}

TEST_CASE("what a live part did a little before the run began is drawn at its begin") {
    sim::Scenario s = tests::polled_link();
    REQUIRE(s.machine.has_value());
    TimeLine line(s);
    const Instant early{-4'777};
    line.hear(sim::MachineTold{sim::DriveCommand::stop_category_0, early});
    line.hear(sim::InUse{End::device, 1, early});
    line.hear(
        sim::Changed{End::device, {State::start_up, State::running, proto::Cause::first_value, std::nullopt}, early});
    line.finish(Instant{} + seconds(1));
    CHECK(line.speed().front().at == Instant{});
    CHECK(line.signals(End::device).front().at == Instant{});
    CHECK(line.states(End::device).front().at == Instant{});
}

TEST_CASE("what there is no room for is counted, and the first changes stay") {
    const sim::Scenario s = tests::polled_link();
    TimeLine line(s);
    constexpr std::uint64_t more = 1000;
    for (std::uint64_t i = 0; i < TimeLine::changes_max + more; ++i)
        line.hear(sim::InUse{End::device, i + 1, Instant{} + milliseconds(static_cast<std::int64_t>(i))});
    CHECK(line.signals(End::device).size() == TimeLine::changes_max);
    CHECK(line.signals(End::device).front().used == 1);
    CHECK(line.left_out() == more);
}

}  // namespace
