#include "sim/numeric/scaled_real.hpp"

#include <doctest/doctest.h>

#include <bit>
#include <boost/multiprecision/cpp_bin_float.hpp>
#include <cmath>
#include <limits>

#include "tests/support/effort.hpp"

namespace {

using Wide = boost::multiprecision::number<boost::multiprecision::cpp_bin_float<200>>;

Wide exact(sim::ScaledReal value) { return ldexp(Wide(value.mantissa()), static_cast<int>(value.exponent())); }

/// In units of 2^-64 of what is right.
double error_of(sim::ScaledReal seen, const Wide& right) {
    if (right == 0) return seen.is_zero() ? 0 : std::numeric_limits<double>::infinity();
    return ldexp(Wide(abs(exact(seen) / right - 1)), 64).convert_to<double>();
}

}  // namespace

TEST_CASE("scaled real: the four operations against 200-digit arithmetic") {
    tests::Draws draws(31);
    const auto drawn = [&] {
        const std::uint64_t kinds[] = {draws.next(), 1, std::uint64_t{1} << 63, ~std::uint64_t{0}, draws.below(1000)};
        const auto power = static_cast<std::int64_t>(draws.below(200)) - 100;
        return sim::ScaledReal(kinds[draws.below(5)]).times_power_of_two(draws.one_in(3) ? power * 100 : power);
    };
    double worst = 0;
    for (int i = 0; i < 200'000; ++i) {
        const sim::ScaledReal a = drawn(), b = drawn();
        worst = std::max(worst, error_of(a + b, exact(a) + exact(b)));
        worst = std::max(worst, error_of(a * b, exact(a) * exact(b)));
        if (!b.is_zero()) worst = std::max(worst, error_of(a / b, exact(a) / exact(b)));
        // where nearly all cancels the difference is exact; elsewhere it is rounded like the others
        worst = std::max(worst, error_of(apart(a, b), abs(Wide(exact(a) - exact(b)))));
        CHECK((a < b) == (exact(a) < exact(b)));
        CHECK((a == b) == (exact(a) == exact(b)));
    }
    CHECK(worst > 0.5);  // it is no idle bound
    CHECK(worst <= 1.0 + 1e-9);
}

TEST_CASE("scaled real: from and to a double, to its ends") {
    tests::Draws draws(7);
    for (int i = 0; i < 100'000; ++i) {
        const double value = std::bit_cast<double>(draws.next() >> 1);
        if (!std::isfinite(value)) continue;
        CHECK(sim::ScaledReal(value).to_double() == value);
    }
    for (const double value : {0.0, 5e-324, 0x1p-1022, 1.0, std::numeric_limits<double>::max()})
        CHECK(sim::ScaledReal(value).to_double() == value);
    CHECK(sim::ScaledReal(1U).times_power_of_two(20'000).to_double() == std::numeric_limits<double>::infinity());
    CHECK(sim::ScaledReal(1U).times_power_of_two(-20'000).to_double() == 0.0);
    CHECK((sim::ScaledReal() + sim::ScaledReal()).is_zero());
    CHECK((sim::ScaledReal() * sim::ScaledReal(3U)).is_zero());
}

TEST_CASE("scaled real: powers, and at least once in many") {
    const Wide p(0.3);
    CHECK(error_of(power_of(sim::ScaledReal(0.3), 4000), pow(p, 4000)) < 8000);
    for (const double rate : {0.5, 0.1, 1e-3, 1e-9, 1e-18, 1e-100}) {
        for (const unsigned times : {0U, 1U, 2U, 255U, 4096U}) {
            CAPTURE(rate);
            CAPTURE(times);
            CHECK(error_of(sim::once_in(rate, times), 1 - pow(Wide(1) - Wide(rate), times)) < 100);
        }
    }
}
