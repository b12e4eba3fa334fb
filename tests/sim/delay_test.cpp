#include "sim/channel/delay.hpp"

#include <doctest/doctest.h>

#include <boost/math/distributions/chi_squared.hpp>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "sim/numeric/random.hpp"

namespace {

using proto::Duration;
using sim::Concern;
using sim::DelayShape;
using sim::DelayTable;
using sim::Random;

DelayShape histogram(std::vector<DelayShape::Cell> cells) {
    DelayShape shape;
    shape.kind = DelayShape::Kind::histogram;
    shape.cells = std::move(cells);
    return shape;
}

/// Odds of a chi-square statistic at least this large if `seen` followed `weights` (Pearson 1900).
double odds(const std::vector<std::uint64_t>& seen, const std::vector<std::uint64_t>& weights) {
    double draws = 0, total = 0, statistic = 0;
    for (const std::uint64_t n : seen) draws += static_cast<double>(n);
    for (const std::uint64_t w : weights) total += static_cast<double>(w);
    for (std::size_t i = 0; i < seen.size(); ++i) {
        const double expected = draws * static_cast<double>(weights[i]) / total;
        statistic += (static_cast<double>(seen[i]) - expected) * (static_cast<double>(seen[i]) - expected) / expected;
    }
    const boost::math::chi_squared law(static_cast<double>(seen.size() - 1));
    return boost::math::cdf(boost::math::complement(law, statistic));
}

/// The middle of part `i` of `parts` equal parts of all 64-bit draws.
std::uint64_t middle(std::uint64_t i, std::uint64_t parts) {
    return static_cast<std::uint64_t>(((static_cast<sim::Wide>(2 * i + 1) << 64) / parts) >> 1);
}

TEST_CASE("a constant delay is constant") {
    DelayShape shape;
    shape.low = {1234};
    const DelayTable table(shape);
    CHECK(table.shortest() == Duration{1234});
    CHECK(table.longest() == Duration{1234});
    for (const std::uint64_t draw : {std::uint64_t{0}, std::uint64_t{1} << 63, ~std::uint64_t{0}}) {
        CHECK(table.at(draw) == Duration{1234});
    }
}

TEST_CASE("a uniform delay includes both bounds and keeps within them") {
    DelayShape shape;
    shape.kind = DelayShape::Kind::uniform;
    shape.low = {10};
    shape.high = {13};
    const DelayTable table(shape);
    CHECK(table.at(0) == Duration{10});
    CHECK(table.at(~std::uint64_t{0}) == Duration{13});
    // Four values: each has exactly a quarter of the draws.
    CHECK(table.at((std::uint64_t{1} << 62) - 1) == Duration{10});
    CHECK(table.at(std::uint64_t{1} << 62) == Duration{11});
    CHECK(table.at(std::uint64_t{3} << 62) == Duration{13});
    CHECK(table.at((std::uint64_t{3} << 62) - 1) == Duration{12});
}

TEST_CASE("a uniform delay may span the whole range of durations") {
    DelayShape shape;
    shape.kind = DelayShape::Kind::uniform;
    shape.high = {INT64_MAX};
    const DelayTable table(shape);
    CHECK(table.at(0) == Duration{0});
    CHECK(table.at(~std::uint64_t{0}) == Duration{INT64_MAX});
}

TEST_CASE("a million uniform draws pass a chi-square test at the 0.1 % level") {
    DelayShape shape;
    shape.kind = DelayShape::Kind::uniform;
    shape.low = {500};
    shape.high = {599};
    const DelayTable table(shape);
    const Random random(1, Concern::delay);
    std::vector<std::uint64_t> seen(100);
    for (std::uint64_t n = 0; n < 1'000'000; ++n) {
        const Duration delay = table.at(random.at(n));
        REQUIRE(delay >= table.shortest());
        REQUIRE(delay <= table.longest());
        ++seen[static_cast<std::size_t>(delay.ns - 500)];
    }
    CHECK(odds(seen, std::vector<std::uint64_t>(100, 1)) > 0.001);
}

TEST_CASE("a million histogram draws pass a chi-square test at the 0.1 % level") {
    const std::vector<std::uint64_t> weights{1, 50, 3, 400, 25, 7, 200, 90, 14, 10, 100, 60, 2, 5, 33};
    std::vector<DelayShape::Cell> cells;
    for (std::size_t i = 0; i < weights.size(); ++i) {
        const auto low = static_cast<std::int64_t>(i) * 1000;
        cells.push_back({{low}, {low + 999}, weights[i]});
    }
    const DelayTable table(histogram(cells));
    const Random random(2, Concern::delay);
    std::vector<std::uint64_t> seen(weights.size());
    std::vector<std::uint64_t> within(10);  // tenths of a cell
    for (std::uint64_t n = 0; n < 1'000'000; ++n) {
        const Duration delay = table.at(random.at(n));
        REQUIRE(delay >= table.shortest());
        REQUIRE(delay <= table.longest());
        ++seen[static_cast<std::size_t>(delay.ns / 1000)];
        ++within[static_cast<std::size_t>(delay.ns % 1000 / 100)];
    }
    CHECK(odds(seen, weights) > 0.001);
    CHECK(odds(within, std::vector<std::uint64_t>(10, 1)) > 0.001);
}

TEST_CASE("the chi-square test used here notices a share that is 2 % off") {
    // 1e6 draws from weights 102 : 100 judged as 1 : 1.
    CHECK(odds({504'950, 495'050}, {1, 1}) < 0.001);
}

TEST_CASE("small weights get exactly their shares of evenly spaced draws") {
    const std::vector<std::vector<std::uint64_t>> all{
        {1}, {1, 1}, {1, 2, 3}, {5, 0, 1}, {0, 0, 7}, {1, 1, 1, 97}, {3, 1, 4, 1, 5, 9, 2, 6}};
    for (const auto& weights : all) {
        std::vector<DelayShape::Cell> cells;
        std::uint64_t total = 0, used = 0;
        for (std::size_t i = 0; i < weights.size(); ++i) {
            cells.push_back({{static_cast<std::int64_t>(i)}, {static_cast<std::int64_t>(i)}, weights[i]});
            total += weights[i];
            used += weights[i] != 0 ? 1U : 0U;
        }
        const DelayTable table(histogram(cells));
        const std::uint64_t parts = total * used * 10;  // all edges between cells fall between parts
        std::vector<std::uint64_t> seen(weights.size());
        for (std::uint64_t i = 0; i < parts; ++i) ++seen[static_cast<std::size_t>(table.at(middle(i, parts)).ns)];
        for (std::size_t i = 0; i < weights.size(); ++i) CHECK(seen[i] == weights[i] * used * 10);
    }
}

TEST_CASE("huge weights neither overflow nor lose a small one") {
    const std::uint64_t most = ~std::uint64_t{0};
    const DelayTable table(histogram({{{0}, {0}, most}, {{1}, {1}, most}, {{2}, {2}, most}, {{3}, {3}, most / 2}}));
    std::vector<std::uint64_t> seen(4);
    for (std::uint64_t i = 0; i < 7'000; ++i) ++seen[static_cast<std::size_t>(table.at(middle(i, 7'000)).ns)];
    CHECK(seen == std::vector<std::uint64_t>{2000, 2000, 2000, 1000});
}

TEST_CASE("cells without weight are never used and do not count for the bounds") {
    const DelayTable table(histogram({{{0}, {5}, 0}, {{10}, {20}, 3}, {{30}, {900}, 0}}));
    CHECK(table.shortest() == Duration{10});
    CHECK(table.longest() == Duration{20});
    const Random random(3, Concern::delay);
    bool low = false, high = false;
    for (std::uint64_t n = 0; n < 10'000; ++n) {
        const Duration delay = table.at(random.at(n));
        REQUIRE(delay >= table.shortest());
        REQUIRE(delay <= table.longest());
        low = low || delay == table.shortest();
        high = high || delay == table.longest();
    }
    CHECK(low);
    CHECK(high);
}

}  // namespace
