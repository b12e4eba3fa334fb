// A polled device that answers once a scan, however many telegrams it finds in it: declared, and in the odds.
#include <doctest/doctest.h>

#include "sim/odds/link_model.hpp"
#include "sim/odds/trip_odds.hpp"
#include "tests/support/counted_stops.hpp"
#include "tests/support/scenarios.hpp"

using proto::milliseconds;
using sim::Scenario;

namespace {

/// The device scans every third cycle, so that it finds three telegrams at once.
Scenario slow_device(proto::Answers answers) {
    Scenario s = tests::polled_link();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.cycle = link.scan = milliseconds(5); });
    s.device.link.scan = milliseconds(15);
    s.device_phase = milliseconds(1);
    s.device.link.answers = answers;
    tests::set_watchdogs(s, milliseconds(50), milliseconds(50));
    s.to_device.delay = s.to_controller.delay = {sim::DelayShape::Kind::uniform, milliseconds(1), milliseconds(4), {}};
    s.to_device.loss = s.to_controller.loss = 0.08;
    return s;
}

}  // namespace

TEST_CASE("one answer a scan stops a link more often than one for each telegram, as the full simulation does") {
    const Scenario each = slow_device(proto::Answers::each), one = slow_device(proto::Answers::one_a_scan);
    tests::check_against_simulation("one answer a scan", one, 600'000);
    const double often = trip_odds(model_of(one), {}).per_year, seldom = trip_odds(model_of(each), {}).per_year;
    CAPTURE(often);
    CAPTURE(seldom);
    CHECK(often > 3.0 * seldom);
}

TEST_CASE("one answer a scan by walks is as by the chain") {
    Scenario one = slow_device(proto::Answers::one_a_scan);
    const sim::TripOdds chain = trip_odds(model_of(one), {});
    REQUIRE(chain.method.starts_with("exact chain"));
    // a way that never overtakes is the chain's; a queue that nobody else uses, nobody's but the walks'
    one.to_device.queue = sim::BackgroundTraffic{
        sim::BackgroundTraffic::Kind::bursts, proto::microseconds(1), 0.0, 1, milliseconds(50), 0.0, {}, {}};
    const sim::TripOdds walked = trip_odds(model_of(one), {});
    CAPTURE(walked.method);
    CAPTURE(chain.per_year);
    CHECK(walked.low <= chain.high.value_or(0.0) * 1.1);
    CHECK(walked.high.value_or(1e300) >= chain.low * 0.9);
}
