#include "sim/numeric/distribution.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <limits>
#include <random>
#include <span>
#include <utility>
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
        // so many different ones are exact
        std::vector<std::int64_t> pool;
        for (std::size_t i = 0; i < sim::Distribution::steps_most; ++i) pool.push_back(draws.between(0, different));
        for (std::size_t i = 0; i < count; ++i) {
            values.push_back(pool[static_cast<std::size_t>(draws.between(0, 16'383))]);
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

TEST_CASE("distribution: beyond 16 384 different values what is told is rounded up by less than a step, never down") {
    tests::Draws draws(12);
    for (const std::int64_t range : {std::int64_t{20'000}, std::int64_t{100'000'000}, std::int64_t{1} << 60}) {
        CAPTURE(range);
        sim::Distribution distribution;
        std::vector<std::int64_t> values;
        for (int i = 0; i < 200'000; ++i) {
            values.push_back(5'000'000 + draws.between(0, range));
            distribution.add({values.back()});
        }
        const auto points = distribution.points();
        REQUIRE(points);
        CHECK(points->step.ns > 1);
        CHECK(points->step.ns <= 2 + range / 8000);
        for (const auto& [told, share] : {std::pair{points->median.ns, 50U}, std::pair{points->p99.ns, 99U}}) {
            const std::int64_t exact = smallest_with_share(values, share);
            CHECK(told >= exact);
            CHECK(told < exact + points->step.ns);
        }
        CHECK(points->max.ns == *std::max_element(values.begin(), values.end()));
        // a byte or two for a step and as much for its count, and room that is kept for those that wait
        CHECK(distribution.bytes() < 500'000);
    }
}

TEST_CASE("distribution: in any order, and joined from any parts, it is the same to the last byte") {
    tests::Draws draws(13);
    for (const std::size_t count : {10U, 3000U, 90'000U}) {
        std::vector<std::int64_t> values;
        for (std::size_t i = 0; i < count; ++i)
            values.push_back(draws.one_in(3) ? draws.between(-50, 50) : draws.between(0, 40'000'000));
        const auto bytes_of = [](sim::Distribution& distribution) {
            std::vector<std::uint8_t> bytes;
            distribution.to_bytes(bytes);
            return bytes;
        };
        sim::Distribution whole;
        for (const std::int64_t value : values) whole.add({value});
        const std::vector<std::uint8_t> expected = bytes_of(whole);
        for (const std::size_t parts : {1U, 2U, 7U, 50U}) {
            CAPTURE(parts);
            std::shuffle(values.begin(), values.end(), std::minstd_rand(static_cast<unsigned>(parts)));
            std::vector<sim::Distribution> shared(parts);
            for (std::size_t i = 0; i < count; ++i) {
                sim::Distribution& part = shared[i * i % parts];
                part.add({values[i]});
                if (i % 1000 == 0) static_cast<void>(part.points());
            }
            sim::Distribution joined;
            for (const sim::Distribution& part : shared) joined.join(part);
            CHECK(joined.count() == count);
            CHECK(bytes_of(joined) == expected);
            std::span<const std::uint8_t> from(expected);
            auto read = sim::Distribution::from_bytes(from);
            REQUIRE(read);
            CHECK(from.empty());
            CHECK(bytes_of(*read) == expected);
        }
        // cut short it is nothing; and no byte that was altered is taken for another whole
        for (std::size_t size = 0; size < std::min<std::size_t>(expected.size(), 200); ++size) {
            std::span<const std::uint8_t> cut(expected.data(), size);
            CHECK_FALSE(sim::Distribution::from_bytes(cut));
        }
    }
    sim::Distribution empty, other;
    other.add({7});
    other.join(empty);
    empty.join(other);
    CHECK(empty.points()->max.ns == 7);
}
