// One search, one set of odds: what the window says and what the rows of a table say cannot differ. And what was
// measured never makes a watchdog usable that it cannot show to be so.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "sim/channel/delay_shapes.hpp"
#include "sim/numeric/random.hpp"
#include "sim/odds/window.hpp"
#include "sim/scenario/units.hpp"
#include "tests/support/close.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::microseconds;
using proto::milliseconds;
using sim::RareEnough;
using sim::Scenario;

const auto nobody = [](const std::string&) {};

struct Found {
    std::vector<sim::WatchdogPoint> points;
    sim::WatchdogWindow window;
};

Found look(const Scenario& s, const std::vector<Duration>& rows) {
    const sim::OddsEffort effort{.jobs = 2, .seed = 3, .thorough = true};
    sim::OddsByWatchdog odds(s, effort);
    seek_lowest(s, odds);
    odds.reckon(rows, [](std::size_t) {});
    Found found;
    found.window = watchdog_window(s, odds, effort, nobody);
    for (const Duration row : rows) found.points.push_back(watchdog_point(s, row, odds));
    return found;
}

void check_agreement(const Found& found) {
    double high_before = 1e300;
    for (const sim::WatchdogPoint& point : found.points) {
        CAPTURE(sim::written(point.watchdog));
        CAPTURE(point.odds.method);
        CHECK((point.stops == RareEnough::yes) == (found.window.lowest && point.watchdog >= *found.window.lowest));
        if (point.odds.high) {
            CHECK(*point.odds.high <= high_before);
            high_before = *point.odds.high;
        }
        if (point.odds.claimed && point.odds.high) {
            CHECK(point.odds.low <= point.odds.per_year * (1.0 + 1e-9));
            CHECK(point.odds.per_year <= *point.odds.high * (1.0 + 1e-9));
        }
        if (point.usable() == std::optional(true)) CHECK(found.window.lowest.has_value());
    }
    if (found.window.cannot_be_told) CHECK_FALSE(found.window.open());
}

/// Round trips of some 9 ms, of which nine take 47 to 129 ms: what a ping over an office's air looks like.
std::vector<Duration> round_trips(int count) {
    std::vector<Duration> all;
    all.reserve(static_cast<std::size_t>(count));
    for (int i = 0; i < count - 9; ++i) all.push_back(microseconds(6000 + static_cast<int>(6000.0 * i / count)));
    for (const int ms : {47, 52, 61, 83, 98, 109, 116, 121, 129}) all.push_back(milliseconds(ms));
    return all;
}

Scenario measured(int count, bool as_round_trips) {
    Scenario s = tests::polled_link();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.cycle = link.scan = milliseconds(12); });
    s.trip_limit = {.per_year = 1.0, .stated = true};
    s.required = {};
    std::vector<Duration> all = round_trips(count);
    if (!as_round_trips) {
        s.to_device.delay = sim::histogram_of_seen(all);
        s.to_controller.delay.low = s.to_controller.delay.high = Duration{};
        return s;
    }
    s.to_device.delay = s.to_controller.delay =
        sim::histogram_of_round_trips(all, sim::Direction::to_device, "trips.csv");
    sim::share_round_trips(s.to_device.delay, s.to_controller.delay);
    return s;
}

std::vector<Duration> rows_of(int from, int to, int step) {
    std::vector<Duration> rows;
    for (int ms = from; ms <= to; ms += step) rows.push_back(milliseconds(ms));
    return rows;
}

}  // namespace

TEST_CASE("over random links the window and every row say the same") {
    const sim::Random draws(17, sim::Concern::trial, 0);
    std::uint64_t made = 0;
    const auto pick = [&](std::uint64_t below) { return static_cast<int>(draws.at(made++) % below); };
    // a hopeless link takes seconds, and minutes under sanitizers
    for (int i = 0; i < (tests::depth_wanted() < 6 ? 2 : 12); ++i) {
        Scenario s = pick(4) == 0 ? tests::streaming_link() : tests::polled_link();
        s.device.link.scan = milliseconds(2 + pick(9));
        s.device_phase = microseconds(pick(2000));
        s.trip_limit = {.per_year = std::pow(10.0, pick(6) - 3), .stated = true};
        const int low = pick(8);
        for (sim::ChannelSettings* way : {&s.to_device, &s.to_controller}) {
            way->delay = {sim::DelayShape::Kind::uniform, milliseconds(low), milliseconds(low + pick(6)), {}};
            way->loss = pick(3) == 0 ? 0.0 : std::pow(10.0, -2 - pick(5));
        }
        if (pick(4) == 0)
            s.to_device.delay =
                histogram_of(sim::GammaDelay{.offset = milliseconds(1), .mean = milliseconds(3), .alpha = 2.0});
        CAPTURE(i);
        check_agreement(look(s, rows_of(20, 120, 10)));
    }
}

// What 5 000 times leave possible is 3 of 5 000, some million a year at a cycle of 12 ms.
TEST_CASE("no watchdog is called usable by 5 000 measured times, however long, and none of its rows is") {
    for (const bool as_round_trips : {true, false}) {
        CAPTURE(as_round_trips);
        const Found found = look(measured(5000, as_round_trips), rows_of(60, 300, 12));
        check_agreement(found);
        CHECK_FALSE(found.window.open());
        CHECK(found.window.cannot_be_told);
        CHECK_FALSE(found.window.openers.empty());
        CHECK(found.window.why.find("5000 measured times") != std::string::npos);
        for (const sim::WatchdogPoint& point : found.points) CHECK(point.usable() != std::optional(true));
        CHECK_FALSE(found.points.back().usable().has_value());  // only the unseen ones stand between
        CHECK(found.points.back().why.find("cannot be told") != std::string::npos);
    }
}

TEST_CASE("beside each row stands what the file itself says, and the upper figure is no lower") {
    const Scenario s = measured(5000, true);
    const Found found = look(s, {milliseconds(96), milliseconds(97), milliseconds(130), milliseconds(300)});
    const std::uint64_t longer[] = {5, 5, 2, 0};  // over 96, 96, 120 and 300 ms
    const double exchanges = sim::hours_per_year * 3600.0 / 0.012;
    for (std::size_t i = 0; i < found.points.size(); ++i) {
        CAPTURE(i);
        const auto& share = found.points[i].odds.measured;
        REQUIRE(share.has_value());
        CHECK(share->round_trips);
        CHECK(share->samples == 5000);
        CHECK(share->longer == longer[i]);
        CHECK(share->low * 5000 <= static_cast<double>(share->longer));
        CHECK(share->high * 5000 >= static_cast<double>(share->longer));
        // of none at all the bound is one-sided
        const double high = longer[i] > 0 ? share->high : sim::unseen_share(5000);
        CHECK(found.points[i].odds.high.value() >= high * exchanges * 0.999);
        // what is drawn is what was measured: each time that is too long for an exchange stops the link
        if (longer[i] > 0) {
            CHECK(found.points[i].odds.claimed);
            CHECK(found.points[i].odds.per_year >= 0.8 * static_cast<double>(longer[i]) / 5000 * exchanges);
        }
    }
    CHECK(found.points[0].usable() == std::optional(false));
}

TEST_CASE("somebody who stands for a longest delay opens the window, from where it fits") {
    Scenario s = measured(5000, false);
    s.declared_delay = milliseconds(150);
    const Found found = look(s, rows_of(60, 300, 12));
    check_agreement(found);
    REQUIRE(found.window.open());
    CHECK(*found.window.lowest >= milliseconds(150));
    CHECK(*found.window.lowest <= milliseconds(200));
}

TEST_CASE("an ideal channel gets a lower end and no suggestion") {
    Scenario s = tests::polled_link();
    const Found found = look(s, rows_of(20, 60, 10));
    CHECK(found.window.open());
    CHECK(found.window.ideal_channel);
    CHECK_FALSE(found.window.suggested.has_value());
    s.to_device.loss = 1e-6;
    CHECK(look(s, rows_of(20, 60, 10)).window.suggested.has_value());
}
