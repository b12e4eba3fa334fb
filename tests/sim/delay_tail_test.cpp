// Delays of which there is less than one in a million: drawn, and reckoned with, as the formula has them. A year has
// 3e9 telegrams, and with order kept each that is late stops the link.
#include <cmath>
#include <cstdint>

#include <doctest/doctest.h>
#include <boost/math/distributions/gamma.hpp>
#include <boost/math/distributions/lognormal.hpp>
#include <boost/math/distributions/normal.hpp>

#include "sim/channel/delay.hpp"
#include "sim/channel/delay_law.hpp"
#include "sim/channel/delay_shapes.hpp"
#include "sim/numeric/random.hpp"
#include "sim/odds/delay_chance.hpp"
#include "sim/odds/trip_odds.hpp"
#include "sim/timing/bounds.hpp"
#include "tests/support/close.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::microseconds;
using proto::milliseconds;
using sim::DelayShape;

/// 4 ms and a share that is lognormal around 2.2 ms.
DelayShape office_air() {
    return histogram_of(sim::LognormalDelay{.offset = milliseconds(4), .median = microseconds(2200), .sigma = 0.5});
}

/// The shares above, from one in 1e6 to one in 1e22, beside those of a law of milliseconds.
template <class Law>
void check_tail(const DelayShape& shape, const Law& law, double offset_ms) {
    const sim::DelayChance chance(shape);
    for (int power = -7; power > -22; --power) {
        const double share = std::pow(10.0, power);
        const double ms = boost::math::quantile(complement(law, share));
        CAPTURE(share);
        CHECK(tests::close_to(chance.above(static_cast<std::int64_t>((ms + offset_ms) * 1e6)), share, 0.02));
    }
}

}  // namespace

TEST_CASE("shares above one in a million are those of Boost.Math, down to 1e-22") {
    check_tail(office_air(), boost::math::lognormal(std::log(2.2), 0.5), 4.0);
    check_tail(histogram_of(sim::NormalDelay{.mean = milliseconds(5), .deviation = milliseconds(1), .floor = {}}),
               boost::math::normal(5.0, 1.0), 0.0);
    for (const double alpha : {0.5, 1.0, 20.0})
        check_tail(histogram_of(sim::GammaDelay{.offset = milliseconds(1), .mean = milliseconds(3), .alpha = alpha}),
                   boost::math::gamma_distribution(alpha, 3.0 / alpha), 1.0);
}

TEST_CASE("one draw in a million lies in the tail, and all others are what they were") {
    const DelayShape shape = office_air();
    DelayShape cut = shape;
    cut.tail.clear();
    cut.tail_share = 0.0;
    const sim::DelayTable whole(shape), without(cut);
    CHECK(whole.longest() == without.longest());
    int beyond = 0, differing = 0;
    const int draws = tests::depth_wanted() < 6 ? 2'000'000 : 20'000'000;
    for (int i = 0; i < draws; ++i) {
        const std::uint64_t draw = sim::scramble(static_cast<std::uint64_t>(i));
        const bool late = whole.at(draw) > whole.longest();
        beyond += late ? 1 : 0;
        differing += !late && whole.at(draw) != without.at(draw) ? 1 : 0;
    }
    CHECK(differing == 0);
    // Poisson, mean 20, or 2 with fewer draws: outside in one of 1e5
    CHECK(beyond >= (draws < 20'000'000 ? 0 : 4));
    CHECK(beyond <= (draws < 20'000'000 ? 12 : 44));
}

TEST_CASE("a formula without an end has no tail where it has one, and none that outlasts twelve days") {
    CHECK(sim::delay_preset("wired-switched")->tail.empty());
    const DelayShape wide = histogram_of(sim::LognormalDelay{.offset = {}, .median = proto::seconds(60), .sigma = 2.0});
    CHECK(sim::latest_of(wide) == proto::milliseconds(1'000'000'000));
}

// The device's watchdog runs out if one telegram to it takes longer than it has to wait; that alone comes so often.
TEST_CASE("odds far out in the tail are no lower than one late telegram makes them") {
    sim::Scenario s = tests::polled_link();
    s.to_device.delay = s.to_controller.delay = office_air();
    s.device.link.scan = milliseconds(10);
    const double cycles = sim::hours_per_year * 360'000.0;
    const boost::math::lognormal law(std::log(2.2), 0.5);
    for (const int watchdog : {60, 80, 120}) {
        tests::set_watchdogs(s, milliseconds(watchdog), milliseconds(watchdog));
        const sim::TripOdds odds = trip_odds(sim::model_of(s), {});
        CAPTURE(watchdog);
        CAPTURE(odds.method);
        // later than the watchdog whenever it was sent: too late in any case
        const double at_least = 2.0 * cycles * cdf(complement(law, watchdog - 4.0));
        CHECK(odds.method.starts_with("exact chain"));
        CHECK(odds.low > 0.9 * at_least);
        CHECK(odds.high.value() < 1000.0 * at_least);
        CHECK(odds.high.value() < 1.1 * odds.low);
    }
}

TEST_CASE("a stream without a bound on its delays has no odds that end with the table") {
    sim::Scenario s = tests::streaming_link();
    s.to_device.delay = s.to_controller.delay = office_air();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.missing_allowed = 7; });
    tests::set_watchdogs(s, milliseconds(60), milliseconds(60));
    const sim::TripOdds odds = trip_odds(sim::model_of(s), {});
    const double cycles = sim::hours_per_year * 360'000.0;
    const boost::math::lognormal law(std::log(2.2), 0.5);
    CAPTURE(odds.method);
    CHECK(odds.high.value() > 2.0 * cycles * cdf(complement(law, 80.0)));
    CHECK(odds.per_year > 0.0);
}
