// Exact bounds of shares beside Boost.Math's binomial distribution (its Clopper-Pearson bounds), which is other
// people's work throughout, and the closed forms that exist for nothing and everything.
#include "sim/numeric/share_interval.hpp"

#include <doctest/doctest.h>

#include <boost/math/distributions/binomial.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <cmath>
#include <utility>
#include <vector>

namespace {

using Binomial = boost::math::binomial_distribution<double>;

const std::vector<std::pair<std::uint64_t, std::uint64_t>>& counts() {
    static const std::vector<std::pair<std::uint64_t, std::uint64_t>> all{{0, 1},
                                                                          {1, 1},
                                                                          {0, 10},
                                                                          {1, 10},
                                                                          {5, 10},
                                                                          {9, 10},
                                                                          {10, 10},
                                                                          {1, 100},
                                                                          {50, 100},
                                                                          {99, 100},
                                                                          {3, 1'000},
                                                                          {997, 1'000},
                                                                          {0, 100'000},
                                                                          {17, 100'000},
                                                                          {50'000, 100'000},
                                                                          {0, 10'000'000},
                                                                          {1, 10'000'000},
                                                                          {123, 10'000'000},
                                                                          {5'000'000, 10'000'000},
                                                                          {9'999'999, 10'000'000},
                                                                          {3, 1'000'000'000}};
    return all;
}

void close(double found, double expected, std::uint64_t seen, std::uint64_t trials) {
    CAPTURE(seen);
    CAPTURE(trials);
    CHECK(found == doctest::Approx(expected).epsilon(1e-9));
    // near 1 it is the distance from 1 that counts
    CHECK(1.0 - found == doctest::Approx(1.0 - expected).epsilon(1e-6));
}

}  // namespace

TEST_CASE("share interval: two-sided bounds are Clopper and Pearson's, from one trial to a thousand million") {
    for (const auto& [seen, trials] : counts()) {
        const auto n = static_cast<double>(trials), k = static_cast<double>(seen);
        const sim::Interval interval = sim::share_interval(seen, trials);
        if (seen == 0)
            CHECK(interval.low == 0.0);
        else
            close(interval.low, Binomial::find_lower_bound_on_p(n, k, 0.025), seen, trials);
        if (seen == trials)
            CHECK(interval.high == 1.0);
        else
            close(interval.high, Binomial::find_upper_bound_on_p(n, k, 0.025), seen, trials);
    }
}

TEST_CASE("share interval: the one-sided bound, for nothing seen too") {
    for (const auto& [seen, trials] : counts()) {
        if (seen == trials) {
            CHECK(sim::share_at_most(seen, trials) == 1.0);
            continue;
        }
        close(sim::share_at_most(seen, trials),
              Binomial::find_upper_bound_on_p(static_cast<double>(trials), static_cast<double>(seen), 0.05), seen,
              trials);
    }
    // nothing in n: 1 - 0.05^(1/n), about 3/n
    for (const std::uint64_t n : {1U, 2U, 7U, 1000U, 1'000'000U, 1'000'000'000U})
        CHECK(sim::share_at_most(0, n) ==
              doctest::Approx(-std::expm1(std::log(0.05) / static_cast<double>(n))).epsilon(1e-12));
    CHECK(sim::share_at_most(0, 0) == 1.0);
    CHECK(sim::share_interval(0, 0).low == 0.0);
    CHECK(sim::share_interval(0, 0).high == 1.0);
}

TEST_CASE("share interval: the incomplete beta function agrees with Boost's") {
    for (const double a : {1.0, 1.5, 3.0, 40.0, 1e4})
        for (const double b : {1.0, 2.0, 17.0, 1e3, 1e6})
            for (const double x : {0.0, 1e-7, 0.001, 0.02, 0.3, 0.5, 0.9, 0.999, 1.0}) {
                CAPTURE(a);
                CAPTURE(b);
                CAPTURE(x);
                const double expected = boost::math::ibeta(a, b, x);
                if (expected > 1e-200) CHECK(sim::beta_below(a, b, x) == doctest::Approx(expected).epsilon(1e-10));
            }
}

TEST_CASE("share interval: the true share lies outside at most as often as stated") {
    // every outcome of n trials, weighed by its probability: no sampling
    for (const std::uint64_t n : {5U, 20U, 60U})
        for (double p = 0.01; p < 1.0; p += 0.0307) {
            const Binomial truth(static_cast<double>(n), p);
            double outside = 0.0, above = 0.0;
            for (std::uint64_t k = 0; k <= n; ++k) {
                const sim::Interval interval = sim::share_interval(k, n);
                const double weight = boost::math::pdf(truth, static_cast<double>(k));
                if (p < interval.low || p > interval.high) outside += weight;
                if (p > sim::share_at_most(k, n)) above += weight;
            }
            CHECK(outside <= 0.05 + 1e-12);
            CHECK(above <= 0.05 + 1e-12);
        }
}
