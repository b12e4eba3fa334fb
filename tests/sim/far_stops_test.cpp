// What becomes of a machine when something strikes another link: by the time of each thing, in whatever order it is
// heard.
#include <doctest/doctest.h>

#include <vector>

#include "sim/judge/far_stops.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Instant;
using proto::milliseconds;
using sim::DriveCommand;
using sim::FarStops;
using sim::MachineTold;

Instant at(std::int64_t ms) { return Instant{} + milliseconds(ms); }

/// A machine that is started, told to stop at 100 ms, and another link that is struck at that time.
struct Two {
    sim::Scenario scenario = tests::polled_link();
    FarStops struck{scenario}, far{scenario};
    Two() {
        struck.tell(0, {&far});
        far.hear(MachineTold{DriveCommand::run, at(0)});
        far.hear(MachineTold{std::nullopt, at(1)});
    }
    void stop() { far.hear(MachineTold{DriveCommand::stop_category_0, at(100)}); }
    void strike(std::int64_t ms) { struck.hear(sim::Touched{0, sim::Direction::to_device, at(ms), at(ms)}); }
};

}  // namespace

TEST_CASE(
    "a machine that was commanded after another link was struck was not stopping then, whichever is heard first") {
    Two in_order, behind;
    in_order.strike(98);
    in_order.stop();
    behind.stop();
    behind.strike(98);
    for (const Two* two : {&in_order, &behind}) {
        REQUIRE(two->far.stops().size() == 1);
        const sim::Motion& motion = two->far.stops()[0].motion;
        CHECK(motion.moved);
        CHECK(motion.in_force == DriveCommand::run);
        CHECK(motion.commanded == at(100));
        CHECK(motion.stands == in_order.far.stops()[0].motion.stands);
        CHECK(motion.stands.has_value());
    }
    CHECK(in_order.far.stops()[0].motion.travelled == behind.far.stops()[0].motion.travelled);
}

TEST_CASE("a machine that was commanded before another link was struck was stopping then") {
    Two two;
    two.stop();
    two.strike(101);
    REQUIRE(two.far.stops().size() == 1);
    CHECK(two.far.stops()[0].motion.in_force == DriveCommand::stop_category_0);
}

TEST_CASE("what a machine was told long before is still known when another link is struck") {
    Two two;
    for (std::int64_t ms = 20'000; ms < 200'000; ms += 10'000)
        two.far.hear(MachineTold{DriveCommand::stop_category_0, at(ms)});
    two.far.hear(MachineTold{DriveCommand::run, at(199'999)});
    two.far.hear(MachineTold{std::nullopt, at(200'000)});
    two.far.hear(MachineTold{DriveCommand::stop_category_0, at(200'500)});
    two.strike(200'400);
    CHECK(two.far.stops()[0].motion.in_force == DriveCommand::run);
    CHECK(two.far.stops()[0].motion.moved);
    two.strike(200'401);
    CHECK(two.far.stops().size() == 1);  // the first time counts
}
