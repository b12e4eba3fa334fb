#include "sim/numeric/counting_laws.hpp"

#include <algorithm>
#include <cmath>  // std::sqrt only: IEEE 754 rounds it exactly

#include "proto/contract.hpp"
#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

constexpr double half_log_two_pi = 0.91893853320467274178;

/// By Stirling's series (DLMF 5.11.1), from 16 on; below that the product.
double log_factorial(std::uint64_t n) {
    constexpr std::uint64_t series_from = 16;
    if (n < series_from) {
        double product = 1.0;
        for (std::uint64_t i = 2; i <= n; ++i) product *= static_cast<double>(i);
        return portable_log(product);
    }
    const auto x = static_cast<double>(n);
    const double inverse = 1.0 / x, square = inverse * inverse;
    const double series = inverse * (1.0 / 12.0 - square * (1.0 / 360.0 - square * (1.0 / 1260.0 - square / 1680.0)));
    return (x + 0.5) * portable_log(x) - x + half_log_two_pi + series;
}

double log_choose(std::uint64_t n, std::uint64_t k) {
    return log_factorial(n) - log_factorial(k) - log_factorial(n - k);
}

/// n over k beside a number whose logarithm is given; 0 where there is no such choice.
double choices(std::uint64_t n, std::uint64_t k, std::uint64_t m, std::uint64_t j, double beside) {
    if (k > n || j > m) return 0.0;
    return portable_exp(log_choose(n, k) + log_choose(m, j) - beside);
}

/// Twice the tail from `seen` outwards on its side of the mean. `probability` falls on each side of its mode.
template <class Probability>
double two_sided(std::uint64_t seen, std::uint64_t least, std::uint64_t most, double mean, Probability probability) {
    double tail = 0.0;
    constexpr double negligible = 1e-17;
    const bool upwards = static_cast<double>(seen) > mean;
    for (std::uint64_t k = seen;; upwards ? ++k : --k) {
        const double more = probability(k);
        tail += more;
        if (k == (upwards ? most : least) || (more < negligible * tail)) break;
    }
    return std::min(1.0, 2.0 * tail);
}

struct Moments {
    double mean, deviation, skewness;
};

/// Above x, in a lognormal law, shifted, with these moments; for a skewness above 0. With w = exp(s^2) its skewness is
/// (w + 2) sqrt(w - 1), so that t = sqrt(w - 1) solves t^3 + 3 t = skewness.
double above_in_lognormal(const Moments& of, double x) {
    const double q = portable_exp(portable_log((of.skewness + std::sqrt(of.skewness * of.skewness + 4.0)) / 2.0) / 3.0);
    const double t = q - 1.0 / q, w = 1.0 + t * t;
    const double variance = portable_log(w);
    const double mean = -0.5 * portable_log(w * (w - 1.0));
    const double shifted = (x - of.mean) / of.deviation + portable_exp(mean + variance / 2.0);
    if (!(shifted > 0.0)) return 1.0;
    return normal_below((mean - portable_log(shifted)) / std::sqrt(variance));
}

/// Below x, by the power of the distance from `least` that is nearest to a normal law (Jensen and Solomon, Journal of
/// the American Statistical Association 67, 1972, who carry on Wilson and Hilferty's cube root).
double below_by_power(const Moments& of, double least, double x) {
    if (!(x > least)) return 0.0;
    const double mean = of.mean - least, variance = of.deviation * of.deviation;
    const double power = 1.0 - mean * of.skewness / (3.0 * of.deviation);
    const double expected = 1.0 + variance * power * (power - 1.0) / (2.0 * mean * mean);
    const double raised = portable_exp(power * portable_log((x - least) / mean));
    return normal_below((raised - expected) * mean / (power * of.deviation));
}

}  // namespace

double runs_p(std::uint64_t a, std::uint64_t b, std::uint64_t runs) {
    const std::uint64_t most = 2 * std::min(a, b) + (a == b ? 0 : 1);
    proto::require(a >= 1 && b >= 1 && runs >= 2 && runs <= most, "a number of runs that cannot be");
    const double all = log_choose(a + b, a);
    const double mean = 1.0 + 2.0 * static_cast<double>(a) * static_cast<double>(b) / static_cast<double>(a + b);
    return two_sided(runs, 2, most, mean, [&](std::uint64_t r) {
        const std::uint64_t k = r / 2;
        if (r % 2 == 0) return 2.0 * choices(a - 1, k - 1, b - 1, k - 1, all);
        return choices(a - 1, k, b - 1, k - 1, all) + choices(a - 1, k - 1, b - 1, k, all);
    });
}

double groups_p(std::uint64_t a, std::uint64_t b, std::uint64_t runs) {
    const std::uint64_t most = std::min(a, b + 1);
    proto::require(runs >= 1 && runs <= most, "a number of groups that cannot be");
    const double all = log_choose(a + b, a);
    const double mean = static_cast<double>(a) * static_cast<double>(b + 1) / static_cast<double>(a + b);
    return two_sided(runs, 1, most, mean, [&](std::uint64_t k) { return choices(a - 1, k - 1, b + 1, k, all); });
}

double spacings_p(std::uint64_t total, std::uint64_t parts, double sum) {
    proto::require(parts >= 2 && total >= 2, "spacings that cannot differ");
    const auto k = static_cast<double>(parts);
    // e[j]: the mean of the product of falling factorials of some parts, j factors in all, less their own factorials
    double e[7] = {1.0};
    for (int j = 0; j < 6; ++j) e[j + 1] = e[j] * (static_cast<double>(total) - j) / (k + j);
    const double mean = k * 2 * e[2];
    const double square = k * (24 * e[4] + 24 * e[3] + 4 * e[2]) + k * (k - 1) * 4 * e[4];
    const double cube = k * (720 * e[6] + 1440 * e[5] + 912 * e[4] + 192 * e[3] + 8 * e[2]) +
                        3 * k * (k - 1) * (48 * e[6] + 48 * e[5] + 8 * e[4]) + k * (k - 1) * (k - 2) * 8 * e[6];
    const double variance = square - mean * mean;
    if (!(variance > 0.0)) return 1.0;
    const double deviation = std::sqrt(variance);
    const double skewness = (cube - 3 * mean * square + 2 * mean * mean * mean) / (variance * deviation);
    const Moments moments{mean, deviation, skewness};
    if (sum > mean && skewness > 0.0) return std::min(1.0, 2.0 * above_in_lognormal(moments, sum));
    // all alike would be the least; from half of it the power's law fits best
    const double least = std::max(0.0, 0.5 * static_cast<double>(total) * (static_cast<double>(total) / k - 1.0));
    return std::min(1.0, 2.0 * below_by_power(moments, least, sum));
}

}  // namespace sim
