#include "sim/numeric/portable_math.hpp"

#include <algorithm>
#include <bit>
#include <cmath>  // sqrt and nearbyint only: IEEE 754 rounds them exactly
#include <cstdint>
#include <limits>

#include "proto/contract.hpp"

namespace sim {
namespace {

// ln 2 in two parts. The first has 20 trailing zero bits, so that its product with an exponent is exact.
constexpr double ln2_high = 0x1.62e42feep-1;
constexpr double ln2_low = 0x1.a39ef35793c76p-33;
constexpr double inverse_ln2 = 0x1.71547652b82fep+0;
constexpr double sqrt_half = 0x1.6a09e667f3bcdp-1;
constexpr double one_over_sqrt_pi = 0x1.20dd750429b6dp-1;
constexpr double two_pi = 0x1.921fb54442d18p+2;
constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr int exponent_bias = 1023;
constexpr int mantissa_bits = 52;

/// 2^k exactly; requires -1022 <= k <= 1023.
double power_of_two(int k) {
    return std::bit_cast<double>(static_cast<std::uint64_t>(k + exponent_bias) << mantissa_bits);
}

double magnitude(double x) { return x < 0.0 ? -x : x; }

/// The upper half of a number's digits: its square is exact (Dekker, Numerische Mathematik 18, 1971).
double upper_half(double x) { return std::bit_cast<double>(std::bit_cast<std::uint64_t>(x) & 0xFFFFFFFFF8000000ULL); }

/// exp(-x^2) without the rounding of x^2, which would be magnified by its size.
double exp_of_minus_square(double x) {
    const double high = upper_half(x);
    return portable_exp(-high * high) * portable_exp(-(x - high) * (x + high));
}

/// delta(a) = log Gamma(a + 1) - (a + 1/2) log a + a - log(2 pi) / 2. From 16 on by Stirling's series (DLMF 5.11.1);
/// below by steps of delta(a) - delta(a + 1) = (a + 1/2) log(1 + 1/a) - 1, which is the sum of z^(2j) / (2j + 1) from
/// j = 1 with z = 1 / (2a + 1), so that nothing cancels.
double stirling_rest(double a) {
    double steps = 0.0;
    while (a < 16.0) {
        const double z = 1.0 / (2.0 * a + 1.0);
        const double square = z * z;
        double power = square;
        double step = 0.0;
        constexpr int terms_max = 400;  // z <= 1 / 1.1
        for (int j = 1; j <= terms_max && power > 1e-18; ++j, power *= square) step += power / (2.0 * j + 1.0);
        steps += step;
        a += 1.0;
    }
    const double inverse = 1.0 / a;
    const double square = inverse * inverse;
    const double series =
        1.0 / 12.0 -
        square * (1.0 / 360.0 -
                  square * (1.0 / 1260.0 -
                            square * (1.0 / 1680.0 -
                                      square * (1.0 / 1188.0 - square * (691.0 / 360360.0 - square * (1.0 / 156.0))))));
    return steps + inverse * series;
}

/// a log(a / x) + x - a, never negative; near x = a as a series in (a - x) / (a + x) (Loader, "Fast and accurate
/// computation of binomial probabilities", 2000).
double deviance(double a, double x) {
    const double difference = a - x;
    if (magnitude(difference) > 0.1 * (a + x)) return a * portable_log(a / x) - difference;
    const double v = difference / (a + x);
    const double square = v * v;
    double sum = difference * v;
    double term = 2.0 * a * v;
    constexpr int terms_max = 40;  // square <= 0.01
    for (int j = 1; j <= terms_max; ++j) {
        term *= square;
        const double next = sum + term / (2.0 * j + 1.0);
        if (next == sum) break;
        sum = next;
    }
    return sum;
}

/// x^a e^-x / Gamma(a + 1).
double gamma_front(double a, double x) {
    return portable_exp(-deviance(a, x) - stirling_rest(a)) / std::sqrt(two_pi * a);
}

/// P by its series (DLMF 8.7.1); for x < a + 1.
double gamma_series(double a, double x) {
    double term = 1.0;
    double sum = 1.0;
    constexpr int terms_max = 20'000;
    for (int n = 1; n <= terms_max && term > sum * 1e-18; ++n) {
        term *= x / (a + n);
        sum += term;
    }
    return gamma_front(a, x) * sum;
}

/// 1 - P by its continued fraction (DLMF 8.9.2 in its even form), worked from the front (Lentz, Applied Optics 15,
/// 1976); for x >= a + 1.
double gamma_fraction(double a, double x) {
    double b = x + 1.0 - a;
    double c = infinity;
    double d = 1.0 / b;
    double h = d;
    constexpr int terms_max = 20'000;
    for (int n = 1; n <= terms_max; ++n) {
        const double an = -n * (n - a);
        b += 2.0;
        d = 1.0 / (an * d + b);
        c = b + an / c;
        const double factor = c * d;
        h *= factor;
        if (magnitude(factor - 1.0) < 1e-16) break;
    }
    return gamma_front(a, x) * a * h;
}

void require_gamma(double shape, double x) {
    proto::require(shape >= 0.05 && shape <= 10'000.0 && x >= 0.0 && x < infinity, "a gamma distribution out of range");
}

}  // namespace

double portable_exp(double x) {
    if (!(x > -746.0)) return 0.0;
    if (x > 709.8) return infinity;
    const double scaled = x * inverse_ln2;
    const int k = static_cast<int>(scaled < 0.0 ? scaled - 0.5 : scaled + 0.5);
    const double rest = (x - k * ln2_high) - k * ln2_low;  // at most 0.35 in size
    // Taylor's series; 0.35^15 / 15! is below 2^-63.
    double sum = 0.0;
    constexpr int degree = 15;
    for (int n = degree; n >= 2; --n) sum = (sum + 1.0) * rest / n;
    const double value = 1.0 + (rest + rest * sum);
    // Two factors, since 2^k alone may be no normal number.
    const int half = k / 2;
    return value * power_of_two(half) * power_of_two(k - half);
}

double portable_log(double x) {
    proto::require(x > 0.0 && x < infinity, "the logarithm of what has none");
    int exponent = 0;
    if (x < std::numeric_limits<double>::min()) {
        x *= power_of_two(54);
        exponent = -54;
    }
    const auto bits = std::bit_cast<std::uint64_t>(x);
    exponent += static_cast<int>(bits >> mantissa_bits) - exponent_bias;
    auto m = std::bit_cast<double>((bits & 0x000FFFFFFFFFFFFFULL) | 0x3FF0000000000000ULL);  // 1 <= m < 2
    if (m > 2.0 * sqrt_half) {
        m *= 0.5;
        ++exponent;
    }
    // log m = 2 artanh(s), |s| <= 0.172 (DLMF 4.6.4); 0.172^2 to the 12th is below 2^-61. With f = m - 1 exact,
    // 2 s = f - s f, so that the leading term is not rounded.
    const double f = m - 1.0;
    const double s = f / (m + 1.0);
    const double square = s * s;
    double sum = 0.0;
    constexpr int terms = 12;
    for (int n = terms; n >= 1; --n) sum = square * (sum + 1.0 / (2.0 * n + 1.0));
    const double tail = s * (2.0 * sum - f);
    return exponent * ln2_high + (f + (tail + exponent * ln2_low));
}

double portable_log1p(double x) {
    constexpr double small = 0.25;
    if (!(magnitude(x) < small)) return portable_log(1.0 + x);
    // 2 artanh(s) with s = x / (2 + x), |s| <= 0.143 (DLMF 4.6.4); 2 s = x - s x, so that the leading term is exact
    const double s = x / (2.0 + x);
    const double square = s * s;
    double sum = 0.0;
    constexpr int terms = 10;
    for (int n = terms; n >= 1; --n) sum = square * (sum + 1.0 / (2.0 * n + 1.0));
    return x + s * (2.0 * sum - x);
}

double portable_expm1(double x) {
    constexpr double small = 0.5;
    if (!(magnitude(x) < small)) return portable_exp(x) - 1.0;
    // x (1 + x/2 (1 + x/3 (...))), DLMF 4.2.19, from the back
    double rest = 0.0;
    constexpr int terms = 17;
    for (int n = terms; n >= 2; --n) rest = x / n * (1.0 + rest);
    return x + x * rest;
}

double portable_log10(double x) {
    constexpr double inverse_ln10 = 0x1.bcb7b1526e50ep-2, close = 4e-15, last_digits = 5e-16;
    const double value = portable_log(x) * inverse_ln10;
    const double whole = std::nearbyint(value);
    return magnitude(value - whole) <= std::max(close, last_digits * magnitude(whole)) ? whole : value;
}

double whole_power(double base, std::uint64_t power) {
    double result = 1.0;
    for (; power != 0; power >>= 1) {
        if ((power & 1) != 0) result *= base;
        base *= base;
    }
    return result;
}

double portable_erfc(double x) {
    if (x < 0.0) return 2.0 - portable_erfc(-x);
    if (!(x < 27.3)) return 0.0;
    if (x < 1.0) {
        // erf by the series of positive terms (DLMF 7.6.2): 2 / sqrt(pi) e^(-x^2) sum of 2^n x^(2n+1) / (1 3 .. (2n+1))
        const double square = x * x;
        double term = x;
        double sum = x;
        for (int n = 1; n <= 60 && term > sum * 1e-18; ++n) {
            term *= 2.0 * square / (2.0 * n + 1.0);
            sum += term;
        }
        return 1.0 - 2.0 * one_over_sqrt_pi * exp_of_minus_square(x) * sum;
    }
    // Laplace's continued fraction (DLMF 7.9.1): sqrt(pi) e^(x^2) erfc(x) = 1 / (x + (1/2) / (x + (2/2) / (x + ...))),
    // worked from its end. Its error falls with exp(-2 x sqrt(2 n)).
    const int terms = 20 + static_cast<int>(240.0 / (x * x));
    double fraction = x;
    for (int n = terms; n >= 1; --n) fraction = x + 0.5 * n / fraction;
    return one_over_sqrt_pi * exp_of_minus_square(x) / fraction;
}

double normal_below(double z) { return 0.5 * portable_erfc(-z * sqrt_half); }

double gamma_below(double shape, double x) {
    require_gamma(shape, x);
    if (x == 0.0) return 0.0;
    return x < shape + 1.0 ? gamma_series(shape, x) : 1.0 - gamma_fraction(shape, x);
}

double gamma_above(double shape, double x) {
    require_gamma(shape, x);
    if (x == 0.0) return 1.0;
    return x < shape + 1.0 ? 1.0 - gamma_series(shape, x) : gamma_fraction(shape, x);
}

}  // namespace sim
