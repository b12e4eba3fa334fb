// Stops by the age of what arrives, in the odds: beside the full simulation, which knows nothing of them but the bytes.
#include <algorithm>
#include <cstdint>
#include <string>

#include <doctest/doctest.h>

#include "sim/odds/link_model.hpp"
#include "sim/odds/trip_odds.hpp"
#include "tests/support/counted_stops.hpp"
#include "tests/support/scenarios.hpp"

using proto::microseconds;
using proto::milliseconds;
using sim::DelayShape;
using sim::Scenario;

namespace {

/// A stream whose telegrams are often some scans old, and lost now and then.
Scenario stream(tests::Carries what) {
    Scenario s = tests::streaming_link(what);
    s.device.link.scan = milliseconds(5);
    s.device_phase = microseconds(700);
    tests::both_ends(s, [](proto::LinkSettings& link) { link.missing_allowed = 3; });
    tests::set_watchdogs(s, milliseconds(80), milliseconds(80));
    for (sim::ChannelSettings* way : {&s.to_device, &s.to_controller}) {
        way->delay = {DelayShape::Kind::uniform, milliseconds(1), milliseconds(12), {}};
        way->loss = 0.01;
    }
    s.operator_acts = {{sim::OperatorAct::Event::acknowledgement_requested,
                        sim::OperatorAct::Act::acknowledge,
                        milliseconds(500),
                        {}}};
    return s;
}

void check_beside_simulation(const std::string& name, const Scenario& s) {
    CAPTURE(name);
    const sim::TripOdds odds = trip_odds(model_of(s), {});
    CAPTURE(odds.method);
    CAPTURE(odds.per_year);
    CAPTURE(odds.low);
    CAPTURE(odds.high.value_or(-1.0));
    const tests::Counted counted = tests::simulate(s, 400'000, 11);
    CAPTURE(counted.stops);
    REQUIRE(counted.stops >= 20);
    const tests::Interval interval = tests::garwood(counted.stops, 1e-4);
    CAPTURE(interval.low / counted.years);
    CAPTURE(interval.high / counted.years);
    CHECK(interval.high / counted.years >= odds.low);
    CHECK(interval.low / counted.years <= odds.high.value_or(0.0));
    CHECK(odds.by_cause[static_cast<std::size_t>(sim::StopCause::age_to_device)] +
              odds.by_cause[static_cast<std::size_t>(sim::StopCause::age_to_controller)] >
          0.0);
}

}  // namespace

TEST_CASE("a lag of fed-back numbers that is over its limit is in the odds") {
    for (const unsigned lag : {5U}) {
        Scenario s = stream(tests::Carries::feedback);
        tests::both_ends(s, [&](proto::LinkSettings& link) { link.max_lag = lag; });
        check_beside_simulation("lag " + std::to_string(lag), s);
    }
}

TEST_CASE("an age by an echoed stamp that is over its limit is in the odds") {
    for (const int age : {40, 42}) {
        Scenario s = stream(tests::Carries::time_stamp);
        tests::both_ends(s, [&](proto::LinkSettings& link) { link.max_age = milliseconds(age); });
        check_beside_simulation("echo " + std::to_string(age) + " ms", s);
    }
}

// A clock that was set well at the start runs for ever where one set badly stops: the upper figure is of the worst.
TEST_CASE("an age by the sender's clock is reckoned with the clock set as badly as a start allows") {
    std::uint64_t most = 0;
    Scenario s = stream(tests::Carries::time_stamp);
    tests::both_ends(s, [&](proto::LinkSettings& link) {
        link.profile.time_stamp_kind = proto::StampKind::clock;
        link.max_age = milliseconds(28);
        link.max_early = milliseconds(30);
    });
    const sim::TripOdds odds = trip_odds(model_of(s), {});
    CAPTURE(odds.method);
    CHECK_FALSE(odds.claimed);
    CHECK_FALSE(odds.settled);
    CHECK(odds.low == 0.0);
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        const tests::Counted counted = tests::simulate(s, 20'000, seed);
        CAPTURE(seed);
        CHECK(tests::garwood(counted.stops, 1e-4).low / counted.years <= odds.high.value_or(1e300));
        most = std::max(most, counted.stops);
    }
    CHECK(most > 0);
}

TEST_CASE("a limit that no telegram can reach leaves the odds to the chain") {
    Scenario s = stream(tests::Carries::feedback);
    tests::both_ends(s, [](proto::LinkSettings& link) { link.max_lag = 200; });
    const sim::LinkModel link = model_of(s);
    CHECK_FALSE(may_be_too_old(link, sim::Direction::to_device));
    CHECK(trip_odds(link, {}).method.starts_with("exact chain"));
    tests::both_ends(s, [](proto::LinkSettings& typed) { typed.max_lag = 4; });
    CHECK(may_be_too_old(model_of(s), sim::Direction::to_device));
}

// One telegram in 1e9 takes so long that it is too old alone: no walk sees it, and no figure may leave it out.
TEST_CASE("an age that only a very rare delay reaches is in the upper figure") {
    Scenario s = stream(tests::Carries::feedback);
    tests::both_ends(s, [](proto::LinkSettings& link) { link.max_lag = 30; });
    s.to_controller.loss = s.to_device.loss = 0.0;
    s.to_device.delay = {
        .kind = DelayShape::Kind::histogram,
        .cells = {{milliseconds(1), milliseconds(2), 1'000'000'000}, {milliseconds(400), milliseconds(400), 1}}};
    tests::set_watchdogs(s, milliseconds(1000), milliseconds(1000));
    const sim::TripOdds odds = trip_odds(model_of(s), {});
    CAPTURE(odds.method);
    const double telegrams_a_year = sim::hours_per_year * 3600.0 / 0.010;
    if (odds.high) CHECK(*odds.high >= 0.99e-9 * telegrams_a_year);
}
