// Round trips that were measured: what the file says by itself, the odds, simulated years and the event loop agree, and
// neighbours that come together are told and reckoned with.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

#include <doctest/doctest.h>

#include "sim/channel/delay.hpp"
#include "sim/channel/delay_shapes.hpp"
#include "sim/channel/fitted_tail.hpp"
#include "sim/drive/endurance.hpp"
#include "sim/numeric/random.hpp"
#include "sim/odds/neighbours.hpp"
#include "sim/odds/odds_by_watchdog.hpp"
#include "sim/scenario/scenario.hpp"
#include "tests/support/counted_stops.hpp"
#include "tests/support/scenarios.hpp"

using proto::Duration;
using proto::microseconds;
using proto::milliseconds;
using sim::Scenario;

namespace {

enum class Late : std::uint8_t { scattered, together };

/// 5 000 round trips about 9 ms, and some of 60 to 140 ms.
std::vector<Duration> round_trips(Late late) {
    const sim::Random draws(5, sim::Concern::trial);
    constexpr std::uint64_t count = 5000;
    std::vector<Duration> all;
    for (std::uint64_t i = 0; i < count; ++i)
        all.push_back(milliseconds(6) + microseconds(static_cast<int>(draws.below(i, 6000))));
    std::uint64_t made = count;
    for (int spike = 0; spike < 10; ++spike) {
        const std::uint64_t at = draws.below(made++, count - 40);
        const int width = late == Late::together ? 6 : 1;
        for (int i = 0; i < width; ++i)
            all[at + static_cast<std::uint64_t>(i)] =
                milliseconds(60 + static_cast<int>(draws.below(made++, late == Late::together ? 25 : 80)));
    }
    return all;
}

Scenario link(const std::vector<Duration>& trips, Duration watchdog) {
    Scenario s = tests::polled_link();
    tests::both_ends(s, [](proto::LinkSettings& each) { each.cycle = each.scan = milliseconds(12); });
    tests::set_watchdogs(s, watchdog, watchdog);
    s.to_device.delay = s.to_controller.delay =
        sim::histogram_of_round_trips(trips, sim::Direction::to_device, "trips.csv");
    sim::share_round_trips(s.to_device.delay, s.to_controller.delay);
    s.operator_acts = {{sim::OperatorAct::Event::acknowledgement_requested,
                        sim::OperatorAct::Act::acknowledge,
                        milliseconds(500),
                        {}}};
    return s;
}

struct Unwatched final : sim::EnduranceMonitor {
    bool go_on(double) override { return true; }
};

}  // namespace

TEST_CASE("of measured round trips the file, the odds, the event loop and simulated years say the same") {
    const std::vector<Duration> trips = round_trips(Late::scattered);
    constexpr double second = 1e9;
    for (const int ms : {84, 96, 108, 120, 132}) {
        CAPTURE(ms);
        const Scenario s = link(trips, milliseconds(ms));
        const sim::TripOdds odds = trip_odds(model_of(s), {});
        CAPTURE(odds.method);
        CAPTURE(odds.per_year);
        CAPTURE(odds.low);
        CAPTURE(odds.high.value_or(-1.0));
        const auto longer = static_cast<std::uint64_t>(
            std::count_if(trips.begin(), trips.end(), [&](Duration d) { return d > milliseconds(ms / 12 * 12); }));
        REQUIRE(odds.measured);
        CHECK(odds.measured->longer == longer);
        // each that is too long is a stop: not a few hundred times fewer, as halves drawn apart would have it
        const double cycles_a_year = sim::hours_per_year * 3600.0 * second / 12e6;
        CHECK(odds.per_year >= 0.8 * static_cast<double>(longer) / 5000.0 * cycles_a_year);
        const tests::Counted counted = tests::simulate(s, 200'000, 3);
        REQUIRE(counted.stops >= 10);
        const tests::Interval loop = tests::garwood(counted.stops, 1e-4);
        CAPTURE(counted.stops);
        // as described, without what the sample leaves open
        CHECK(loop.low / counted.years <= odds.per_year);
        CHECK(loop.high / counted.years >= odds.per_year);

        Unwatched nobody;
        const double years = 60.0 / odds.per_year;
        const sim::EnduranceOutlook outlook = endurance_outlook(s);
        const sim::EnduranceResult result = sim::endure({s, 7, sim::parts_of_years(years), outlook.method, 1}, nobody);
        const tests::Interval simulated = tests::garwood(result.spurious(), 1e-4);
        const double run = (result.seconds - result.seconds_stopped) / (sim::hours_per_year * 3600.0);
        CAPTURE(result.spurious());
        CHECK(simulated.low / run <= odds.per_year);
        CHECK(simulated.high / run >= odds.per_year);
    }
}

TEST_CASE("late ones that come together are found, and in blocks the odds are those of the channel in blocks") {
    const std::vector<Duration> trips = round_trips(Late::together);
    Scenario s = link(trips, milliseconds(72));
    const sim::Neighbours found = neighbours_of(s);
    REQUIRE(found.ways[0]);
    CHECK_FALSE(found.ways[1]);  // half of the shortest, always
    CHECK(found.ways[0]->verdict == sim::DependenceVerdict::dependent);
    CHECK(found.blocks[0] >= 6);
    CHECK(found.blocks[0] < 500);
    CHECK(in_words(found).size() == 1);

    sim::OddsByWatchdog odds(s, {.jobs = 1, .seed = 1, .thorough = true, .blocks = found.blocks});
    const sim::TripOdds both = odds.at(milliseconds(72));
    REQUIRE(both.in_blocks);
    // sixty telegrams that are late together make ten stops, drawn alone nearly as many as they are
    CHECK(both.in_blocks->per_year < 0.5 * both.per_year);
    CHECK(both.high.value_or(0.0) >= both.in_blocks->per_year);

    s.to_device.delay.block = found.blocks[0];
    const tests::Counted counted = tests::simulate(s, 300'000, 5);
    const tests::Interval loop = tests::garwood(counted.stops, 1e-4);
    CAPTURE(both.in_blocks->per_year);
    const double rate = static_cast<double>(counted.stops) / counted.years;
    CAPTURE(rate);
    CHECK(loop.low / counted.years <= both.in_blocks->high.value_or(0.0));
    CHECK(loop.high / counted.years >= both.in_blocks->low);
    CHECK(both.in_blocks->per_year > 0.7 * rate);
    CHECK(both.in_blocks->per_year < 1.4 * rate);
}

// The truth is a formula with its tail; 20 000 draws of it are measured.
TEST_CASE("a fit to the longest times brings the upper figure nearer to the truth, and not under it") {
    const sim::DelayShape formula =
        histogram_of(sim::LognormalDelay{.offset = milliseconds(4), .median = microseconds(2200), .sigma = 0.5});
    const sim::DelayTable table(formula);
    Scenario truth = link(round_trips(Late::scattered), milliseconds(36));
    truth.to_device.delay = formula;
    truth.to_controller.delay = {.low = milliseconds(1), .high = milliseconds(1)};
    for (std::uint64_t sample = 2; sample <= 5; ++sample) {
        CAPTURE(sample);
        const sim::Random draws(sample, sim::Concern::delay);
        std::vector<Duration> times;
        for (std::uint64_t i = 0; i < 20'000; ++i) times.push_back(table.of(draws, i));
        Scenario seen = truth;
        seen.to_device.delay = sim::histogram_of_seen(times);
        Scenario fitted = seen;
        keep_fitted_tail(fitted.to_device.delay, sim::fitted_tail_of(times, 0));
        REQUIRE(fitted.to_device.delay.fitted);
        REQUIRE(fitted.to_device.delay.fitted->refused.empty());
        for (const int ms : {36, 48, 60}) {
            CAPTURE(ms);
            const auto odds = [&](const Scenario& s) {
                return trip_odds(with_watchdogs(model_of(s), milliseconds(ms)), {});
            };
            const sim::TripOdds of_truth = odds(truth), of_fit = odds(fitted), of_seen = odds(seen);
            CAPTURE(of_truth.per_year);
            CAPTURE(of_fit.low);
            CAPTURE(of_fit.high.value_or(-1.0));
            CAPTURE(of_seen.high.value_or(-1.0));
            CHECK(of_fit.low <= of_truth.per_year);
            CHECK(of_fit.high.value_or(0.0) >= of_truth.per_year);
            if (ms > 36) CHECK(of_fit.high.value_or(1e300) < 0.3 * of_seen.high.value_or(0.0));
        }
    }
}

TEST_CASE("an exchange that nobody saw may be as late as is declared on both ways, and on either of them") {
    // every round trip 8 ms; with 40 ms declared for a way, one may take 80
    Scenario s = link(std::vector<Duration>(4000, milliseconds(8)), milliseconds(72));
    s.declared_delay = milliseconds(40);
    const auto at = [&](int ms) { return trip_odds(with_watchdogs(model_of(s), milliseconds(ms)), {}); };
    const double one_in_all = sim::unseen_share(4000) * sim::hours_per_year * 3600.0 / 0.012;
    CHECK(at(72).high.value_or(0.0) > 0.5 * one_in_all);
    CHECK(at(120).high.value_or(1.0) == 0.0);

    // of the two ways on which it may have been late the worse decides, unless somebody says which it was
    Scenario uneven = link(round_trips(Late::scattered), milliseconds(96));
    uneven.device.link.scan = milliseconds(5);
    tests::set_watchdogs(uneven, milliseconds(96), milliseconds(72));
    Scenario stated = uneven, other = uneven;
    for (Scenario* one : {&stated, &other}) {
        one->to_device.delay.of_round_trips->stated = sim::OfRoundTrips::Late::stated;
        one->to_controller.delay.of_round_trips->stated = sim::OfRoundTrips::Late::stated;
    }
    std::swap(other.to_device.delay, other.to_controller.delay);
    const sim::TripOdds either = trip_odds(model_of(uneven), {}), out = trip_odds(model_of(stated), {}),
                        back = trip_odds(model_of(other), {});
    CHECK(either.high == std::max(out.high, back.high));
    CHECK(either.low == std::min(out.low, back.low));
}

TEST_CASE("a tail is drawn in blocks too") {
    sim::DelayShape shape = sim::histogram_of_seen({milliseconds(1), milliseconds(2), milliseconds(3)});
    shape.block = 2;
    shape.tail = {{milliseconds(50), milliseconds(60), 1}};
    shape.tail_share = 0.25;
    const sim::DelayTable table(shape);
    const sim::Random draws(9, sim::Concern::delay);
    sim::DelayTable::Place place;
    int late = 0, late_walked = 0;
    constexpr int count = 20'000;
    for (int i = 0; i < count; ++i) {
        late += table.of(draws, static_cast<std::uint64_t>(i)) >= milliseconds(50) ? 1 : 0;
        late_walked += table.after(place, draws.at(static_cast<std::uint64_t>(count + i))) >= milliseconds(50) ? 1 : 0;
    }
    CHECK(std::abs(late - count / 4) < 400);
    CHECK(std::abs(late_walked - count / 4) < 400);
}

TEST_CASE("times of which each stands for itself are drawn alone, and a window asks the worse of both models") {
    const std::vector<Duration> trips = round_trips(Late::scattered);
    const Scenario s = link(trips, milliseconds(96));
    CHECK(neighbours_of(s).blocks == std::array<std::uint64_t, 2>{});
    sim::OddsByWatchdog alone(s, {});
    CHECK(alone.in_blocks() == nullptr);
    CHECK_FALSE(alone.at(milliseconds(96)).in_blocks);

    sim::TripOdds odds = alone.at(milliseconds(96));
    sim::TripOdds worse = odds, better = odds;
    odds.high = 0.5;
    worse.high = 2.0;
    worse.low = 1.5;
    better.high = 0.1;
    CHECK(odds.at_most(1.0));
    odds.in_blocks = std::make_shared<const sim::TripOdds>(worse);
    CHECK_FALSE(odds.at_most(1.0));
    CHECK(rare_enough(odds, 1.0) == sim::RareEnough::no);
    CHECK(odds.worse().high == 2.0);
    odds.in_blocks = std::make_shared<const sim::TripOdds>(better);
    CHECK(odds.at_most(1.0));
    CHECK(odds.worse().high == 0.5);
}
