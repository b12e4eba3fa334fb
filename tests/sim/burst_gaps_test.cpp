// Gaps between bursts by their table: the geometric law, also past the table's end and at its edges.
#include "sim/odds/burst_gaps.hpp"

#include <cmath>
#include <cstdint>

#include <doctest/doctest.h>

#include "sim/numeric/random.hpp"
#include "tests/support/close.hpp"

TEST_CASE("gaps between bursts follow the geometric law, also past the table") {
    for (const double chance : {0.9, 0.35, 0.035, 0.0004}) {
        CAPTURE(chance);
        const sim::BurstGaps gaps(chance, 1'000'000'000'000);
        const sim::Random draws(3, sim::Concern::background);
        constexpr std::uint64_t count = 400'000;
        double sum = 0.0, ones = 0.0, beyond = 0.0;
        const double late = std::ceil(3.0 / chance);
        for (std::uint64_t i = 0; i < count; ++i) {
            const auto gap = static_cast<double>(gaps.at(draws.at(i)));
            REQUIRE(gap >= 1.0);
            sum += gap;
            ones += gap <= 1.0 ? 1.0 : 0.0;
            beyond += gap > late ? 1.0 : 0.0;
        }
        const double n = static_cast<double>(count), tail = std::pow(1.0 - chance, late);
        CHECK(tests::close_to(sum / n, 1.0 / chance, 0.01));
        CHECK(std::fabs(ones / n - chance) < 5.0 * std::sqrt(chance * (1.0 - chance) / n) + 1e-9);
        CHECK(std::fabs(beyond / n - tail) < 5.0 * std::sqrt(tail * (1.0 - tail) / n) + 1e-9);
    }
}

TEST_CASE("bursts in each slot, and never") {
    CHECK(sim::BurstGaps(1.0, 9).at(0) == 1);
    CHECK(sim::BurstGaps(3.0, 9).at(~std::uint64_t{0}) == 1);
    CHECK(sim::BurstGaps(0.0, 77).at(5) == 77);
    CHECK(sim::BurstGaps(1e-12, 77).at(~std::uint64_t{0} / 2) == 77);
}
