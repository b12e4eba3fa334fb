#include "sim/numeric/share_interval.hpp"

#include <algorithm>
#include <cmath>  // std::sqrt and std::abs only: IEEE 754 rounds them exactly

#include "proto/contract.hpp"
#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double confidence_two_sided = 0.025, confidence_one_sided = 0.05;
/// By how much a bound is put outwards: more than all rounding comes to (some 1e-14), and far less than what is stated.
constexpr double margin = 3e-13;

/// log(n!) less Stirling's sqrt(2 pi n) (n/e)^n, for n > 0: the series of 1/n, from a value raised until it converges.
double stirling_error(double n) {
    if (n < 16.0) {
        // Stirling's error falls by (n + 1/2) log(1 + 1/n) - 1 from n to n + 1
        const double step = (n + 0.5) * portable_log((n + 1.0) / n) - 1.0;
        return stirling_error(n + 1.0) + step;
    }
    const double r = 1.0 / (n * n);
    return (1.0 / 12 - (1.0 / 360 - (1.0 / 1260 - (1.0 / 1680 - r / 1188) * r) * r) * r) / n;
}

/// x log(x / m) + m - x without cancellation (Loader, "Fast and Accurate Computation of Binomial Probabilities", 2000).
/// x - m is given by itself: of a large x nothing would be left of it.
double deviance(double x, double m, double difference) {
    if (std::abs(difference) < 0.1 * (x + m)) {
        const double v = difference / (x + m);
        double sum = difference * v;
        double term = 2.0 * x * v;
        for (int j = 1; j < 1000; ++j) {
            term *= v * v;
            const double next = sum + term / (2 * j + 1);
            if (next == sum) break;
            sum = next;
        }
        return sum;
    }
    return x * portable_log(x / m) - difference;
}

/// A place in a beta distribution of the parameters a and b: x, and 1 - x by itself, since one of them may be tiny and
/// the other all but 1.
struct Place {
    double a, b, x, rest;

    /// a - (a + b) x, how far x is below the mean; from the smaller of x and 1 - x, where nothing cancels but what has
    /// to.
    [[nodiscard]] double below_mean() const { return x < rest ? a - (a + b) * x : (a + b) * rest - b; }
    [[nodiscard]] Place mirrored() const { return {b, a, rest, x}; }
};

/// x^a (1-x)^b / B(a, b), of 0 < x < 1.
double front(const Place& at) {
    const double n = at.a + at.b, difference = at.below_mean();
    const double exponent = stirling_error(n) - stirling_error(at.a) - stirling_error(at.b) -
                            deviance(at.a, n * at.x, difference) - deviance(at.b, n * at.rest, -difference);
    return portable_exp(exponent) * std::sqrt(at.a * at.b / (2 * pi * n));
}

/// I_x(a, b) divided by front(), for x up to the mean: the continued fraction of DiDonato and Morris (Algorithm 708,
/// ACM Transactions on Mathematical Software 18, 1992), in which x - mean stands by itself and does not cancel.
double fraction(const Place& at) {
    const double a = at.a, b = at.b, c = 1.0 + at.below_mean(), ratio = b / a, above_one = 1.0 + 1.0 / a;
    double p = 1.0, s = a + 1.0;
    double numerator_before = 0.0, denominator_before = 1.0, numerator = 1.0, denominator = c / above_one;
    double value = above_one / c;
    constexpr int steps_max = 100'000;  // at the bounds of up to 1e12 trials it takes 200 at most
    for (int i = 1; i <= steps_max; ++i) {
        const double n = i, t = n / a, w = n * (b - n) * at.x, e = a / s;
        const double alpha = p * (p + ratio) * e * e * (w * at.x);
        const double beta = n + w / s + (1.0 + t) / (above_one + t + t) * (c + n * (1.0 + at.rest));
        p = 1.0 + t;
        s += 2.0;
        const double numerator_next = alpha * numerator_before + beta * numerator;
        const double denominator_next = alpha * denominator_before + beta * denominator;
        const double next = numerator_next / denominator_next;
        // only the ratio counts: kept within range by dividing all by the last denominator
        numerator_before = numerator / denominator_next;
        denominator_before = denominator / denominator_next;
        numerator = next;
        denominator = 1.0;
        const double change = std::abs(next - value);
        value = next;
        if (change <= 1e-16 * value) break;
    }
    return value;
}

/// I_x(a, b).
double below(const Place& at) {
    if (at.x <= 0.0) return 0.0;
    if (at.rest <= 0.0) return 1.0;
    if (at.below_mean() >= 0.0) return front(at) * fraction(at);
    return 1.0 - front(at.mirrored()) * fraction(at.mirrored());
}

enum class Side : std::uint8_t { below, above };

/// Where I_x(a, b) is `tail` on the way up (Side::below) or 1 - I_x(a, b) is on the way down; for a <= b + 1 and a tail
/// of less than a tenth, so that it lies on that side of the mean. Newton's method: the logarithm of the tail over that
/// of x is concave, so that from the second step on it comes nearer from one side.
double quantile(double a, double b, double tail, Side side) {
    const double sign = side == Side::below ? -1.0 : 1.0;
    // Wilson and Hilferty's cube of a normal value, 2 standard deviations from the mean
    const double root = 1.0 - 1.0 / (9.0 * a) + sign * 2.0 / (3.0 * std::sqrt(a));
    const double mean = a / (a + b);
    double x = std::min(mean * root * root * root, (mean + 1.0) / 2.0);
    for (int step = 0; step < 60; ++step) {
        const Place at{a, b, x, 1.0 - x};
        const double ratio = fraction(side == Side::below ? at : at.mirrored());
        const double change = at.rest * ratio * portable_log(front(at) * ratio / tail);
        const double next = x * portable_exp(sign * change);
        x = next < 1.0 ? next : (x + 1.0) / 2.0;
        if (std::abs(change) < 1e-13) break;
    }
    return x;
}

/// x moved by a share of its distance from the nearer of 0 and 1.
double outwards(double x, double share) { return x + share * std::min(x, 1.0 - x); }

/// 1 - x for 0 <= x <= 1, never below (`up`) or never above it.
double one_less(double x, bool up) {
    const double rounded = 1.0 - x;
    const double back = 1.0 - rounded;  // exact where 1 - x was not
    constexpr double last_place = 0x1p-53;
    if (up) return back > x ? rounded + last_place : rounded;
    return back < x ? rounded - last_place : rounded;
}

/// The share above which `seen` or fewer come with a probability of less than `tail`.
double upper(std::uint64_t seen, std::uint64_t trials, double tail) {
    if (seen == trials) return 1.0;
    const auto a = static_cast<double>(seen + 1), b = static_cast<double>(trials - seen);
    if (seen <= trials / 2) return outwards(quantile(a, b, tail, Side::above), margin);
    // 1 - x is beta distributed with the parameters exchanged: found from the nearer end
    return one_less(outwards(quantile(b, a, tail, Side::below), -margin), true);
}

/// The share below which `seen` or more come with a probability of less than `tail`.
double lower(std::uint64_t seen, std::uint64_t trials, double tail) {
    if (seen == 0) return 0.0;
    if (seen > (trials + 1) / 2) return one_less(upper(trials - seen, trials, tail), false);
    const auto a = static_cast<double>(seen), b = static_cast<double>(trials - seen + 1);
    return outwards(quantile(a, b, tail, Side::below), -margin);
}

}  // namespace

double beta_below(double a, double b, double x) {
    proto::require(a >= 1.0 && b >= 1.0 && x >= 0.0 && x <= 1.0, "beta_below() outside what it is for");
    return below({a, b, x, 1.0 - x});
}

Interval share_interval(std::uint64_t seen, std::uint64_t trials) {
    proto::require(seen <= trials, "a share above 1");
    if (trials == 0) return {0.0, 1.0};
    return {lower(seen, trials, confidence_two_sided), upper(seen, trials, confidence_two_sided)};
}

double share_at_most(std::uint64_t seen, std::uint64_t trials) {
    proto::require(seen <= trials, "a share above 1");
    return trials == 0 ? 1.0 : upper(seen, trials, confidence_one_sided);
}

}  // namespace sim
