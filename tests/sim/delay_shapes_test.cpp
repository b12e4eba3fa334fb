#include "sim/channel/delay_shapes.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <boost/math/distributions/gamma.hpp>
#include <boost/math/distributions/lognormal.hpp>
#include <boost/math/distributions/normal.hpp>
#include <cmath>
#include <cstdint>
#include <vector>

#include "sim/channel/delay.hpp"
#include "sim/timing/bounds.hpp"
#include "tests/support/close.hpp"

namespace {

using proto::Duration;
using proto::microseconds;
using proto::milliseconds;
using sim::DelayShape;

std::uint64_t weight_of(const DelayShape& shape) {
    std::uint64_t sum = 0;
    for (const auto& cell : shape.cells) sum += cell.weight;
    return sum;
}

/// Share of the delays below `ns`, by the cells, with even spread within one.
double below(const DelayShape& shape, double ns) {
    double sum = 0.0;
    for (const auto& cell : shape.cells) {
        const auto low = static_cast<double>(cell.low.ns), end = static_cast<double>(cell.high.ns) + 1.0;
        sum += static_cast<double>(cell.weight) * std::clamp((ns - low) / (end - low), 0.0, 1.0);
    }
    return sum / static_cast<double>(weight_of(shape));
}

double quantile_ms(const DelayShape& shape, double share) {
    double low = 0.0, high = static_cast<double>(sim::longest_of(shape).ns) + 1.0;
    for (int i = 0; i < 80; ++i) (below(shape, (low + high) / 2) < share ? low : high) = (low + high) / 2;
    return high / 1e6;
}

void check_cells(const DelayShape& shape) {
    CHECK(shape.kind == DelayShape::Kind::histogram);
    CHECK(weight_of(shape) == sim::shape_weight);
    CHECK(shape.cells.size() <= sim::shape_cells);
    for (std::size_t i = 0; i < shape.cells.size(); ++i) {
        CHECK(shape.cells[i].low <= shape.cells[i].high);
        if (i != 0) CHECK(shape.cells[i].low.ns == shape.cells[i - 1].high.ns + 1);
    }
    CHECK(sim::DelayTable(shape).longest() == sim::longest_of(shape));
}

/// The largest difference to a distribution function of ns, at 2000 places.
template <class Law>
double farthest(const DelayShape& shape, Law law, double offset_ns, double scale_ns) {
    double worst = 0.0;
    const auto end = static_cast<double>(sim::longest_of(shape).ns);
    for (int i = 1; i < 2000; ++i) {
        const double ns = end * i / 2000.0;
        if (ns <= offset_ns) continue;
        worst = std::max(worst, std::fabs(below(shape, ns) - boost::math::cdf(law, (ns - offset_ns) / scale_ns)));
    }
    return worst;
}

TEST_CASE("shapes follow their distribution functions as Boost.Math has them") {
    const DelayShape normal =
        histogram_of(sim::NormalDelay{.mean = milliseconds(5), .deviation = milliseconds(1), .floor = {}});
    check_cells(normal);
    CHECK(farthest(normal, boost::math::normal(5.0, 1.0), 0.0, 1e6) < 1e-4);
    for (const double sigma : {0.1, 0.5, 2.0}) {
        const DelayShape shape =
            histogram_of(sim::LognormalDelay{.offset = milliseconds(4), .median = microseconds(2200), .sigma = sigma});
        check_cells(shape);
        CHECK(farthest(shape, boost::math::lognormal(std::log(2.2), sigma), 4e6, 1e6) < 1e-4);
    }
    for (const double alpha : {0.5, 1.0, 2.5, 100.0, 1000.0}) {
        const DelayShape shape =
            histogram_of(sim::GammaDelay{.offset = milliseconds(1), .mean = milliseconds(3), .alpha = alpha});
        check_cells(shape);
        CHECK(farthest(shape, boost::math::gamma_distribution(alpha, 3.0 / alpha), 1e6, 1e6) < 1e-3);
    }
}

TEST_CASE("tails end where one in a million lies beyond, or at the floor") {
    const DelayShape normal =
        histogram_of(sim::NormalDelay{.mean = milliseconds(5), .deviation = milliseconds(1), .floor = milliseconds(4)});
    CHECK(sim::shortest_of(normal) == milliseconds(4));
    const double end = static_cast<double>(sim::longest_of(normal).ns) / 1e6;
    CHECK(tests::close_to(boost::math::cdf(complement(boost::math::normal(5.0, 1.0), end)), 1e-6, 1e-3));
    // What is above the floor is one whole: its median is not the mean.
    CHECK(tests::close_to(quantile_ms(normal, 0.5),
                          boost::math::quantile(boost::math::normal(5.0, 1.0), (1.0 + 0.15865525393) / 2.0), 1e-4));
    const DelayShape gamma = histogram_of(sim::GammaDelay{.offset = {}, .mean = milliseconds(3), .alpha = 2.0});
    CHECK(tests::close_to(boost::math::cdf(complement(boost::math::gamma_distribution(2.0, 1.5),
                                                      static_cast<double>(sim::longest_of(gamma).ns) / 1e6)),
                          1e-6, 1e-3));
}

TEST_CASE("a shape narrower than its cells keeps all of its weight") {
    check_cells(histogram_of(sim::NormalDelay{.mean = {1000}, .deviation = {1}, .floor = {}}));
    check_cells(histogram_of(sim::LognormalDelay{.offset = {}, .median = {3}, .sigma = 0.001}));
}

TEST_CASE("the campus preset has the middle 95 % in 4.8 to 9.9 ms") {
    // Published: 95 % of the one-way delays within 4 to 10 ms (Rischke and others, IEEE Access 9, 2021, 121786). The
    // narrower limits follow from 4 + 2.2 exp(0.5 (-1.96 .. 1.96)).
    const DelayShape shape = sim::delay_preset("5g-campus").value();
    CHECK(tests::close_to(quantile_ms(shape, 0.025), 4.826, 1e-3));
    CHECK(tests::close_to(quantile_ms(shape, 0.975), 9.862, 1e-3));
    CHECK(shape.preset == "5g-campus");
}

TEST_CASE("the wired preset is the exact sum of two even spreads") {
    const DelayShape shape = sim::delay_preset("wired-switched").value();
    CHECK(weight_of(shape) == 200 * 50);
    CHECK(sim::shortest_of(shape) == microseconds(100));
    CHECK(sim::longest_of(shape).ns == 348'999);
    CHECK(tests::close_to(quantile_ms(shape, 0.5), 0.2245, 1e-3));
    CHECK_FALSE(sim::delay_preset("none"));
    for (const std::string& name : sim::delay_presets()) CHECK(sim::delay_preset(name));
}

TEST_CASE("few delays that were seen keep their values, many share cells of equal count") {
    const DelayShape few = sim::histogram_of_seen({{5}, {3}, {5}, {9}});
    REQUIRE(few.cells.size() == 3);
    CHECK(few.cells[1].low == Duration{5});
    CHECK(few.cells[1].high == Duration{5});
    CHECK(few.cells[1].weight == 2);
    std::vector<Duration> many;
    for (std::int64_t i = 0; i < 100'000; ++i) many.push_back({(i * 7919) % 100'000});
    const DelayShape shape = sim::histogram_of_seen(many);
    CHECK(shape.cells.size() <= 4096);
    CHECK(weight_of(shape) == 100'000);
    CHECK(sim::longest_of(shape) == Duration{99'999});
    CHECK(std::fabs(below(shape, 25'000) - 0.25) < 1e-3);
}

}  // namespace
