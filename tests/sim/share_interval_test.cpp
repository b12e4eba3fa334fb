// Exact bounds of shares beside Boost.Math's binomial distribution (its Clopper-Pearson bounds), which is other
// people's work throughout, the closed forms that exist for nothing and everything, and the definition itself: the sum
// of the binomial distribution's terms, in 50 digits.
#include "sim/numeric/share_interval.hpp"

#include <doctest/doctest.h>

#include <array>
#include <bit>
#include <boost/math/distributions/binomial.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <boost/multiprecision/cpp_bin_float.hpp>
#include <cmath>
#include <utility>
#include <vector>

#include "tests/support/close.hpp"

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
    CHECK(tests::close_to(found, expected, 1e-9));
    // near 1 it is the distance from 1 that counts
    CHECK(tests::close_to(1.0 - found, 1.0 - expected, 1e-6));
}

using Wide = boost::multiprecision::cpp_bin_float_50;

/// The probability of at most `seen`, term by term.
Wide at_most(std::uint64_t seen, std::uint64_t trials, const Wide& share) {
    const Wide odds = share / (1 - share);
    Wide term = exp(Wide(trials) * log(1 - share));
    Wide sum = term;
    for (std::uint64_t k = 0; k < seen; ++k) {
        term *= odds * Wide(trials - k) / Wide(k + 1);
        sum += term;
    }
    return sum;
}

/// How far outside a bound may be: the share stated, and what a double cannot tell apart next to 1.
struct Allowed {
    double share = 1e-9, absolute = 0.0;
};
constexpr Allowed next_to_one{1e-9, 0x1p-53};

/// That `bound`, of the share of what was seen `seen` times, is the upper one or above it by no more than allowed.
void check_above(const Wide& bound, std::uint64_t seen, std::uint64_t trials, double tail, Allowed allowed = {}) {
    CHECK(at_most(seen, trials, bound) <= Wide(tail));
    const Wide inside = bound * (1 - Wide(allowed.share)) - Wide(allowed.absolute);
    CHECK((inside <= 0 || at_most(seen, trials, inside) > Wide(tail)));
}

/// The same for the lower one.
void check_below(const Wide& bound, std::uint64_t seen, std::uint64_t trials, double tail, Allowed allowed = {}) {
    CHECK(1 - at_most(seen - 1, trials, bound) <= Wide(tail));
    const Wide inside = bound * (1 + Wide(allowed.share)) + Wide(allowed.absolute);
    CHECK(1 - at_most(seen - 1, trials, inside) > Wide(tail));
}

/// By what share of the nearer end's distance `bound` lies above where the tail is that of the confidence: Newton's
/// step on Boost's function. `a` and `b` of the beta distribution that is the tail's.
long double outside(double bound, double a, double b, bool upper) {
    const auto x = static_cast<long double>(bound), wide_a = static_cast<long double>(a);
    const auto wide_b = static_cast<long double>(b);
    const long double tail = upper ? boost::math::ibetac(wide_a, wide_b, x) : boost::math::ibeta(wide_a, wide_b, x);
    return (0.025L - tail) / boost::math::ibeta_derivative(wide_a, wide_b, x) / std::min(x, 1 - x);
}

}  // namespace

TEST_CASE("share interval: few seen or few unseen, never inside the definition's bounds and 1e-9 outside at most") {
    std::vector<std::uint64_t> counts{2, 3, 4, 5, 6, 7, 8, 9, 11, 15, 20, 39};
    for (std::uint64_t trials = 1; trials <= 1'000'000'000'000; trials *= 10) counts.push_back(trials);
    for (const std::uint64_t trials : counts)
        for (const std::uint64_t few : {0U, 1U, 2U, 3U, 7U, 30U, 100U, 400U}) {
            if (few > trials / 2) continue;
            CAPTURE(few);
            CAPTURE(trials);
            sim::Interval interval = sim::share_interval(few, trials);
            check_above(interval.high, few, trials, 0.025);
            check_above(sim::share_at_most(few, trials), few, trials, 0.05);
            if (few != 0) check_below(interval.low, few, trials, 0.025);
            // all but few seen: the bounds of what was not seen, from the other side
            interval = sim::share_interval(trials - few, trials);
            check_above(1 - Wide(interval.low), few, trials, 0.025, next_to_one);
            if (few == 0) continue;
            check_below(1 - Wide(interval.high), few, trials, 0.025, next_to_one);
            check_below(1 - Wide(sim::share_at_most(trials - few, trials)), few, trials, 0.05, next_to_one);
        }
}

TEST_CASE("share interval: many seen, never inside Boost's bounds and 1e-9 outside at most") {
    for (std::uint64_t trials = 10'000; trials <= 1'000'000'000'000; trials *= 10)
        for (const double share : {1e-9, 3e-6, 0.001, 0.1, 0.25, 0.5, 0.7, 0.96, 0.9997, 0.99999999}) {
            const auto n = static_cast<double>(trials);
            const auto seen = static_cast<std::uint64_t>(n * share);
            // below that Boost's own error shows, some 1e-11 of the tail
            if (std::min(seen, trials - seen) < 400) continue;
            CAPTURE(seen);
            CAPTURE(trials);
            const auto k = static_cast<double>(seen);
            const sim::Interval interval = sim::share_interval(seen, trials);
            const long double below = outside(interval.low, k, n - k + 1, false);
            const long double above = outside(interval.high, k + 1, n - k, true);
            const auto allowed = [](double bound) {
                return 1e-9L + 0x1p-53L / static_cast<long double>(std::min(bound, 1.0 - bound));
            };
            CHECK(below >= 0);
            CHECK(below <= allowed(interval.low));
            CHECK(above >= 0);
            CHECK(above <= allowed(interval.high));
        }
}

TEST_CASE(
    "share interval: more seen never lowers a bound, more trials never raise one, and the two sides are mirrored") {
    const auto grows = [](std::uint64_t value) { return value + 1 + value / 3; };
    for (std::uint64_t trials = 1; trials <= 1'000'000'000'000; trials = grows(trials)) {
        double low = -1.0, high = -1.0, one_sided = -1.0;
        for (std::uint64_t seen = 0; seen <= trials;
             seen = seen == trials ? trials + 1 : std::min(trials, grows(seen))) {
            CAPTURE(seen);
            CAPTURE(trials);
            const sim::Interval interval = sim::share_interval(seen, trials);
            const double bound = sim::share_at_most(seen, trials);
            CHECK(interval.low > low);
            CHECK((interval.high > high || high == 1.0));
            CHECK((bound > one_sided || bound == 1.0));
            low = interval.low, high = interval.high, one_sided = bound;
            const double share = static_cast<double>(seen) / static_cast<double>(trials);
            CHECK(low <= share);
            CHECK(share <= bound);
            CHECK(bound <= high);

            const sim::Interval mirrored = sim::share_interval(trials - seen, trials);
            CHECK(std::abs(mirrored.low - (1.0 - high)) <= 1e-12 * mirrored.low + 0x1p-52);
            CHECK(std::abs(mirrored.high - (1.0 - low)) <= 1e-12 * mirrored.high + 0x1p-52);

            const std::uint64_t more = grows(trials);
            CHECK((sim::share_interval(seen, more).low < low || seen == 0));
            CHECK(sim::share_interval(seen, more).high < high);
            CHECK(sim::share_at_most(seen, more) < bound);
        }
    }
}

TEST_CASE("share interval: the same bits on every machine") {
    const auto bits = [](double value) { return std::bit_cast<std::uint64_t>(value); };
    struct Row {
        std::uint64_t seen, trials, low, high, at_most;
    };
    for (const Row& row : std::array{
             Row{0, 7, 0, 0x3FDA3727B17F2F55, 0x3FD64850361C7475},
             Row{3, 1'000'000'000, 0x3E0541E5C5A3C7B0, 0x3E42D3DBFCEDC612, 0x3E40A69E24892776},
             Row{123'456'789, 1'000'000'000'000, 0x3F202DCAB2253716, 0x3F202F40D059F894, 0x3F202F22BCB76AA8},
             Row{999'999'999'998, 1'000'000'000'000, 0x3FEFFFFFFFFF01CD, 0x3FEFFFFFFFFFF77B, 0x3FEFFFFFFFFFF380}}) {
        const sim::Interval interval = sim::share_interval(row.seen, row.trials);
        CHECK(bits(interval.low) == row.low);
        CHECK(bits(interval.high) == row.high);
        CHECK(bits(sim::share_at_most(row.seen, row.trials)) == row.at_most);
    }
}

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
    for (const std::uint64_t n : {1ULL, 2ULL, 7ULL, 1000ULL, 1'000'000ULL, 1'000'000'000ULL, 1'000'000'000'000ULL}) {
        const auto each = [&](double tail) { return std::log(tail) / static_cast<double>(n); };
        CHECK(tests::close_to(sim::share_at_most(0, n), -std::expm1(each(0.05)), 1e-12));
        CHECK(tests::close_to(sim::share_interval(0, n).high, -std::expm1(each(0.025)), 1e-12));
        CHECK(tests::close_to(sim::share_interval(n, n).low, std::exp(each(0.025)), 2e-12));
        CHECK(tests::close_to(sim::share_interval(1, n + 1).low,
                              -std::expm1(std::log(0.975) / static_cast<double>(n + 1)), 1e-12));
    }
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
                if (expected > 1e-200) CHECK(tests::close_to(sim::beta_below(a, b, x), expected, 1e-10));
            }
}

TEST_CASE("share interval: the true share lies outside at most as often as stated") {
    // every outcome of n trials, weighed by its probability: no sampling
    for (const std::uint64_t n : {5U, 20U, 60U})
        for (int i = 0; i < 33; ++i) {
            const double p = 0.01 + 0.0307 * i;
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
