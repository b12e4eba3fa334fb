#include "sim/numeric/share_interval.hpp"

#include <algorithm>
#include <cmath>

#include "proto/contract.hpp"
#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double confidence_two_sided = 0.025, confidence_one_sided = 0.05;
constexpr double tiny = 1e-300;

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
double deviance(double x, double m) {
    if (std::abs(x - m) < 0.1 * (x + m)) {
        const double v = (x - m) / (x + m);
        double sum = (x - m) * v;
        double term = 2.0 * x * v;
        for (int j = 1; j < 1000; ++j) {
            term *= v * v;
            const double next = sum + term / (2 * j + 1);
            if (next == sum) break;
            sum = next;
        }
        return sum;
    }
    return x * portable_log(x / m) + m - x;
}

/// Probability of `a` in a + b trials with the share x, where a and b need not be whole; 1 - x is given by itself.
double binomial(double a, double b, double x, double rest) {
    const double n = a + b;
    if (x <= 0.0 || rest <= 0.0) return 0.0;
    const double exponent =
        stirling_error(n) - stirling_error(a) - stirling_error(b) - deviance(a, n * x) - deviance(b, n * rest);
    return portable_exp(exponent) * std::sqrt(n / (2 * pi * a * b));
}

/// The continued fraction of the incomplete beta function (Abramowitz and Stegun 26.5.8), by Lentz's method.
double fraction(double a, double b, double x) {
    double c = 1.0;
    double d = 1.0 - (a + b) * x / (a + 1.0);
    if (std::abs(d) < tiny) d = tiny;
    d = 1.0 / d;
    double value = d;
    const auto take = [&](double factor) {
        d = 1.0 + factor * d;
        if (std::abs(d) < tiny) d = tiny;
        c = 1.0 + factor / c;
        if (std::abs(c) < tiny) c = tiny;
        d = 1.0 / d;
        value *= c * d;
        return c * d;
    };
    for (int i = 1; i < 200'000; ++i) {
        const double m = i;
        take(m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m)));
        if (std::abs(take(-(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))) - 1.0) < 1e-16) break;
    }
    return value;
}

/// I_x(a, b), with 1 - x given by itself.
double below(double a, double b, double x, double rest) {
    if (x <= 0.0) return 0.0;
    if (rest <= 0.0) return 1.0;
    const double factor = binomial(a, b, x, rest) * a * b / (a + b);
    if (x < (a + 1.0) / (a + b + 2.0)) return factor * fraction(a, b, x) / a;
    return 1.0 - factor * fraction(b, a, rest) / b;
}

/// Where I_x(a, b) reaches `tail`, by halving; a small x keeps its digits.
double quantile_from_below(double a, double b, double tail) {
    double low = 0.0, high = 1.0;
    for (int step = 0; step < 1100 && high - low > 1e-14 * high; ++step) {
        // over many powers of ten by their middle, then by the plain middle
        const double middle = low > 0.0 && high > 4.0 * low ? std::sqrt(low * high)
                              : low > 0.0 || high < 1e-18   ? low + (high - low) / 2
                                                            : high / 16;
        (below(a, b, middle, 1.0 - middle) < tail ? low : high) = middle;
    }
    return low + (high - low) / 2;
}

/// The share above which `seen` or fewer come with a probability of less than `tail`.
double upper(std::uint64_t seen, std::uint64_t trials, double tail) {
    if (seen == trials) return 1.0;
    const auto a = static_cast<double>(seen + 1), b = static_cast<double>(trials - seen);
    // 1 - x is beta distributed with the parameters exchanged: found from the nearer end
    if (a <= b) return quantile_from_below(a, b, 1.0 - tail);
    return 1.0 - quantile_from_below(b, a, tail);
}

}  // namespace

double beta_below(double a, double b, double x) {
    proto::require(a >= 1.0 && b >= 1.0 && x >= 0.0 && x <= 1.0, "beta_below() outside what it is for");
    return below(a, b, x, 1.0 - x);
}

Interval share_interval(std::uint64_t seen, std::uint64_t trials) {
    proto::require(seen <= trials, "a share above 1");
    if (trials == 0) return {0.0, 1.0};
    // the lower end is the upper end of what was not seen
    return {seen == 0            ? 0.0
            : seen <= trials / 2 ? quantile_from_below(static_cast<double>(seen),
                                                       static_cast<double>(trials - seen + 1), confidence_two_sided)
                                 : 1.0 - upper(trials - seen, trials, confidence_two_sided),
            upper(seen, trials, confidence_two_sided)};
}

double share_at_most(std::uint64_t seen, std::uint64_t trials) {
    proto::require(seen <= trials, "a share above 1");
    return trials == 0 ? 1.0 : upper(seen, trials, confidence_one_sided);
}

}  // namespace sim
