// The fit of a generalised Pareto law by itself: limits beside the definition of profile likelihood, searched bluntly.
#include "sim/numeric/pareto_profile.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "sim/numeric/random.hpp"
#include "tests/support/close.hpp"

namespace {

double even(const sim::Random& random, std::uint64_t n) {
    return (static_cast<double>(random.at(n) >> 11) + 0.5) * 0x1p-53;
}

std::vector<double> drawn(double shape, double scale, std::size_t count, std::uint64_t seed) {
    const sim::Random random(seed, sim::Concern::delay);
    std::vector<double> excesses;
    for (std::size_t i = 0; i < count; ++i) {
        const double u = even(random, i);
        excesses.push_back(shape == 0.0 ? -scale * std::log(u) : scale / shape * (std::pow(u, -shape) - 1.0));
    }
    return excesses;
}

double log_likelihood(const std::vector<double>& excesses, double shape, double scale) {
    double sum = -static_cast<double>(excesses.size()) * std::log(scale);
    for (const double y : excesses) {
        const double z = 1.0 + shape * y / scale;
        if (!(z > 0.0)) return -1e300;
        sum -= std::abs(shape) < 1e-9 ? y / scale : (1.0 + 1.0 / shape) * std::log(z);
    }
    return sum;
}

}  // namespace

TEST_CASE("the fit is the highest point of the likelihood") {
    for (const double shape : {-0.4, -0.1, 0.0, 0.2, 0.7}) {
        const auto excesses = drawn(shape, 3e5, 400, 7);
        const auto fit = sim::ParetoProfile::of(excesses, 20'000);
        REQUIRE(fit);
        CAPTURE(shape);
        const double top = log_likelihood(excesses, fit->shape(), fit->scale());
        CHECK(tests::close_to(fit->log_likelihood(), top, 1e-9));
        for (const double off : {-0.01, 0.01}) {
            CHECK(log_likelihood(excesses, fit->shape() + off, fit->scale()) < top);
            CHECK(log_likelihood(excesses, fit->shape(), fit->scale() * (1.0 + off)) < top);
            CHECK(log_likelihood(excesses, fit->shape() + off, fit->scale() * (1.0 - off)) < top);
        }
        CHECK(std::abs(fit->shape() - shape) < 4.0 * (1.0 + std::abs(shape)) / 20.0);
    }
}

TEST_CASE("limits are those of the region that the likelihood leaves, searched bluntly") {
    for (const double shape : {-0.3, 0.1, 0.5}) {
        constexpr double k = 150, n = 6000;
        const auto excesses = drawn(shape, 1.0, 150, 21);
        const auto fit = sim::ParetoProfile::of(excesses, 6000);
        REQUIRE(fit);
        const double floor = fit->log_likelihood() - 1.920729;
        double least_shape = 9.0, most_shape = -9.0;
        std::array<double, 2> least{1.0, 1.0}, most{0.0, 0.0};
        constexpr std::array heights{2.0, 5.0};
        for (int i_shape = -125; i_shape < 175; ++i_shape)
            for (int i_scale = -128; i_scale < 133; ++i_scale) {
                const double at = fit->shape() + 0.004 * i_shape, scale = fit->scale() * std::exp(0.004 * i_scale);
                const double left = log_likelihood(excesses, at, scale) - floor;
                if (left < 0.0) continue;
                least_shape = std::min(least_shape, at);
                most_shape = std::max(most_shape, at);
                // what is left of the likelihood may go into the share of excesses
                for (const double off : {-1.0, 1.0}) {
                    double in = 0.0, out = 0.5;
                    for (int i = 0; i < 40; ++i) {
                        const double middle = (in + out) / 2, zeta = k / n * (1.0 + off * middle);
                        const double lost = k * std::log(k / n / zeta) + (n - k) * std::log((1 - k / n) / (1 - zeta));
                        (lost <= left ? in : out) = middle;
                    }
                    for (std::size_t i = 0; i < heights.size(); ++i) {
                        const double z = 1.0 + at * heights[i] / scale;
                        const double above = !(z > 0.0)            ? 0.0
                                             : std::abs(at) < 1e-9 ? std::exp(-heights[i] / scale)
                                                                   : std::pow(z, -1.0 / at);
                        least[i] = std::min(least[i], k / n * (1.0 + off * in) * above);
                        most[i] = std::max(most[i], k / n * (1.0 + off * in) * above);
                    }
                }
            }
        CAPTURE(shape);
        CHECK(std::abs(fit->shape_interval().low - least_shape) < 0.006);
        CHECK(std::abs(fit->shape_interval().high - most_shape) < 0.006);
        for (std::size_t i = 0; i < heights.size(); ++i) {
            CAPTURE(heights[i]);
            const sim::ShareAbove share = fit->share_above(heights[i]);
            CHECK(tests::close_to(share.high, most[i], 0.02));
            CHECK(share.high >= most[i] * 0.9999);
            // at -0.3 the heights are past some possible ends
            if (least[i] > 1e-9) CHECK(tests::close_to(share.low, least[i], 0.05));
            CHECK(share.low < least[i] * 1.0001 + 1e-12);
        }
    }
}

TEST_CASE("a share falls with the height, its limits too") {
    const auto fit = sim::ParetoProfile::of(drawn(0.1, 2.0, 300, 3), 30'000);
    REQUIRE(fit);
    int compared = 0;
    sim::ShareAbove before = fit->share_above(0.0);
    CHECK(tests::close_to(before.central, 0.01, 1e-12));
    for (int step = 0; step < 32; ++step) {
        const double height = 0.2 * std::pow(1.2, step);
        const sim::ShareAbove share = fit->share_above(height);
        if (!(share.low > 0.0)) break;
        CHECK(share.low < share.central);
        CHECK(share.central < share.high);
        CHECK(share.low <= before.low);
        CHECK(share.central < before.central);
        CHECK(share.high < before.high);
        before = share;
        ++compared;
    }
    CHECK(compared > 15);
}

TEST_CASE("what has no fit has none") {
    CHECK_FALSE(sim::ParetoProfile::of({1, 2, 3, 4, 5, 6, 7, 8, 9}, 100));
    // rising towards their end, as no shape over -1 has it
    std::vector<double> rising;
    for (int i = 1; i <= 200; ++i) rising.push_back(std::sqrt(i));
    CHECK_FALSE(sim::ParetoProfile::of(rising, 4000));
    // two of each size are no trouble
    const auto excesses = drawn(0.2, 1.0, 100, 5);
    auto twice = excesses;
    twice.insert(twice.end(), excesses.begin(), excesses.end());
    CHECK(tests::close_to(sim::ParetoProfile::of(twice, 2000)->shape(), sim::ParetoProfile::of(excesses, 2000)->shape(),
                          1e-6));
}

TEST_CASE("the interval of the shape covers the truth as often as it says") {
    int covered = 0;
    constexpr int rounds = 400;
    for (std::uint64_t round = 0; round < rounds; ++round) {
        const auto fit = sim::ParetoProfile::of(drawn(0.2, 1.0, 200, 100 + round), 10'000);
        REQUIRE(fit);
        const sim::Interval interval = fit->shape_interval();
        covered += interval.low <= 0.2 && 0.2 <= interval.high ? 1 : 0;
    }
    MESSAGE(covered << " of " << rounds << " intervals of 95 % hold the shape");
    CHECK(covered >= rounds * 0.92);
    CHECK(covered <= rounds * 0.98);
}
