// The own exp, log, erfc and gamma distribution against those of Boost.Math and of the C library, both in long double,
// which has 11 bits more.
#include "sim/numeric/portable_math.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <bit>
#include <boost/math/special_functions/erf.hpp>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <limits>
#include <string>

#include "tests/support/close.hpp"

namespace {

double error_of(double seen, long double right) {
    return static_cast<double>(std::fabs((static_cast<long double>(seen) - right) / right));
}

TEST_CASE("exp is right to 4e-16 from the smallest normal result to the largest") {
    double worst = 0.0;
    for (int i = -70'000; i <= 70'000; ++i) {
        const double x = i * 0.0101;
        if (x > -708.0 && x < 709.7)
            worst = std::max(worst, error_of(sim::portable_exp(x), std::exp(static_cast<long double>(x))));
    }
    CHECK(worst < 4e-16);
    CHECK(sim::portable_exp(0.0) == 1.0);
    CHECK(sim::portable_exp(-1000.0) == 0.0);
    CHECK(sim::portable_exp(-745.0) == std::numeric_limits<double>::denorm_min());
    CHECK(sim::portable_exp(1000.0) == std::numeric_limits<double>::infinity());
}

TEST_CASE("log is right to 4e-16, near 1 and for the smallest numbers too") {
    double worst = 0.0;
    for (int i = 1; i <= 50'000; ++i) {
        for (const double x : {i * 0.0000401, i * 3.7, 1.0 + i * 1e-9, 1.0 - i * 1e-9, 1e300 / i, 1e-320 * i}) {
            worst = std::max(worst, error_of(sim::portable_log(x), std::log(static_cast<long double>(x))));
        }
    }
    CHECK(worst < 4e-16);
    CHECK(sim::portable_log(1.0) == 0.0);
}

TEST_CASE("log(1 + x) is right to 1e-15, for the smallest x too") {
    double worst = 0.0;
    for (int i = 1; i <= 50'000; ++i) {
        for (const double x : {i * 0.00002, -i * 0.000019, i * 1e-15, -i * 1e-12, i * 1e3}) {
            worst = std::max(worst, error_of(sim::portable_log1p(x), std::log1p(static_cast<long double>(x))));
        }
    }
    CHECK(worst < 1e-15);
    CHECK(sim::portable_log1p(0.0) == 0.0);
}

TEST_CASE("e^x - 1 is right to 1e-15, for the smallest x too") {
    double worst = 0.0;
    for (int i = 1; i <= 50'000; ++i) {
        for (const double x : {i * 0.0002, -i * 0.0007, i * 0.00001, -i * 0.00001, i * 1e-15, -i * 1e-12}) {
            worst = std::max(worst, error_of(sim::portable_expm1(x), std::expm1(static_cast<long double>(x))));
        }
    }
    CHECK(worst < 1e-15);
    CHECK(sim::portable_expm1(0.0) == 0.0);
    CHECK(sim::portable_expm1(-800.0) == -1.0);
}

TEST_CASE("the decimal logarithm is right to 1e-15, and whole for powers of ten") {
    double worst = 0.0;
    for (int i = 1; i <= 50'000; ++i) {
        for (const double x : {i * 0.0013, i * 1e9, 1.0 / i}) {
            const long double right = std::log10(static_cast<long double>(x));
            const auto apart = static_cast<double>(std::fabs(static_cast<long double>(sim::portable_log10(x)) - right));
            worst = std::max(worst, apart / std::max(1.0, static_cast<double>(std::fabs(right))));
        }
    }
    CHECK(worst < 1e-15);
    for (int power = -300; power <= 300; ++power) {
        CAPTURE(power);
        CHECK(sim::portable_log10(std::strtod(("1e" + std::to_string(power)).c_str(), nullptr)) == power);
    }
}

TEST_CASE("whole powers") {
    CHECK(sim::whole_power(10.0, 22) == 1e22);
    CHECK(sim::whole_power(0.0, 0) == 1.0);
    CHECK(sim::whole_power(0.0, 3) == 0.0);
    for (const std::uint64_t power : {1ULL, 7ULL, 100ULL, 4095ULL})
        CHECK(error_of(sim::whole_power(0.97, power),
                       std::pow(static_cast<long double>(0.97), static_cast<long double>(power))) <
              3e-16 * static_cast<double>(power));
}

TEST_CASE("erfc is right to 2e-14 and the normal distribution with it") {
    double worst = 0.0, normal = 0.0;
    for (int i = -6'000; i < 26'500; ++i) {
        const double x = i * 0.001;
        worst = std::max(worst, error_of(sim::portable_erfc(x), boost::math::erfc(static_cast<long double>(x))));
        if (x >= 8.0) continue;
        const long double right = boost::math::erfc(static_cast<long double>(x) / std::sqrt(2.0L)) / 2.0L;
        normal = std::max(normal, error_of(sim::normal_below(-x), right));
    }
    CHECK(worst < 2e-14);
    CHECK(normal < 2e-14);
    // DLMF 7.2.2 and the table of any book: half of all below the middle, 97.5 % below 1.959963984540054
    CHECK(sim::normal_below(0.0) == 0.5);
    CHECK(tests::close_to(sim::normal_below(1.959963984540054), 0.975, 1e-14));
}

TEST_CASE("the gamma distribution is right to 5e-14 on both sides") {
    double below = 0.0, above = 0.0;
    for (const double shape : {0.1, 0.3, 0.5, 0.8, 1.0, 1.5, 2.0, 3.7, 9.9, 20.0, 50.0, 123.4, 300.0, 1000.0}) {
        for (int i = 1; i < 200; ++i) {
            const double x = shape * i * 0.02;
            const auto a = static_cast<long double>(shape);
            const long double p = boost::math::gamma_p(a, static_cast<long double>(x));
            const long double q = boost::math::gamma_q(a, static_cast<long double>(x));
            if (p > 1e-12L) below = std::max(below, error_of(sim::gamma_below(shape, x), p));
            if (q > 1e-12L) above = std::max(above, error_of(sim::gamma_above(shape, x), q));
        }
    }
    CHECK(below < 5e-14);
    CHECK(above < 5e-14);
    // Shape 1 is the exponential distribution.
    CHECK(tests::close_to(sim::gamma_above(1.0, 2.0), 0.1353352832366127, 1e-14));
    CHECK(sim::gamma_below(2.0, 0.0) == 0.0);
}

TEST_CASE("the bits are those written down here, on every machine") {
    // Computed once by this code: a compiler that fuses or reorders operations changes the last of them.
    std::uint64_t mixed = 0;
    for (int i = 1; i <= 1'000; ++i) {
        const double x = i * 0.0137;
        for (const double value :
             {sim::portable_exp(-x), sim::portable_log(x), sim::portable_erfc(x * 0.5), sim::gamma_below(1.7, x)}) {
            mixed = mixed * 0x9E3779B97F4A7C15ULL + std::bit_cast<std::uint64_t>(value);
        }
    }
    CHECK(mixed == 9742348391508655374ULL);
}

}  // namespace
