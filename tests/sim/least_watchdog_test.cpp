// The shortest watchdogs with which a link runs, held against the link itself: with nothing lost, every telegram as
// fast as the channel is.
#include <doctest/doctest.h>

#include <cstdint>
#include <random>
#include <string>

#include "sim/drive/rehearsal.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/timing/least_watchdog.hpp"
#include "tests/support/scenarios.hpp"

using proto::Duration;
using proto::End;
using proto::microseconds;
using proto::milliseconds;

namespace {

struct Placed {
    Duration cycle, scan, phase, out, back;
};

sim::Scenario link_of(const Placed& placed, bool polled) {
    sim::Scenario s = polled ? tests::polled_link() : tests::streaming_link();
    s.faults.clear();
    s.demands.clear();
    s.duration = milliseconds(1500);
    tests::both_ends(s, [&](proto::LinkSettings& link) { link.cycle = placed.cycle; });
    s.controller.link.scan = placed.cycle;
    s.device.link.scan = placed.scan;
    s.device_phase = placed.phase;
    s.to_device.delay = {.kind = sim::DelayShape::Kind::constant, .low = placed.out, .high = placed.out, .cells = {}};
    s.to_controller.delay = {
        .kind = sim::DelayShape::Kind::constant, .low = placed.back, .high = placed.back, .cells = {}};
    return s;
}

/// With that watchdog at one end, and a very long one at the other.
sim::Scenario with(sim::Scenario s, End end, Duration watchdog) {
    const Duration other = milliseconds(900);
    tests::set_watchdogs(s, end == End::controller ? watchdog : other, end == End::device ? watchdog : other);
    return s;
}

/// A watchdog that may be typed: one that is no longer than a scan is refused by itself.
bool may_be(const sim::Scenario& s) { return !proto::fault_in(s.controller.link) && !proto::fault_in(s.device.link); }

bool runs_on(const sim::RunResult& result) { return result.link_started && result.stops == 0; }

/// What the link makes of the watchdogs at both limits, and just under them. How many of them may be typed.
int check_limits(const sim::Scenario& s, End end, const sim::LeastWatchdog& least) {
    CAPTURE(end == End::controller);
    CAPTURE(sim::written(least.once));
    CAPTURE(sim::written(least.always));
    REQUIRE(least.once <= least.always);
    int typed = 0;
    if (const sim::Scenario enough = with(s, end, least.always); may_be(enough)) {
        ++typed;
        CHECK(runs_on(sim::rehearse(enough, 1)));
    }
    if (const sim::Scenario under = with(s, end, least.always - microseconds(1)); may_be(under)) {
        ++typed;
        CHECK_FALSE(runs_on(sim::rehearse(under, 1)));
    }
    if (const sim::Scenario never = with(s, end, least.once - microseconds(1)); may_be(never)) {
        ++typed;
        CHECK_FALSE(sim::rehearse(never, 1).link_started);
    }
    return typed;
}

int check_link(const Placed& placed, bool polled) {
    CAPTURE(polled);
    CAPTURE(sim::written(placed.cycle));
    CAPTURE(sim::written(placed.scan));
    CAPTURE(sim::written(placed.phase));
    CAPTURE(sim::written(placed.out));
    CAPTURE(sim::written(placed.back));
    const sim::Scenario s = link_of(placed, polled);
    const sim::LeastWatchdogs least = sim::least_watchdogs(s);
    return check_limits(s, End::controller, least.controller) + check_limits(s, End::device, least.device);
}

}  // namespace

TEST_CASE("the shortest watchdog is the one with which the link itself runs, wherever the scans fall") {
    std::mt19937_64 random(7);
    const auto below = [&](std::int64_t most) {
        return static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(most));
    };
    int typed = 0;
    for (int i = 0; i < 60; ++i) {
        const Duration cycle = milliseconds(2 + below(9));
        // the same scan, a part of the cycle, several cycles, and any other
        const Duration scans[] = {cycle, {cycle.ns / 2}, cycle * 2, milliseconds(1 + below(12))};
        const Duration scan = scans[i % 4];
        const Placed placed{cycle, scan, Duration{below(scan.ns)}, Duration{below(3) * below(8'000'000)},
                            Duration{below(3) * below(8'000'000)}};
        typed += check_link(placed, i % 3 != 0);
    }
    CHECK(typed > 150);  // of 360
}

TEST_CASE("where the scans do not fall as before for long, nothing better than the truth is said") {
    // each scan falls a little later within the cycle, more often than is followed to the end
    const Placed odd{milliseconds(50), microseconds(50'021), microseconds(3), Duration{1'000'003}, Duration{2'000'001}};
    for (const bool polled : {true, false}) {
        const sim::Scenario s = link_of(odd, polled);
        const sim::LeastWatchdogs least = sim::least_watchdogs(s);
        CHECK(least.controller.once <= milliseconds(50));
        CHECK(least.controller.always >= milliseconds(100));
        for (const End end : {End::controller, End::device}) {
            const sim::LeastWatchdog& at = end == End::controller ? least.controller : least.device;
            CHECK(runs_on(sim::rehearse(with(s, end, {(at.always.ns + 999) / 1000 * 1000}), 1)));
        }
    }
}

TEST_CASE("13 ms over a cycle of 12 is a problem where one exchange takes two cycles, with the shortest that runs") {
    sim::Scenario s =
        link_of({milliseconds(12), milliseconds(12), Duration{}, microseconds(500), microseconds(500)}, true);
    tests::set_watchdogs(s, milliseconds(13), milliseconds(13));
    const sim::CrossCheck check = sim::cross_check(s);
    CHECK_FALSE(check.ok());
    REQUIRE(check.problems.size() == 1);
    CHECK(check.problems.front().starts_with(
        "the link can never run: the watchdog, 13 ms, is shorter than what one exchange takes, 24 ms"));
    CHECK(check.problems.front().ends_with("write 24 ms or more"));
    CHECK_FALSE(sim::rehearse(s, 1).link_started);
    tests::set_watchdogs(s, milliseconds(24), milliseconds(24));
    CHECK(sim::cross_check(s).problems.empty());
    CHECK(sim::rehearse(s, 1).link_started);
    // one end alone
    tests::set_watchdogs(s, milliseconds(24), milliseconds(23));
    const sim::CrossCheck one = sim::cross_check(s);
    REQUIRE(one.problems.size() == 1);
    CHECK(one.problems.front().find("the watchdog of " + s.device.name + ", 23 ms,") != std::string::npos);
}
