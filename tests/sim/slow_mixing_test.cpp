// Constant delays: how the scans of both ends stand to each other lasts until a telegram is lost, and some ways of
// standing stop with one loss where others ride through two. The odds must hold from whichever the link starts with.
#include <cmath>
#include <cstdint>

#include <doctest/doctest.h>

#include "sim/odds/polled_chain.hpp"
#include "sim/odds/splitting.hpp"
#include "sim/odds/trip_odds.hpp"
#include "tests/support/close.hpp"
#include "tests/support/counted_stops.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::microseconds;
using proto::milliseconds;

/// Scans that meet every 30 ms, an exchange of three cycles, and room for one of its telegrams to be sent again.
sim::Scenario standing_apart(double loss) {
    sim::Scenario s = tests::polled_link();
    s.device.link.scan = milliseconds(6);
    s.device_phase = milliseconds(1);
    s.to_device.delay.low = s.to_device.delay.high = microseconds(12'437);
    s.to_controller.delay.low = s.to_controller.delay.high = microseconds(10'466);
    s.to_device.loss = s.to_controller.loss = loss;
    tests::set_watchdogs(s, microseconds(41'700), microseconds(41'700));
    return s;
}

}  // namespace

TEST_CASE("constant delays: odds agree with the full simulation where scans mix by losses only") {
    for (const double loss : {1e-2, 1e-3}) {
        tests::check_against_simulation("standing apart", standing_apart(loss), 400'000);
        sim::Scenario narrow = standing_apart(loss);
        narrow.to_device.delay = {sim::DelayShape::Kind::uniform, microseconds(12'400), microseconds(12'600), {}};
        tests::check_against_simulation("narrow", narrow, 400'000);
    }
}

// Each loss that matters is one loss, so stops come in proportion to it; a chain that is followed for a while and not
// solved is too low by the inverse of the loss.
TEST_CASE("where one loss stops a link, the odds are in proportion to it down to the rarest") {
    const double at_1e4 = polled_chain(sim::model_of(standing_apart(1e-4))).total() / 1e-4;
    for (const double loss : {1e-6, 1e-9, 1e-12}) {
        const sim::ChainOdds odds = polled_chain(sim::model_of(standing_apart(loss)));
        CAPTURE(loss);
        CHECK(odds.fits);
        CHECK(tests::close_to(odds.total() / loss, at_1e4, 1e-3));
        CHECK(odds.least <= odds.total());
        CHECK(odds.total() <= odds.most);
        CHECK(odds.most < 3.0 * odds.least);
    }
}

TEST_CASE("without losses a link that runs runs for ever, or stops at once where its scans stand badly") {
    const sim::ChainOdds odds = polled_chain(sim::model_of(standing_apart(0.0)));
    CHECK(odds.most == 0.0);
    // A scan of the device in two cycles: what is sent in the one before it is back after two cycles, and so is all
    // that follows; what is sent in the other takes three, and the watchdog has two.
    sim::Scenario s = tests::polled_link();
    s.device.link.scan = milliseconds(20);
    s.device_phase = milliseconds(1);
    s.to_device.delay.low = s.to_device.delay.high = microseconds(10'500);
    tests::set_watchdogs(s, milliseconds(25), milliseconds(25));
    const sim::ChainOdds some = polled_chain(sim::model_of(s));
    CHECK(some.least == 0.0);
    CHECK(some.most > 0.3);
    CHECK(trip_odds(sim::model_of(s), {}).low == 0.0);
    CHECK(trip_odds(sim::model_of(s), {}).high.value() > 1e8);
}

TEST_CASE("chains too large to be solved say the same when they are followed") {
    sim::Scenario s = standing_apart(1e-2);
    s.to_device.delay = {sim::DelayShape::Kind::uniform, milliseconds(9), milliseconds(15), {}};
    const sim::LinkModel link = sim::model_of(s);
    const sim::ChainOdds solved = polled_chain(link);
    sim::ChainEffort followed;
    followed.solved_states_most = 0;
    const sim::ChainOdds stepwise = polled_chain(link, followed);
    REQUIRE(solved.fits);
    REQUIRE(stepwise.fits);
    CHECK(tests::close_to(stepwise.total(), solved.total(), 2e-3));
    CHECK(stepwise.most >= solved.least);
    CHECK(stepwise.least <= solved.most);
}

TEST_CASE("splitting starts in every way that scans can stand to each other") {
    const sim::LinkModel link = sim::model_of(standing_apart(1e-4));
    const sim::ChainOdds exact = polled_chain(link);
    const sim::SplittingOdds walked = split(link, {});
    CHECK(walked.stops + 4.0 * walked.standard_error > exact.least);
    CHECK(walked.stops - 4.0 * walked.standard_error < exact.most);
}
