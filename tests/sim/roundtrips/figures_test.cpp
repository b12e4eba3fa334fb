#include "sim/roundtrips/figures.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <numeric>
#include <vector>

namespace {

using proto::Duration;
using proto::microseconds;
using proto::milliseconds;
using sim::RoundTrips;

constexpr std::int64_t lost = -1;

/// Sent every 10 ms; times on the line in microseconds.
RoundTrips run_of(const std::vector<std::int64_t>& us) {
    RoundTrips run;
    for (std::size_t i = 0; i < us.size(); ++i)
        run.sent.push_back({.at = milliseconds(10) * static_cast<std::int64_t>(i),
                            .own_lateness = microseconds(static_cast<std::int64_t>(i)),
                            .line = us[i] == lost ? Duration{-1} : microseconds(us[i]),
                            .answered_after = microseconds(3)});
    return run;
}

TEST_CASE("middle, 99 of 100 and longest are times of the list, the longer one where two could be meant") {
    std::vector<Duration> times;
    CHECK_FALSE(sim::spread_of(times));
    for (int i = 200; i > 0; --i) times.push_back(Duration{i});
    const auto spread = sim::spread_of(times);
    REQUIRE(spread);
    CHECK(spread->median == Duration{101});
    CHECK(spread->p99 == Duration{199});
    CHECK(spread->max == Duration{200});
    CHECK(std::count_if(times.begin(), times.end(), [&](Duration t) { return t <= spread->p99; }) * 100 >=
          99 * static_cast<std::int64_t>(times.size()));
    const auto alone = sim::spread_of({Duration{5}});
    CHECK((alone->median == Duration{5} && alone->p99 == Duration{5} && alone->max == Duration{5}));
}

TEST_CASE("figures of a run are those of what was answered, own lateness that of all") {
    const sim::RoundTripFigures figures = sim::figures_of(run_of({500, lost, 300, lost, 900}));
    CHECK(figures.sent == 5);
    CHECK(figures.lost == 2);
    CHECK(figures.line->median == microseconds(500));
    CHECK(figures.line->max == microseconds(900));
    CHECK(figures.own_lateness->max == microseconds(4));
    CHECK(figures.answered_after->max == microseconds(3));
    const sim::RoundTripFigures nothing = sim::figures_of(run_of({lost, lost}));
    CHECK(nothing.lost == 2);
    CHECK_FALSE(nothing.line);
    CHECK(nothing.own_lateness);
}

TEST_CASE("gaps are runs of losses, at the begin and the end too") {
    const auto gaps = sim::gaps_of(run_of({lost, lost, 1, lost, 1, 1, lost, lost, lost}));
    REQUIRE(gaps.size() == 3);
    CHECK((gaps[0].first == 0 && gaps[0].count == 2));
    CHECK((gaps[1].first == 3 && gaps[1].count == 1 && gaps[1].from == gaps[1].to));
    CHECK((gaps[2].first == 6 && gaps[2].count == 3));
    CHECK((gaps[2].from == milliseconds(60) && gaps[2].to == milliseconds(80)));
    CHECK(sim::gaps_of(run_of({1, 1})).empty());
}

TEST_CASE("slices of the run hold each datagram once, and their figures are those of their datagrams") {
    std::vector<std::int64_t> us(100, 50);
    us[55] = 7000;
    us[99] = lost;
    const RoundTrips run = run_of(us);
    const auto slices = sim::slices_of(run, 10);
    REQUIRE(slices.size() == 10);
    std::uint64_t sent = 0, lost_there = 0;
    for (const sim::Slice& slice : slices) {
        sent += slice.sent;
        lost_there += slice.lost;
    }
    CHECK((sent == 100 && lost_there == 1));
    CHECK(slices[9].lost == 1);
    CHECK(slices[5].line->max == microseconds(7000));
    CHECK(slices[5].line->median == microseconds(50));
    CHECK(slices[4].line->max == microseconds(50));
    CHECK((slices[0].from == Duration{} && slices[1].from > slices[0].from));
    CHECK(sim::slices_of(run_of({1, 1}), 10).size() == 2);
    CHECK(sim::slices_of({}, 10).empty());
    // a pause in sending is a slice without a figure
    RoundTrips paused = run_of({1, 1, 1});
    paused.sent[2].at = milliseconds(300);
    const auto with_pause = sim::slices_of(paused, 3);
    CHECK((with_pause[1].sent == 0 && !with_pause[1].line));
}

TEST_CASE("the histogram holds every answered time once, in the cell that it lies in, without a hole") {
    std::vector<std::int64_t> us{0, 1, 11, 12, 100, 112, 1000, 1119, 1120, 999'999, lost};
    for (std::int64_t i = 0; i < 500; ++i) us.push_back(i * i);
    const RoundTrips run = run_of(us);
    const auto cells = sim::histogram_of(run);
    REQUIRE(cells.size() > 20);
    std::uint64_t all = 0;
    for (std::size_t i = 0; i < cells.size(); ++i) {
        CHECK(cells[i].from < cells[i].to);
        if (i > 0) CHECK(cells[i].from == cells[i - 1].to);
        const auto inside = std::count_if(run.sent.begin(), run.sent.end(), [&](const sim::RoundTrip& each) {
            return each.answered() && each.line >= cells[i].from && each.line < cells[i].to;
        });
        CHECK(cells[i].count == static_cast<std::uint64_t>(inside));
        all += cells[i].count;
    }
    CHECK(all == us.size() - 1);
    CHECK(cells.front().count > 0);
    CHECK(cells.back().count > 0);
    CHECK(sim::histogram_of(run_of({lost})).empty());
    const auto one = sim::histogram_of(run_of({1119}));
    REQUIRE(one.size() == 1);
    CHECK((one[0].from == microseconds(1000) && one[0].to == microseconds(1120)));
}

TEST_CASE("the longest ones come longest first, lost ones not at all") {
    const auto run = run_of({5, lost, 9, 9, 1});
    CHECK(sim::longest_of(run, 3) == std::vector<std::size_t>{2, 3, 0});
    CHECK(sim::longest_of(run, 10).size() == 4);
    CHECK(sim::longest_of({}, 10).empty());
}

}  // namespace
