// The tests for dependence beside published figures, and on series whose dependence is known by how they are made.
#include "sim/numeric/dependence.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

#include "sim/numeric/portable_math.hpp"
#include "sim/numeric/random.hpp"
#include "tests/support/close.hpp"

namespace {

using sim::DependenceVerdict;
using Series = std::vector<proto::Duration>;

/// Deflections of a steel-concrete beam (H. S. Lew, 1969), 200 values: NIST/SEMATECH e-Handbook of Statistical Methods,
/// section 1.4.2.5, in the public domain.
constexpr std::array<int, 200> beam{
    -213, -564, -35,  -15,  141,  115,  -420, -360, 203,  -338, -431, 194,  -220, -513, 154,  -125, -559, 92,   -21,
    -579, -52,  99,   -543, -175, 162,  -457, -346, 204,  -300, -474, 164,  -107, -572, -8,   83,   -541, -224, 180,
    -420, -374, 201,  -236, -531, 83,   27,   -564, -112, 131,  -507, -254, 199,  -311, -495, 143,  -46,  -579, -90,
    136,  -472, -338, 202,  -287, -477, 169,  -124, -568, 17,   48,   -568, -135, 162,  -430, -422, 172,  -74,  -577,
    -13,  92,   -534, -243, 194,  -355, -465, 156,  -81,  -578, -64,  139,  -449, -384, 193,  -198, -538, 110,  -44,
    -577, -6,   66,   -552, -164, 161,  -460, -344, 205,  -281, -504, 134,  -28,  -576, -118, 156,  -437, -381, 200,
    -220, -540, 83,   11,   -568, -160, 172,  -414, -408, 188,  -125, -572, -32,  139,  -492, -321, 205,  -262, -504,
    142,  -83,  -574, 0,    48,   -571, -106, 137,  -501, -266, 190,  -391, -406, 194,  -186, -553, 83,   -13,  -577,
    -49,  103,  -515, -280, 201,  300,  -506, 131,  -45,  -578, -80,  138,  -462, -361, 201,  -211, -554, 32,   74,
    -533, -235, 187,  -372, -442, 182,  -147, -566, 25,   68,   -535, -244, 194,  -351, -463, 174,  -125, -570, 15,
    72,   -550, -190, 172,  -424, -385, 198,  -218, -536, 96};

Series of(const auto& values) {
    Series series;
    for (const auto value : values) series.push_back({static_cast<std::int64_t>(value)});
    return series;
}

/// Exponential with a mean of 1 ms, the n-th of a stream.
double exponential(const sim::Random& random, std::uint64_t n) {
    const double u = (static_cast<double>(random.at(n) >> 11) + 0.5) * 0x1p-53;
    return -sim::portable_log(u) * 1e6;
}

Series independent(std::uint64_t seed, std::size_t count) {
    const sim::Random random(seed, sim::Concern::delay);
    Series series;
    for (std::size_t i = 0; i < count; ++i) series.push_back({static_cast<std::int64_t>(exponential(random, i))});
    return series;
}

/// Each the larger of `reach` neighbours of an independent series: the extremal index is 1 / reach (Newell, Annals of
/// Mathematical Statistics 35, 1964).
Series moving_maxima(std::uint64_t seed, std::size_t count, std::size_t reach) {
    const Series drawn = independent(seed, count + reach - 1);
    Series series;
    for (std::size_t i = 0; i < count; ++i) {
        const auto from = drawn.begin() + static_cast<std::ptrdiff_t>(i);
        series.push_back(*std::max_element(from, from + static_cast<std::ptrdiff_t>(reach)));
    }
    return series;
}

/// Independent, but the places of the late ones, 10 ms on top, are chosen by `is_late`.
Series with_late(std::uint64_t seed, std::size_t count, auto is_late) {
    Series series = independent(seed, count);
    for (std::size_t i = 0; i < count; ++i)
        if (is_late(i)) series[i].ns += 30'000'000;
    return series;
}

}  // namespace

// NIST/SEMATECH e-Handbook, 1.3.5.13: Z = 2.6938 for these data, so they are not random; 1.3.5.12: the autocorrelation
// at lag 1 is -0.31 of the values, which ranks come near to. Figures from memory, and by statsmodels 0.13.5.
TEST_CASE("the runs test gives the handbook's figure") {
    const sim::RunsTest test = sim::runs_about_median(of(beam));
    CHECK(test.above == 100);
    CHECK(test.below == 100);
    CHECK(tests::close_to(test.z, 2.6938, 2e-5));
    // 0.0071 by the normal law, which is what z stands for; the exact one is near it
    CHECK(tests::close_to(test.p, 0.0071, 0.25));
    const sim::Dependence found = sim::dependence_of(of(beam));
    CHECK(tests::close_to(found.correlations.by_lag.front(), -0.31, 0.1));
    CHECK(found.verdict == DependenceVerdict::dependent);
    CHECK_FALSE(found.block_length);  // it swings for all of its length
}

TEST_CASE("values that equal the median go where both sides are most even") {
    // 4 under the median 5, 3 over it and 5 of it: 8 against 4 is less even than 4 against 8 is; both are tried
    const sim::RunsTest more_above = sim::runs_about_median(of(std::array{1, 5, 2, 5, 3, 5, 4, 5, 9, 5, 8, 7}));
    CHECK(more_above.above == 8);
    CHECK(more_above.runs == 8);
    const sim::RunsTest more_below = sim::runs_about_median(of(std::array{1, 5, 2, 5, 3, 5, 6, 5, 9, 5, 8, 7}));
    CHECK(more_below.above == 4);
    CHECK(sim::runs_about_median(of(std::array{5, 5, 5, 5})).p == 1.0);
}

TEST_CASE("ranks alone count, equal values share theirs") {
    const sim::RankCorrelations even = sim::rank_correlations(of(std::array{1, 2, 3, 4, 5}), 2);
    const sim::RankCorrelations stretched = sim::rank_correlations(of(std::array{-7, 0, 1, 400, 5000}), 2);
    CHECK(even.by_lag == stretched.by_lag);
    // ranks less their mean -2 -1 0 1 2: (2 + 0 + 0 + 2) / 10 and (0 - 1 + 0) / 10
    CHECK(tests::close_to(even.by_lag[0], 0.4, 1e-12));
    CHECK(tests::close_to(even.by_lag[1], -0.1, 1e-12));
    // Q = 5 * 7 * (0.16 / 4 + 0.01 / 3), p = exp(-Q / 2) with two degrees of freedom
    CHECK(tests::close_to(even.q, 35 * (0.04 + 0.01 / 3), 1e-12));
    CHECK(tests::close_to(even.p, std::exp(-even.q / 2), 1e-12));
    // ranks 1, 2.5, 2.5, 4
    const sim::RankCorrelations tied = sim::rank_correlations(of(std::array{1, 2, 2, 3}), 1);
    CHECK(tied.by_lag[0] == 0.0);
    CHECK(sim::rank_correlations(of(std::array{3, 3, 3}), 1).by_lag.empty());
}

TEST_CASE("exceedances are taken from the top, equal ones together") {
    std::vector<int> values(1000);
    for (int i = 0; i < 1000; ++i) values[static_cast<std::size_t>(i)] = i * 7 % 1000;
    const auto late = sim::longest_of_all(of(values));
    REQUIRE(late);
    CHECK(late->places.size() == 20);
    CHECK(late->above.ns == 979);
    CHECK(late->of == 1000);
    // half of them are the same and longest: there is no choice
    for (std::size_t i = 0; i < 500; ++i) values[i] = 5000;
    CHECK_FALSE(sim::longest_of_all(of(values)));
    // a heap of 100 is taken whole
    for (std::size_t i = 100; i < 500; ++i) values[i] = 3;
    CHECK(sim::longest_of_all(of(values))->places.size() == 100);
    values.resize(199);
    CHECK_FALSE(sim::longest_of_all(of(values)));
}

TEST_CASE("the intervals between exceedances give the extremal index as defined") {
    // intervals 1, 1, 6, 2, 10: not all short, so 2 (sum of t - 1)^2 / (5 * sum of (t - 1)(t - 2))
    const sim::Exceedances late{.places = {3, 4, 5, 11, 13, 23}, .of = 40};
    const sim::ClusterTest test = sim::cluster_test(late);
    CHECK(test.runs == 4);
    // 2 * 15^2 / (5 * (0 + 0 + 20 + 0 + 72)) = 450 / 460
    CHECK(tests::close_to(test.extremal_index, 450.0 / 460.0, 1e-12));
    // floor(0.978 * 6) = 5 intervals lie between clusters: all, so each is one
    CHECK(test.clusters == 6);
    CHECK(test.longest_cluster == 1);
    CHECK(tests::close_to(test.runs_expected, 6.0 * 35 / 40, 1e-12));
    // all short: 2 (sum of t)^2 / (n * sum of t^2), at most 1
    const sim::ClusterTest near = sim::cluster_test({.places = {3, 4, 5, 7}, .of = 40});
    CHECK(tests::close_to(near.extremal_index, 1.0, 1e-12));
    // two clusters far apart: 2 * 27^2 / (5 * (26 * 27 + 0)) = 0.415, so two of the longest separate
    const sim::ClusterTest two = sim::cluster_test({.places = {3, 4, 5, 33, 34, 35}, .of = 40});
    CHECK(tests::close_to(two.extremal_index, 2.0 * 27 * 27 / (5.0 * 27 * 26), 1e-12));
    CHECK(two.clusters == 2);
    CHECK(two.longest_cluster == 3);
}

TEST_CASE("the extremal index of moving maxima is found") {
    for (const std::size_t reach : {2U, 4U}) {
        const Series series = moving_maxima(5, 200'000, reach);
        const auto test = sim::cluster_test(*sim::longest_of_all(series));
        // 2000 exceedances: some 3 % of standard error; the index is that of the limit of rare ones
        CHECK(tests::close_to(test.extremal_index, 1.0 / static_cast<double>(reach), 0.1));
        CHECK(test.runs_p < 1e-9);
        CHECK(test.intervals_p < 1e-9);
        CHECK(test.longest_cluster >= reach);
    }
}

TEST_CASE("of independent series no more are called dependent than stated") {
    int dependent = 0, blocks_over_20 = 0;
    constexpr int rounds = 400;
    for (std::uint64_t round = 0; round < rounds; ++round) {
        const sim::Dependence found = sim::dependence_of(independent(1000 + round, 2000));
        dependent += found.verdict == DependenceVerdict::dependent ? 1 : 0;
        blocks_over_20 += found.block_length.value_or(99) > 20 ? 1 : 0;
    }
    MESSAGE(dependent << " of " << rounds << " independent series are called dependent");
    // three standard deviations above the level
    CHECK(dependent < sim::dependence_level * rounds + 3.0 * std::sqrt(sim::dependence_level * rounds));
    CHECK(dependent > 2);
    CHECK(blocks_over_20 < rounds / 10);
}

TEST_CASE("each kind of dependence is found by the test that is there for it") {
    constexpr std::size_t count = 5000;
    SUBCASE("a slow swing of all times, found by ranks and runs") {
        Series series = independent(2, count);
        for (std::size_t i = 0; i < count; ++i)
            series[i].ns += static_cast<std::int64_t>(5e5 * std::sin(static_cast<double>(i) / 200.0));
        const auto found = sim::dependence_of(series);
        CHECK(found.correlations.p < 1e-6);
        CHECK(found.runs.p < 1e-6);
        CHECK(found.verdict == DependenceVerdict::dependent);
    }
    SUBCASE("late ones in threes while the rest is independent") {
        const auto found = sim::dependence_of(with_late(3, count, [](std::size_t i) { return i % 300 < 3; }));
        REQUIRE(found.late);
        CHECK(found.late->runs_p < 1e-9);
        CHECK(found.verdict == DependenceVerdict::dependent);
        CHECK(found.late->longest_cluster >= 3);
        CHECK(found.block_length.value_or(99) >= 3);
    }
    SUBCASE("late ones that never touch but come in one tenth of the time") {
        const auto found =
            sim::dependence_of(with_late(4, count, [](std::size_t i) { return i < 500 && i % 10 == 0; }));
        REQUIRE(found.late);
        CHECK(found.late->intervals_p < 1e-6);
        CHECK(found.verdict == DependenceVerdict::dependent);
    }
    SUBCASE("every hundredth is late, too even for chance") {
        const auto found = sim::dependence_of(with_late(5, count, [](std::size_t i) { return i % 100 == 0; }));
        REQUIRE(found.late);
        CHECK(found.late->intervals_p < 1e-6);
        CHECK(found.late->extremal_index == 1.0);
        CHECK(found.verdict == DependenceVerdict::dependent);
    }
}

TEST_CASE("a block is as long as what hangs together") {
    // each the mean of 12 neighbours: rank correlations up to lag 11
    const Series drawn = independent(8, 20'011);
    Series smooth;
    for (std::size_t i = 0; i < 20'000; ++i) {
        std::int64_t sum = 0;
        for (std::size_t j = 0; j < 12; ++j) sum += drawn[i + j].ns;
        smooth.push_back({sum / 12});
    }
    const auto block = sim::dependence_of(smooth).block_length;
    REQUIRE(block);
    CHECK(*block >= 10);
    CHECK(*block <= 120);  // correlations of what is smooth are noisy, so it is rather too long
    // one swing over all of it: no block is short enough
    Series drift = independent(9, 5000);
    for (std::size_t i = 0; i < drift.size(); ++i) drift[i].ns += static_cast<std::int64_t>(i) * 2000;
    CHECK_FALSE(sim::dependence_of(drift).block_length);
}

TEST_CASE("of few or equal values nothing is concluded, unless they do depend") {
    CHECK(sim::dependence_of({}).verdict == DependenceVerdict::too_few);
    CHECK(sim::dependence_of(of(std::array{4, 5})).verdict == DependenceVerdict::too_few);
    CHECK(sim::dependence_of(independent(1, 199)).verdict == DependenceVerdict::too_few);
    CHECK(sim::dependence_of(Series(1000, {7})).verdict == DependenceVerdict::too_few);
    CHECK(sim::dependence_of(independent(1, 200)).verdict == DependenceVerdict::independent_as_far_as_seen);
    Series rising;
    for (int i = 0; i < 60; ++i) rising.push_back({i});
    CHECK(sim::dependence_of(rising).verdict == DependenceVerdict::dependent);
}
