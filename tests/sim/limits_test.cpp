// Limits and bounds: what the settings promise, what a search finds, and what is required regardless.
#include "sim/drive/limits.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <vector>

#include "sim/drive/rehearsal.hpp"
#include "sim/numeric/random.hpp"
#include "sim/timing/bounds.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::microseconds;
using proto::milliseconds;
using sim::FaultWay;
using sim::RunResult;
using sim::RunVerdict;
using sim::Scenario;
using tests::fault_of;
using tests::lasting;
using tests::on;
using tests::Ways;

double ms(Duration d) { return static_cast<double>(d.ns) / 1e6; }

TEST_CASE("R-86: what is stated as required does not move with the watchdog, the bound does") {
    for (const std::int64_t watchdog : {20, 45, 450}) {
        Scenario s = tests::polled_link();
        tests::set_watchdogs(s, milliseconds(45), milliseconds(watchdog));
        const auto stated = sim::limits_of(s);
        CHECK(stated.limits.required[0] == milliseconds(200));
        CHECK(stated.limits.demand_required == milliseconds(200));
        CHECK(stated.bound == milliseconds(2 * watchdog + 10));
        CHECK(stated.remarks.empty());
        s.required = {};
        const auto unstated = sim::limits_of(s);
        CHECK(unstated.limits.required[0] == milliseconds(2 * watchdog + 10));
        CHECK_FALSE(unstated.required.has_value());
        CHECK(unstated.remarks.size() == 1);
    }
}

TEST_CASE("R-87: only the consumer's watchdog counts in a polled link") {
    Scenario s = tests::polled_link();
    tests::set_watchdogs(s, milliseconds(500), milliseconds(45));
    CHECK(sim::limits_of(s).bound == milliseconds(100));
}

TEST_CASE("R-87: a stream has a bound only if something measures the age") {
    Scenario s = tests::streaming_link();
    const auto plain = sim::limits_of(s);
    CHECK_FALSE(plain.bound.has_value());
    CHECK(plain.remarks.size() == 1);
    for (const auto carries : {tests::Carries::feedback, tests::Carries::time_stamp}) {
        Scenario measured = tests::streaming_link(carries);
        const Duration each = milliseconds(40) + milliseconds(45) + milliseconds(10) * 2;
        // there, the controller's cycle, and back
        CHECK(sim::limits_of(measured).bound == each * 2 + milliseconds(10));
        measured.safeguards.erase(measured.safeguards.begin());
        measured.signals[0].all_of = {};
        CHECK(sim::limits_of(measured).bound == each);
    }
}

TEST_CASE("the limit of an injection ends at standstill and exists only where it can be stated") {
    Scenario s = tests::polled_link();
    s.faults = {fault_of(FaultWay::drop), fault_of(FaultWay::hold), fault_of(FaultWay::creeping)};
    s.faults[1].hold = milliseconds(70);
    const auto found = sim::limits_of(s);
    CHECK(found.stopping == milliseconds(10 + 125));
    CHECK(found.limits.allowed[0] == milliseconds(100 + 135));
    CHECK(found.limits.allowed[1] == milliseconds(100 + 135 + 70));
    CHECK_FALSE(found.limits.allowed[2].has_value());
}

TEST_CASE("R-87: a required response shorter than the bound fails, even if nothing happened in the run") {
    Scenario s = tests::polled_link();
    CHECK(sim::rehearse(s, 1).verdict == RunVerdict::pass);
    s.required.to_device = milliseconds(99);
    const RunResult result = sim::rehearse(s, 1);
    CHECK(result.verdict == RunVerdict::fail);
    CHECK(result.dangerous.empty());
}

// ---- Search for the worst

/// The response to a demand at the controller, or the oldest value used at the device, whichever is longer.
Duration worst_of(const Scenario& s, std::uint64_t seed) {
    const RunResult result = sim::rehearse(s, seed);
    REQUIRE(result.link_started);
    CHECK(result.dangerous.empty());
    return result.worst_seen.value_or(Duration{});
}

Scenario short_run(Duration cycle, Duration scan) {
    Scenario s = tests::polled_link();
    s.required = {};
    s.duration = milliseconds(500);
    tests::both_ends(s, [&](proto::LinkSettings& link) {
        link.cycle = cycle;
        link.scan = cycle;
    });
    s.device.link.scan = scan;
    return s;
}

TEST_CASE("R-87: random settings, delay periods that end in silence and demands never exceed the bound") {
    const sim::Random random(2024, sim::Concern::fault_place);
    std::uint64_t drawn = 0;
    const auto between = [&](std::int64_t low, std::int64_t high) {
        return low + static_cast<std::int64_t>(random.at(drawn++) % static_cast<std::uint64_t>(high - low + 1));
    };
    double closest = 0;
    for (int run = 0; run < 2500; ++run) {
        Scenario s = short_run(microseconds(between(40, 140) * 100), microseconds(between(10, 140) * 100));
        const Duration cycle = s.controller.link.cycle, scan = s.device.link.scan;
        s.device_phase = microseconds(between(0, scan.ns / 1000 - 1));
        const Duration delay = microseconds(between(0, 4000));
        tests::set_delay(s, delay);
        // a link that runs at all: the longest exchange is below the watchdogs
        const Duration least = cycle * 2 + scan + delay * 2;
        const auto watchdog = [&] { return microseconds(least.ns / 1000 + between(100, 60'000)); };
        tests::set_watchdogs(s, watchdog(), watchdog());
        const std::int64_t begin = between(150'000, 170'000);
        sim::Fault late = lasting(fault_of(FaultWay::step, microseconds(begin)), microseconds(between(1000, 40'000)));
        late.extra = microseconds(between(0, s.device.link.watchdog.ns / 1000));
        const Ways ways[] = {Ways::out, Ways::back, Ways::both};
        sim::Fault silence =
            lasting(fault_of(FaultWay::drop, microseconds(begin + between(0, 60'000))), milliseconds(300));
        s.faults = {on(late, ways[between(0, 2)]), on(silence, ways[between(0, 2)])};
        s.demands = {tests::demand_of(between(0, 1) == 0 ? "rope_pull" : "table_curtain",
                                      microseconds(begin + between(0, 30'000)))};
        s.demands.front().lasting = milliseconds(300);
        const Duration bound = s.device.link.watchdog * 2 + scan;
        const Duration worst = worst_of(s, static_cast<std::uint64_t>(run));
        if (worst > bound) FAIL_CHECK("run ", run, ": ", ms(worst), " ms, bound ", ms(bound), " ms");
        closest = std::max(closest, static_cast<double>(worst.ns) / static_cast<double>(bound.ns));
    }
    MESSAGE("closest to the bound: ", closest);
    CHECK(closest > 0.6);
}

TEST_CASE("R-87: a telegram late, just inside, and then nothing comes close to the bound") {
    // Own exhaustive search, T = 10 ms: the tight value without jitter is (2 * floor(WD / T) + 1) * T.
    for (const std::int64_t watchdog : {28, 38, 60}) {
        Duration worst{};
        for (std::int64_t phase = 0; phase < 10; phase += 3) {
            for (std::int64_t extra = 0; extra <= watchdog; extra += 1) {
                Scenario s = short_run(milliseconds(10), milliseconds(10));
                s.duration = milliseconds(400);
                s.device_phase = milliseconds(phase);
                tests::set_delay(s, {});
                tests::set_watchdogs(s, milliseconds(500), milliseconds(watchdog));
                s.faults = {fault_of(FaultWay::step, milliseconds(200)),
                            lasting(fault_of(FaultWay::drop, milliseconds(201)), milliseconds(300))};
                s.faults[0].extra = milliseconds(extra);
                s.demands = {tests::demand_of("rope_pull", microseconds(200'001))};
                s.demands.front().lasting = milliseconds(300);
                worst = std::max(worst, worst_of(s, 1));
            }
        }
        const Duration bound = milliseconds(2 * watchdog + 10);
        MESSAGE("watchdog ", watchdog, " ms: worst ", ms(worst), " ms of a bound of ", ms(bound), " ms");
        CHECK(worst <= milliseconds((2 * (watchdog / 10) + 1) * 10));
        if (watchdog == 60) CHECK(worst.ns >= bound.ns * 9 / 10);
    }
}

// ---- Round trips

std::uint64_t trips(const Scenario& s, std::uint64_t seed) {
    const RunResult result = sim::rehearse(s, seed);
    return result.spurious_trips + (result.link_started ? 0 : 1) + (result.exchanges < 10 ? 1 : 0);
}

TEST_CASE("R-29: no stop for nothing while the longest round trip is within the watchdog less a cycle") {
    const sim::Random random(7, sim::Concern::fault_place);
    std::uint64_t drawn = 0;
    const auto between = [&](std::int64_t low, std::int64_t high) {
        return low + static_cast<std::int64_t>(random.at(drawn++) % static_cast<std::uint64_t>(high - low + 1));
    };
    for (int run = 0; run < 400; ++run) {
        Scenario s = short_run(microseconds(between(40, 120) * 100), microseconds(between(5, 100) * 100));
        s.duration = proto::seconds(1);
        s.device_phase = microseconds(between(0, s.device.link.scan.ns / 1000 - 1));
        const Duration low = microseconds(between(0, 5000)), high = low + microseconds(between(0, 12'000));
        s.to_device.delay = s.to_controller.delay = {sim::DelayShape::Kind::uniform, low, high, {}};
        const Duration round_trip = high * 2 + s.device.link.scan;
        const Duration watchdog = sim::longest_round_trip(round_trip, s.controller.link.cycle * -1);
        REQUIRE(sim::longest_round_trip(watchdog, s.controller.link.cycle) == round_trip);
        tests::set_watchdogs(s, watchdog, watchdog);
        INFO("run ", run, ", cycle ", ms(s.controller.link.cycle), ", scan ", ms(s.device.link.scan), ", delay ",
             ms(low), " to ", ms(high));
        CHECK(trips(s, static_cast<std::uint64_t>(run)) == 0);
    }
}

TEST_CASE("R-29: watchdog 45 ms, cycle 10 ms: the longest round trip that runs") {
    Duration longest{}, shortest_that_trips = proto::seconds(1);
    for (std::int64_t us = 15'000; us <= 24'000; us += 250) {
        Scenario s = short_run(milliseconds(10), milliseconds(1));
        s.duration = proto::seconds(2);
        // varying a little, as every channel does
        s.to_device.delay =
            s.to_controller.delay = {sim::DelayShape::Kind::uniform, microseconds(us - 1500), microseconds(us), {}};
        const Duration round_trip = microseconds(2 * us + 1000);  // with a whole scan of the device
        std::uint64_t all = 0;
        for (std::int64_t phase = 0; phase < 1000; phase += 250) {
            s.device_phase = microseconds(phase);
            all += trips(s, static_cast<std::uint64_t>(phase + us));
        }
        if (all == 0)
            longest = std::max(longest, round_trip);
        else
            shortest_that_trips = std::min(shortest_that_trips, round_trip);
    }
    MESSAGE("runs up to ", ms(longest), " ms, trips from ", ms(shortest_that_trips), " ms");
    CHECK(longest >= milliseconds(35));
    CHECK(shortest_that_trips > milliseconds(35));
    CHECK(shortest_that_trips < milliseconds(45));
}

TEST_CASE("R-80: order is kept unless declared otherwise, so varying delays alone are no error") {
    Scenario s = tests::streaming_link();
    s.required.to_device = s.required.to_controller = milliseconds(300);
    s.to_device.delay = {sim::DelayShape::Kind::uniform, {}, milliseconds(25), {}};
    CHECK(s.to_device.keep_order);
    CHECK(sim::rehearse(s, 1).spurious_trips == 0);
    s.to_device.keep_order = false;
    CHECK(sim::rehearse(s, 1).spurious_trips > 0);
}

}  // namespace
