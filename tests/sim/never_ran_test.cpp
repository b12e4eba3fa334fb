// A fault that strikes a link that does not run shows nothing about it: an outcome of its own, and no PASS.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "sim/drive/rehearsal.hpp"
#include "sim/scenario/scenario.hpp"
#include "tests/support/scenarios.hpp"

using proto::milliseconds;
using proto::seconds;
using sim::FaultWay;
using sim::Outcome;

namespace {

/// A link of which nothing is lost and that runs after some cycles.
sim::Scenario link_with(sim::Fault fault) {
    sim::Scenario s = tests::polled_link();
    s.faults = {std::move(fault)};
    return s;
}

sim::Fault power_off(proto::Duration at, proto::Duration lasting) {
    sim::Fault fault = tests::fault_of(FaultWay::restart, at);
    fault.to_device = fault.to_controller = false;
    fault.at_end = sim::End::device;
    fault.lasting = lasting;
    return fault;
}

bool says_it_never_ran(const sim::RunResult& result) {
    return std::ranges::any_of(result.remarks, [](const std::string& remark) {
        return remark.starts_with("The link never ran: nothing about it was rehearsed.");
    });
}

}  // namespace

TEST_CASE("what strikes a link that never runs is neither ridden through nor a stop, and the run is no pass") {
    for (const FaultWay way : {FaultWay::drop, FaultWay::random_bits, FaultWay::current_again}) {
        sim::Scenario s = link_with(tests::fault_of(way));
        s.device.link.peer_address ^= 1U;  // the ends disagree: offers go on for ever
        const sim::RunResult result = sim::rehearse(s, 1);
        REQUIRE_FALSE(result.link_started);
        REQUIRE(result.injections.size() == 1);
        const sim::InjectionResult& r = result.injections.front();
        CHECK(r.outcome == Outcome::never_ran);
        CHECK(r.why == "the link never ran: nothing about it was rehearsed");
        CHECK_FALSE(r.as_expected);
        CHECK_FALSE(r.safe_state_device);
        CHECK_FALSE(r.standstill);
        CHECK(result.verdict == sim::RunVerdict::fail);
        CHECK(says_it_never_ran(result));
    }
    // a watchdog that can never run
    sim::Scenario s = link_with(tests::fault_of(FaultWay::drop));
    tests::set_watchdogs(s, milliseconds(11), milliseconds(11));
    tests::set_delay(s, milliseconds(6));
    const sim::RunResult result = sim::rehearse(s, 1);
    REQUIRE_FALSE(result.link_started);
    CHECK(result.injections.front().outcome == Outcome::never_ran);
    CHECK(result.verdict == sim::RunVerdict::fail);
}

TEST_CASE("a supply that dips at an end that never ran is no stop") {
    sim::Scenario s = link_with(power_off(seconds(1), milliseconds(200)));
    s.device.link.own_address ^= 8U;
    const sim::RunResult result = sim::rehearse(s, 1);
    REQUIRE_FALSE(result.link_started);
    CHECK(result.injections.front().outcome == Outcome::never_ran);
    CHECK_FALSE(result.injections.front().safe_state_device);
}

TEST_CASE("before the link first ran a fault shows nothing about a running link, even if it runs then") {
    sim::Scenario s = link_with(tests::fault_of(FaultWay::drop, milliseconds(1)));
    const sim::RunResult result = sim::rehearse(s, 1);
    REQUIRE(result.link_started);
    const sim::InjectionResult& r = result.injections.front();
    REQUIRE(r.telegrams == 1);
    CHECK(r.outcome == Outcome::never_ran);
    CHECK(r.why.starts_with("the link had not run yet"));
    CHECK_FALSE(r.as_expected);
    CHECK(result.verdict == sim::RunVerdict::fail);
    // that the start stands it may be what is tried
    s.faults.front().expect_outcome = "never-ran";
    const sim::RunResult expected = sim::rehearse(s, 1);
    CHECK(expected.injections.front().as_expected);
    CHECK(expected.verdict == sim::RunVerdict::pass);
}

TEST_CASE("what goes on until the link runs is one of a running link") {
    sim::Fault slow = tests::lasting(tests::fault_of(FaultWay::step, milliseconds(1)), seconds(1));
    slow.extra = milliseconds(1);
    const sim::RunResult result = sim::rehearse(link_with(slow), 1);
    REQUIRE(result.link_started);
    CHECK(result.injections.front().outcome == Outcome::no_effect);
    // the same of an end: its clock drifts from before the start
    sim::Fault drift = power_off(milliseconds(1), seconds(1));
    drift.way = FaultWay::clock_drift;
    drift.drift_ppm = 100;
    CHECK(sim::rehearse(link_with(drift), 1).injections.front().outcome == Outcome::no_effect);
    CHECK(sim::rehearse(link_with(tests::fault_of(FaultWay::drop)), 1).injections.front().outcome ==
          Outcome::tolerated);
}
