#include "sim/drive/rehearsal.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <thread>

#include "sim/reading/read.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::milliseconds;
using sim::FaultWay;
using sim::OperatorAct;
using sim::RunResult;
using sim::RunVerdict;
using sim::Scenario;
using tests::fault_of;

/// Everything of a result that is worth comparing, in one string.
std::string all_of(const RunResult& r) {
    std::string text;
    const auto add = [&text](std::uint64_t value) { text += std::to_string(value) + ' '; };
    const auto maybe = [&text](const auto& value) { text += value ? std::to_string(value->ns) + ' ' : "- "; };
    for (const std::uint64_t v :
         {r.digest, r.cycles, r.exchanges, r.spurious_trips, r.stops, r.acknowledgements, r.twin.spurious_trips,
          r.twin.cycles, std::uint64_t{r.twin.recovered}, std::uint64_t{r.as_expected}})
        add(v);
    text += name_of(r.verdict);
    maybe(r.bound);
    maybe(r.worst_seen);
    for (const auto& i : r.injections) {
        text += name_of(i.outcome);
        text += i.detected_by ? proto::name_of(*i.detected_by) : "-";
        for (const auto& t : {i.detect, i.safe_state_controller, i.safe_state_device, i.standstill}) maybe(t);
        add(i.telegrams);
        text += i.why;
    }
    for (const auto& d : r.dangerous) text += d.why + std::to_string(d.at.ns);
    for (const auto& remark : r.remarks) text += remark;
    return text;
}

TEST_CASE("each scenario that ships gives the same result again, and on two threads at once") {
    const auto files = tests::shipped_scenarios(LINKDRILL_SOURCE_DIR);
    REQUIRE(files.size() >= 5);
    for (const std::string& file : files) {
        INFO(file);
        const auto read = sim::read_scenario(file);
        REQUIRE(read.ok());
        Scenario scenario = read.value();
        // a day is rehearsed by the scenario's own test; here its first minutes show the same
        if (scenario.duration > proto::seconds(120)) {
            scenario.duration = proto::seconds(120);
            const auto later = [&](const auto& thing) { return thing.at >= scenario.duration; };
            scenario.demands.erase(std::remove_if(scenario.demands.begin(), scenario.demands.end(), later),
                                   scenario.demands.end());
            REQUIRE(scenario.faults.empty());
        }
        const RunResult once = sim::rehearse(scenario, scenario.seed);
        RunResult left, right;
        std::thread other([&] { left = sim::rehearse(scenario, scenario.seed); });
        right = sim::rehearse(scenario, scenario.seed);
        other.join();
        CHECK(all_of(left) == all_of(once));
        CHECK(all_of(right) == all_of(once));
        CHECK(once.digest != 0);
        CHECK(once.as_expected);
        CHECK(once.twin.spurious_trips == 0);
        // a link that never starts draws nothing that shows
        if (once.link_started) {
            CHECK(once.twin.recovered);
            CHECK(sim::rehearse(scenario, scenario.seed + 1).digest != once.digest);
        }
    }
}

TEST_CASE("a fault changes the digest, and its twin without faults does not trip") {
    const Scenario calm = tests::polled_link();
    Scenario s = calm;
    s.faults = {fault_of(FaultWay::random_bits)};
    const RunResult with = sim::rehearse(s, 1), without = sim::rehearse(calm, 1);
    CHECK(with.digest != without.digest);
    CHECK(with.stops == 1);
    CHECK(with.twin.cycles == without.cycles);
    CHECK(with.twin.spurious_trips == 0);
    CHECK(with.acknowledgements == 1);
}

TEST_CASE("a channel that loses too much trips the twin too, and the verdict is fail") {
    Scenario s = tests::polled_link();
    s.to_device.loss = 0.5;
    const RunResult result = sim::rehearse(s, 1);
    CHECK(result.spurious_trips > 0);
    CHECK(result.twin.spurious_trips > 0);
    CHECK(result.verdict == RunVerdict::fail);
}

/// Two stops, and an operator who starts the machine on these events.
RunResult two_stops(bool starts_after_each) {
    Scenario s = tests::polled_link();
    s.duration = proto::seconds(3);
    s.faults = {fault_of(FaultWay::random_bits, proto::seconds(1)), fault_of(FaultWay::random_bits, proto::seconds(2))};
    if (!starts_after_each) {
        s.operator_acts[1].event = OperatorAct::Event::time;
        s.operator_acts[1].after = milliseconds(500);
    }
    return sim::rehearse(s, 1);
}

TEST_CASE("R-63: acknowledged but not started, the machine stands") {
    const RunResult each = two_stops(true);
    CHECK(each.acknowledgements == 2);
    CHECK(each.injections[0].standstill.has_value());
    CHECK(each.injections[1].standstill.has_value());
    const RunResult first_only = two_stops(false);
    CHECK(first_only.acknowledgements == 2);
    CHECK(first_only.injections[0].standstill.has_value());
    CHECK_FALSE(first_only.injections[1].standstill.has_value());  // it did not move when the second stop came
    CHECK(first_only.injections[1].outcome == sim::Outcome::safe_state);
    CHECK(first_only.twin.recovered);
}

TEST_CASE("nobody acknowledges: the link stays down in the run and comes back once somebody does") {
    Scenario s = tests::polled_link();
    s.operator_acts.clear();
    s.faults = {fault_of(FaultWay::random_bits)};
    const RunResult result = sim::rehearse(s, 1);
    CHECK(result.acknowledgements == 0);
    CHECK(result.controller.state == proto::State::awaiting_acknowledgement);
    CHECK(result.twin.recovered);
}

TEST_CASE("a button held from the start acknowledges nothing") {
    Scenario s = tests::polled_link();
    s.operator_acts[0] = {OperatorAct::Event::time, OperatorAct::Act::hold_acknowledge, milliseconds(10), {}};
    s.faults = {fault_of(FaultWay::random_bits)};
    const RunResult result = sim::rehearse(s, 1);
    CHECK(result.acknowledgements == 0);
    CHECK(result.controller.state == proto::State::awaiting_acknowledgement);
    CHECK(result.twin.recovered);
}

TEST_CASE("two ends that differ never start, and the verdict says so") {
    Scenario s = tests::polled_link();
    s.device.link.claimed_level = 3;
    const RunResult result = sim::rehearse(s, 1);
    CHECK_FALSE(result.link_started);
    CHECK(result.verdict == RunVerdict::fail);
    CHECK(result.device.refusal != proto::Refusal::none);
}

TEST_CASE("what was expected is compared with what happened") {
    Scenario s = tests::polled_link();
    sim::Fault fault = fault_of(FaultWay::random_bits);
    fault.expect_outcome = "safe-state";
    fault.expect_detected_by = {"cross-check", "integrity"};
    fault.expect_end = "device";
    s.faults = {fault};
    CHECK(sim::rehearse(s, 1).verdict == RunVerdict::pass);
    for (int wrong = 0; wrong < 3; ++wrong) {
        s.faults = {fault};
        if (wrong == 0) s.faults[0].expect_outcome = "tolerated";
        if (wrong == 1) s.faults[0].expect_detected_by = {"sequence"};
        if (wrong == 2) s.faults[0].expect_end = "controller";
        const RunResult result = sim::rehearse(s, 1);
        CHECK(result.verdict == RunVerdict::fail);
        CHECK_FALSE(result.as_expected);
        CHECK_FALSE(result.injections[0].why.empty());
    }
}

TEST_CASE("a telegram that is never reached is not fired, and the run fails") {
    Scenario s = tests::polled_link();
    s.faults = {fault_of(FaultWay::drop)};
    s.faults[0].at.reset();
    s.faults[0].on_telegram = 1'000'000;
    const RunResult result = sim::rehearse(s, 1);
    CHECK(result.injections[0].outcome == sim::Outcome::not_fired);
    CHECK(result.verdict == RunVerdict::fail);
}

}  // namespace
