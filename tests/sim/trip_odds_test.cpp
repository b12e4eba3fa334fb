// How often a link stops for nothing: the exact chain beside closed forms, beside the full event simulation, and beside
// splitting, which shares nothing with it but the model of the link.
#include <cmath>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "sim/channel/delay_shapes.hpp"
#include "sim/odds/polled_chain.hpp"
#include "sim/odds/splitting.hpp"
#include "sim/odds/streaming_chain.hpp"
#include "sim/odds/trip_odds.hpp"
#include "tests/support/close.hpp"
#include "tests/support/counted_stops.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::microseconds;
using proto::milliseconds;
using sim::BackgroundTraffic;
using sim::BurstLoss;
using sim::DelayShape;
using sim::Scenario;
using tests::check_against_simulation;
using tests::Counted;
using tests::Interval;

void set_uniform(Scenario& s, proto::Duration low, proto::Duration high) {
    s.to_device.delay = s.to_controller.delay = {DelayShape::Kind::uniform, low, high, {}};
}
void set_loss(Scenario& s, double loss) { s.to_device.loss = s.to_controller.loss = loss; }

double chain_per_cycle(const Scenario& s) {
    const sim::ChainOdds odds = sim::polled_chain(sim::model_of(s));
    CHECK(odds.fits);
    return odds.total();
}

}  // namespace

// A watchdog that stops at the k-th failed exchange in a row, independent failures: the mean number of exchanges up to
// the stop is (1 - p^k) / (p^k (1 - p)), by the recursion for runs (Feller, An Introduction to Probability Theory,
// XIII.7).
TEST_CASE("independent losses: the closed form for runs to 1 %") {
    struct Row {
        double p;
        int k;
        double exchanges;
    };
    for (const Row& row : {Row{1e-2, 3, 1'010'100.0}, Row{1e-3, 2, 1'001'000.0}}) {
        Scenario s = tests::polled_link();
        s.to_device.loss = row.p;
        tests::set_watchdogs(s, milliseconds(10) * row.k + milliseconds(5), milliseconds(900));
        const double closed = (1.0 - std::pow(row.p, row.k)) / (std::pow(row.p, row.k) * (1.0 - row.p));
        CHECK(tests::close_to(closed, row.exchanges, 1e-6));
        CHECK(tests::close_to(1.0 / chain_per_cycle(s), closed, 0.01));
    }
}

// All lost in the bad state: (p / (p + r)) r (1 - r)^(k - 1) stops for each exchange.
TEST_CASE("burst losses: the closed form of the Gilbert chain to 1 %, and the simulation agrees") {
    Scenario s = tests::polled_link();
    s.to_device.bursts = BurstLoss{1e-3, 0.5, 0.0, 1.0};
    tests::set_watchdogs(s, milliseconds(35), milliseconds(900));
    constexpr double cycles_per_hour = 360'000.0;
    const double closed = 1e-3 / (1e-3 + 0.5) * 0.5 * 0.5 * 0.5;
    CHECK(tests::close_to(closed * cycles_per_hour, 89.8, 0.001));
    CHECK(tests::close_to(chain_per_cycle(s) * cycles_per_hour, 89.8, 0.01));
    check_against_simulation("Gilbert", s, 300'000);
}

TEST_CASE("the exact chain lies within the interval of what the full simulation counts") {
    {
        Scenario s = tests::polled_link();
        set_uniform(s, milliseconds(1), milliseconds(17));
        tests::set_watchdogs(s, milliseconds(35), milliseconds(45));
        s.device.link.scan = milliseconds(3);  // not a part of the cycle
        s.device_phase = microseconds(700);
        check_against_simulation("even delays near the limit", s, 300'000);
    }
    {
        Scenario s = tests::polled_link();
        set_loss(s, 0.05);
        s.to_controller.loss = 0.02;
        tests::set_watchdogs(s, milliseconds(35), milliseconds(40));
        check_against_simulation("losses", s, 300'000);
    }
    {
        Scenario s = tests::polled_link();
        set_uniform(s, milliseconds(1), milliseconds(27));
        set_loss(s, 0.02);
        tests::set_watchdogs(s, milliseconds(65), milliseconds(75));
        s.device.link.scan = milliseconds(2);
        check_against_simulation("delays of several cycles and losses", s, 300'000);
    }
    {
        Scenario s = tests::polled_link();
        s.to_device.bursts = BurstLoss{0.004, 0.3, 0.001, 0.9};
        s.to_controller.bursts = BurstLoss{0.002, 0.4, 0.0, 1.0};
        tests::set_watchdogs(s, milliseconds(45), milliseconds(55));
        check_against_simulation("bursts both ways", s, 300'000);
    }
    {
        Scenario s = tests::polled_link();
        s.to_device.bit_error_rate = 2e-6;
        s.to_controller.bit_error_rate = 1e-6;
        check_against_simulation("flipped bits, reaction trip", s, 300'000);
    }
    {
        Scenario s = tests::polled_link();
        s.to_device.bit_error_rate = 1e-5;
        s.to_controller.bit_error_rate = 2e-5;
        tests::both_ends(s, [](proto::LinkSettings& link) {
            link.reaction = proto::Reaction::discard;
            link.error_interval = milliseconds(900);
        });
        check_against_simulation("flipped bits, reaction discard", s, 300'000);
    }
}

TEST_CASE("the streaming chain lies within the interval of what the full simulation counts") {
    {
        Scenario s = tests::streaming_link();
        set_loss(s, 0.01);
        tests::both_ends(s, [](proto::LinkSettings& link) { link.missing_allowed = 1; });
        check_against_simulation("more missing than allowed", s, 300'000);
    }
    {
        Scenario s = tests::streaming_link();
        set_loss(s, 0.01);
        set_uniform(s, milliseconds(1), milliseconds(9));
        s.device.link.scan = milliseconds(10);
        tests::both_ends(s, [](proto::LinkSettings& link) { link.missing_allowed = 7; });
        tests::set_watchdogs(s, milliseconds(29), milliseconds(30));
        check_against_simulation("watchdog", s, 300'000);
    }
}

TEST_CASE("splitting agrees with the exact chain at 1e-10 and does not depend on the number of threads") {
    Scenario s = tests::polled_link();
    s.to_device.bursts = BurstLoss{0.01, 0.3, 0.001, 0.9};
    tests::set_watchdogs(s, milliseconds(405), milliseconds(405));
    const sim::LinkModel link = sim::model_of(s);
    const double exact = chain_per_cycle(s);
    CHECK(exact < 2e-10);
    sim::SplittingEffort effort;
    const sim::SplittingOdds one = split(link, effort);
    CHECK(one.standard_error < 0.15 * one.stops);
    CHECK(std::fabs(one.stops - exact) < 4.0 * one.standard_error);
    effort.jobs = 3;
    const sim::SplittingOdds three = split(link, effort);
    CHECK(one.stops == three.stops);
    CHECK(one.standard_error == three.standard_error);
}

TEST_CASE("splitting lies within the interval of what the full simulation counts behind other traffic") {
    Scenario s = tests::polled_link();
    s.to_device.queue = s.to_controller.queue =
        BackgroundTraffic{BackgroundTraffic::Kind::bursts, microseconds(200), 0.6, 20, milliseconds(200), 0.6, {}, {}};
    tests::set_watchdogs(s, milliseconds(55), milliseconds(55));
    const sim::TripOdds odds = trip_odds(sim::model_of(s), {});
    const Counted counted = tests::simulate(s, 600'000, 5);
    CHECK(counted.stops >= 20);
    const Interval interval = tests::garwood(counted.stops, 1e-3);
    CHECK(odds.high.value() * counted.years > interval.low);
    CHECK(odds.low * counted.years < interval.high);
}

TEST_CASE("odds never rise when the watchdog grows") {
    std::vector<Scenario> scenarios;
    scenarios.push_back(tests::polled_link());
    set_loss(scenarios.back(), 0.03);
    scenarios.push_back(tests::polled_link());
    set_uniform(scenarios.back(), milliseconds(1), milliseconds(17));
    set_loss(scenarios.back(), 1e-3);
    scenarios.back().device.link.scan = milliseconds(2);
    scenarios.push_back(tests::polled_link());
    scenarios.back().to_device.bursts = BurstLoss{0.01, 0.3, 0.001, 0.9};
    scenarios.push_back(tests::streaming_link());
    set_loss(scenarios.back(), 0.03);
    tests::both_ends(scenarios.back(), [](proto::LinkSettings& link) { link.missing_allowed = 5; });
    for (std::size_t i = 0; i < scenarios.size(); ++i) {
        CAPTURE(i);
        const sim::LinkModel link = sim::model_of(scenarios[i]);
        double before = 1e300;
        for (int ms = 12; ms <= 90; ms += 3) {
            const sim::TripOdds odds = trip_odds(with_watchdogs(link, milliseconds(ms)), {});
            CAPTURE(ms);
            CHECK(odds.per_year <= before * (1.0 + 1e-4));
            before = odds.per_year;
        }
        CHECK(before < 1e9);
    }
}

TEST_CASE("more loss never lowers the odds, nor does more load") {
    double before = 0.0;
    for (const double loss : {1e-4, 1e-3, 1e-2, 0.1}) {
        Scenario s = tests::polled_link();
        set_uniform(s, milliseconds(1), milliseconds(12));
        set_loss(s, loss);
        const double now = chain_per_cycle(s);
        CHECK(now > before);
        before = now;
    }
    double low_before = 0.0;
    for (const double load : {0.5, 0.65, 0.8}) {
        Scenario s = tests::polled_link();
        s.to_device.queue = BackgroundTraffic{
            BackgroundTraffic::Kind::bursts, microseconds(200), load, 40, milliseconds(200), load, {}, {}};
        tests::set_watchdogs(s, milliseconds(35), milliseconds(35));
        const sim::TripOdds odds = trip_odds(sim::model_of(s), {});
        CAPTURE(load);
        CHECK(odds.high.value() >= low_before);
        low_before = odds.low;
    }
    CHECK(low_before > 0.0);
}

TEST_CASE("nothing is claimed beyond what the samples of a measured channel support") {
    CHECK(tests::close_to(sim::unseen_share(1000), 3.0 / 1000, 0.01));  // the rule of three
    Scenario s = tests::polled_link();
    std::vector<proto::Duration> seen;
    seen.reserve(500);
    for (int i = 0; i < 500; ++i) seen.push_back(microseconds(900 + i));
    s.to_device.delay = s.to_controller.delay = sim::histogram_of_seen(seen);
    const sim::TripOdds odds = trip_odds(sim::model_of(s), {});
    CHECK_FALSE(odds.claimed);
    CHECK(odds.low == 0.0);
    CHECK(odds.high_as_described == 0.0);
    // 3.69 in 500 each way, by the rule of three at 97.5 %, and a stop for each
    const double cycles = sim::hours_per_year * 360'000.0;
    CHECK(tests::close_to(odds.high.value(), 2.0 * cycles * -std::log(0.025) / 500, 0.01));
    CHECK(odds.method.find("500 samples") != std::string::npos);
}

TEST_CASE(
    "what is rarer than once in a thousand million years is not claimed, and what cannot happen is said to be so") {
    Scenario s = tests::polled_link();
    set_loss(s, 1e-6);
    tests::set_watchdogs(s, milliseconds(85), milliseconds(85));
    const sim::TripOdds rare = trip_odds(sim::model_of(s), {});
    CHECK_FALSE(rare.claimed);
    CHECK(rare.high == sim::rarest_claim_per_year);
    CHECK(rare.method.find("too rare to claim") == 0);
    set_loss(s, 0.0);
    const sim::TripOdds never = trip_odds(sim::model_of(s), {});
    CHECK(never.claimed);
    CHECK(never.high == 0.0);
    CHECK(chain_per_cycle(s) == 0.0);
    // a nanosecond less than what is always enough: the chain agrees up to there, and sees stops once it is far less
    set_uniform(s, milliseconds(1), milliseconds(17));
    s.device.link.scan = milliseconds(2);
    tests::set_watchdogs(s, milliseconds(17 + 17 + 2 + 10), milliseconds(17 + 17 + 2 + 10));
    CHECK(trip_odds(sim::model_of(s), {}).high == 0.0);
    CHECK(chain_per_cycle(s) == 0.0);
    tests::set_watchdogs(s, milliseconds(29), milliseconds(29));
    CHECK(chain_per_cycle(s) > 0.0);
}
