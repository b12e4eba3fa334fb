#include "sim/numeric/distribution.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <limits>
#include <vector>

#include "tests/support/effort.hpp"

namespace {

/// The definition, by sorting.
std::int64_t smallest_with_share(std::vector<std::int64_t> values, std::uint64_t hundredths) {
    std::sort(values.begin(), values.end());
    for (std::size_t i = 0; i < values.size(); ++i)
        if ((i + 1) * 100 >= hundredths * values.size()) return values[i];
    return values.back();
}

}  // namespace

TEST_CASE("distribution: median, 99 % and maximum are those of the sorted values") {
    tests::Draws draws(11);
    for (const std::size_t count : {1U, 2U, 3U, 99U, 100U, 101U, 199U, 200U, 201U, 5000U, 140'000U}) {
        const std::int64_t different = draws.one_in(2) ? 7 : 1'000'000'000;
        std::vector<std::int64_t> values;
        sim::Distribution distribution;
        for (std::size_t i = 0; i < count; ++i) {
            values.push_back(draws.between(0, different));
            distribution.add({values.back()});
        }
        CAPTURE(count);
        CHECK(distribution.count() == count);
        const auto points = distribution.points();
        REQUIRE(points);
        CHECK(points->median.ns == smallest_with_share(values, 50));
        CHECK(points->p99.ns == smallest_with_share(values, 99));
        CHECK(points->max.ns == *std::max_element(values.begin(), values.end()));
    }
}

TEST_CASE("distribution: it may be asked at any time, and nothing has no points") {
    sim::Distribution distribution;
    CHECK_FALSE(distribution.points());
    for (int i = 1; i <= 10; ++i) {
        distribution.add(proto::milliseconds(i));
        const auto points = distribution.points();
        REQUIRE(points);
        CHECK(points->max == proto::milliseconds(i));
        CHECK(points->median == proto::milliseconds((i + 1) / 2));
    }
}

TEST_CASE("distribution: the whole range of times, below zero too, and values that come thousands of times") {
    using Limits = std::numeric_limits<std::int64_t>;
    sim::Distribution distribution;
    for (const std::int64_t value : {Limits::max(), Limits::min(), std::int64_t{-1}, std::int64_t{0}, std::int64_t{1}})
        distribution.add({value});
    CHECK(distribution.points()->median.ns == 0);
    CHECK(distribution.points()->p99.ns == Limits::max());
    for (int i = 0; i < 200'000; ++i) distribution.add({-1});
    CHECK(distribution.count() == 200'005);
    CHECK(distribution.points()->median.ns == -1);
    CHECK(distribution.points()->max.ns == Limits::max());
}

TEST_CASE("distribution: a million values within a millisecond take no more room than their range") {
    tests::Draws draws(12);
    sim::Distribution distribution;
    for (int i = 0; i < 1'000'000; ++i) distribution.add({5'000'000 + draws.between(0, 100'000)});
    CHECK(distribution.points()->median.ns > 5'040'000);
    // two bytes for each different one, and room that is kept for those that wait
    CHECK(distribution.bytes() < 1'000'000);
}
