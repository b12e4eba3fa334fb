// When a fit to the longest of measured times is believed, how far, and why not.
#include "sim/numeric/pareto_tail.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "sim/numeric/random.hpp"
#include "tests/support/close.hpp"

namespace {

using proto::Duration;
using sim::TailDoubt;
using Series = std::vector<Duration>;

/// 2 ms and an exponential part with a mean of 0.5 ms, in whole nanoseconds.
double exponential_ns(double u) { return 2e6 - 5e5 * std::log(u); }

Series drawn(std::uint64_t seed, std::size_t count, auto time_of, std::int64_t step = 1) {
    const sim::Random random(seed, sim::Concern::delay);
    Series series;
    for (std::size_t i = 0; i < count; ++i) {
        const double u = (static_cast<double>(random.at(i) >> 11) + 0.5) * 0x1p-53;
        series.push_back({static_cast<std::int64_t>(time_of(u)) / step * step});
    }
    return series;
}

bool doubts(const sim::ParetoTail& tail, TailDoubt why) {
    return std::find(tail.doubts.begin(), tail.doubts.end(), why) != tail.doubts.end();
}

}  // namespace

TEST_CASE("exponential times are believed, one order beyond what was seen") {
    const Series series = drawn(1, 20'000, exponential_ns);
    const sim::ParetoTail tail = sim::pareto_tail(series, 0);
    REQUIRE(tail.believed());
    CHECK(tail.fit->excesses() <= 500);
    CHECK(tail.fit->excesses() >= 50);
    CHECK(std::abs(tail.fit->shape()) < 0.15);
    CHECK(tail.fit->shape_interval().low < 0.0);
    CHECK(tail.fit->shape_interval().high > 0.0);
    CHECK(tail.reach_ns > static_cast<double>(tail.longest.ns));
    const sim::ShareAbove end = tail.fit->share_above(tail.reach_ns - tail.threshold_ns);
    CHECK(end.central >= 0.999 / 200'000);
    CHECK(end.high <= 10.001 * end.central);
    CHECK(end.high < 3.0 / 20'000);  // what can be said without a fit
    // the truth lies within
    const double truth = std::exp(-(tail.reach_ns - 2e6) / 5e5);
    CHECK(truth > end.low);
    CHECK(truth < end.high);
    // all that lie over the threshold are those that were fitted
    const auto over = std::count_if(series.begin(), series.end(),
                                    [&](Duration time) { return static_cast<double>(time.ns) > tail.threshold_ns; });
    CHECK(static_cast<std::uint64_t>(over) == tail.fit->excesses());
}

TEST_CASE("upper limits at the reach hold as often as they say") {
    int believed = 0, held = 0;
    constexpr int rounds = 150;
    for (std::uint64_t seed = 100; seed < 100 + rounds; ++seed) {
        const sim::ParetoTail tail = sim::pareto_tail(drawn(seed, 4000, exponential_ns), 0);
        if (!tail.believed()) continue;
        ++believed;
        const double truth = std::exp(-(tail.reach_ns - 2e6) / 5e5);
        held += truth <= tail.fit->share_above(tail.reach_ns - tail.threshold_ns).high ? 1 : 0;
    }
    MESSAGE(believed << " of " << rounds << " fits to exponential times are believed, the limit holds for " << held);
    CHECK(believed > rounds * 8 / 10);
    CHECK(held > believed * 93 / 100);
}

TEST_CASE("rounding is spread and changes little, up to a point") {
    const auto exact = sim::pareto_tail(drawn(4, 20'000, exponential_ns), 0);
    const auto rounded = sim::pareto_tail(drawn(4, 20'000, exponential_ns, 50'000), 0);
    REQUIRE(exact.believed());
    REQUIRE(rounded.believed());
    CHECK(rounded.step_ns == 50'000.0);
    CHECK(std::abs(rounded.fit->shape() - exact.fit->shape()) < 0.1);
    const auto coarse = sim::pareto_tail(drawn(4, 20'000, exponential_ns, 200'000), 0);
    CHECK(doubts(coarse, TailDoubt::too_coarse));
    CHECK_FALSE(coarse.believed());
}

TEST_CASE("too few times are not extrapolated") {
    CHECK(sim::pareto_tail({}, 0).doubts == std::vector{TailDoubt::too_few});
    CHECK(sim::pareto_tail(drawn(1, 999, exponential_ns), 0).doubts == std::vector{TailDoubt::too_few});
    CHECK(sim::pareto_tail(drawn(1, 1000, exponential_ns), 0).fit);
    CHECK(sim::pareto_tail(Series(5000, Duration{7}), 0).doubts == std::vector{TailDoubt::too_few});
}

TEST_CASE("times without an answer forbid it") {
    const auto tail = sim::pareto_tail(drawn(1, 20'000, exponential_ns), 1);
    CHECK(tail.fit);
    CHECK(tail.doubts == std::vector{TailDoubt::unanswered});
}

TEST_CASE("a pile at a time-out is seen") {
    SUBCASE("exactly there") {
        const auto cut = [](double u) { return std::min(exponential_ns(u), 4.4e6); };
        CHECK(doubts(sim::pareto_tail(drawn(2, 20'000, cut), 0), TailDoubt::piled_up));
    }
    SUBCASE("three of 20 000 exactly there, which no test of shares would find") {
        Series series = drawn(2, 20'000, exponential_ns);
        std::vector<Duration*> longest;
        for (Duration& time : series) longest.push_back(&time);
        std::sort(longest.begin(), longest.end(), [](const Duration* a, const Duration* b) { return *a > *b; });
        for (int i = 0; i < 3; ++i) *longest[static_cast<std::size_t>(i)] = *longest[2];
        CHECK(sim::pareto_tail(series, 0).doubts == std::vector{TailDoubt::piled_up});
    }
    SUBCASE("near there") {
        const auto cut = [](double u) { return exponential_ns(u) < 4.4e6 ? exponential_ns(u) : 4.4e6 + 2e4 * u; };
        CHECK(doubts(sim::pareto_tail(drawn(2, 20'000, cut), 0), TailDoubt::piled_up));
    }
}

TEST_CASE("late times in clusters are not taken for independent ones") {
    Series series = drawn(5, 20'000, exponential_ns);
    for (std::size_t i = 0; i + 1 < series.size(); i += 2) series[i + 1] = Duration{series[i].ns + 3};
    const auto tail = sim::pareto_tail(series, 0);
    CHECK(doubts(tail, TailDoubt::clustered));
    CHECK(tail.clusters->runs_p < 1e-6);
}

TEST_CASE("what no such law fits is not fitted") {
    SUBCASE("all late ones between two times, evenly: an end that nobody knows") {
        const auto even = [](double u) { return 2e6 + 1e6 * u; };
        const auto tail = sim::pareto_tail(drawn(6, 20'000, even), 0);
        CHECK_FALSE(tail.believed());
        CHECK((doubts(tail, TailDoubt::short_end) || doubts(tail, TailDoubt::bad_fit)));
    }
    SUBCASE("so heavy that not even a mean is certain") {
        const auto heavy = [](double u) { return 1e6 / (u * std::sqrt(u)); };
        CHECK(doubts(sim::pareto_tail(drawn(7, 5000, heavy), 0), TailDoubt::too_heavy));
    }
    SUBCASE("two kinds of late ones far apart") {
        const auto two = [](double u) {
            return u < 0.01 ? 3e7 + 1e5 * std::log(u / 0.01) * std::log(u / 0.01) : 2e6 + 1e5 * u;
        };
        const auto tail = sim::pareto_tail(drawn(8, 6000, two), 0);
        CHECK_FALSE(tail.believed());
        CHECK(tail.thresholds_given_up > 0);
    }
}
