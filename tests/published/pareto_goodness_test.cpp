// p-values of distances from a fitted generalised Pareto law beside table 2 of Choulakian and Stephens,
// "Goodness-of-Fit Tests for the Generalized Pareto Distribution", Technometrics 43, 2001: upper tail percentage points
// of Anderson and Darling's statistic with both parameters estimated. Their k is minus the shape here.
#include "sim/numeric/pareto_goodness.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

#include "tests/support/close.hpp"

namespace {

constexpr std::array p{0.5, 0.25, 0.1, 0.05, 0.025, 0.01, 0.005, 0.001};
struct Row {
    double shape;
    std::array<double, 8> points;
};
constexpr std::array<Row, 10> published{{{0.9, {0.339, 0.471, 0.641, 0.771, 0.905, 1.086, 1.226, 1.559}},
                                         {0.5, {0.356, 0.499, 0.685, 0.830, 0.978, 1.180, 1.336, 1.707}},
                                         {0.2, {0.376, 0.534, 0.741, 0.903, 1.069, 1.296, 1.471, 1.893}},
                                         {0.1, {0.386, 0.550, 0.766, 0.935, 1.110, 1.348, 1.532, 1.966}},
                                         {0.0, {0.397, 0.569, 0.796, 0.974, 1.158, 1.409, 1.603, 2.064}},
                                         {-0.1, {0.410, 0.591, 0.831, 1.020, 1.215, 1.481, 1.687, 2.176}},
                                         {-0.2, {0.426, 0.617, 0.873, 1.074, 1.283, 1.567, 1.788, 2.314}},
                                         {-0.3, {0.445, 0.649, 0.924, 1.140, 1.365, 1.672, 1.909, 2.475}},
                                         {-0.4, {0.468, 0.688, 0.985, 1.221, 1.465, 1.799, 2.058, 2.674}},
                                         {-0.5, {0.496, 0.735, 1.061, 1.321, 1.590, 1.958, 2.243, 2.922}}}};

}  // namespace

TEST_CASE("Anderson and Darling's distance has the published percentage points") {
    for (const Row& row : published)
        for (std::size_t i = 0; i < p.size(); ++i) {
            CAPTURE(row.shape);
            CAPTURE(p[i]);
            // a last digit of the table is up to half a per cent of p
            CHECK(tests::close_to(sim::anderson_darling_p(row.points[i], row.shape), p[i], 0.02));
        }
}

TEST_CASE("the p-values of both distances fall all the way") {
    for (const double shape : {-0.5, -0.25, 0.0, 0.33, 1.0}) {
        double before_a = 1.0, before_w = 1.0;
        for (int step = 0; step < 58; ++step) {
            const double value = 0.02 * std::pow(1.1, step);
            const double a = sim::anderson_darling_p(value, shape), w = sim::cramer_von_mises_p(value / 6, shape);
            CHECK(a <= before_a);
            CHECK(w <= before_w);
            CHECK(a > 0.0);
            before_a = a;
            before_w = w;
        }
        CHECK(before_a < 1e-4);
        CHECK(before_w < 1e-4);
        CHECK(sim::anderson_darling_p(0.01, shape) == 0.999);
    }
}

TEST_CASE("the distances are those of their definitions") {
    // of three shares 0.75, 0.4, 0.1 above: z = 0.25, 0.6, 0.9
    const sim::ParetoGoodness found = sim::pareto_goodness({0.75, 0.4, 0.1}, 0.0);
    const double w2 = 1.0 / 36 + std::pow(0.25 - 1.0 / 6, 2) + std::pow(0.6 - 0.5, 2) + std::pow(0.9 - 5.0 / 6, 2);
    const double a2 = -3.0 - (1 * (std::log(0.25) + std::log(0.1)) + 3 * (std::log(0.6) + std::log(0.4)) +
                              5 * (std::log(0.9) + std::log(0.75))) /
                                 3.0;
    CHECK(tests::close_to(found.cramer_von_mises.value, w2, 1e-12));
    CHECK(tests::close_to(found.anderson_darling.value, a2, 1e-12));
}
