#include "sim/channel/bit_errors.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <cstdint>
#include <vector>

#include "sim/numeric/random.hpp"

namespace {

using sim::BitErrors;
using sim::Concern;
using sim::Random;

TEST_CASE("no rate, no errors") {
    CHECK_FALSE(BitErrors().any());
    CHECK_FALSE(BitErrors(0.0).any());
}

TEST_CASE("a rate of one flips every bit") {
    const BitErrors errors(1.0);
    std::array<std::uint8_t, 5> bytes{};
    for (const std::uint64_t draw : {std::uint64_t{0}, ~std::uint64_t{0}}) {
        bytes.fill(0);
        CHECK(errors.bend(bytes, draw) == 40);
        for (const std::uint8_t byte : bytes) CHECK(byte == 0xFF);
    }
}

TEST_CASE("the first flip falls on bit k with odds p (1-p)^k") {
    // p = 1/2: halves, exactly.
    const BitErrors errors(0.5);
    CHECK(errors.first_flip(0, 8) == 0);
    CHECK(errors.first_flip((std::uint64_t{1} << 63) - 1, 8) == 0);
    CHECK(errors.first_flip(std::uint64_t{1} << 63, 8) == 1);
    CHECK(errors.first_flip(std::uint64_t{3} << 62, 8) == 2);
    CHECK(errors.first_flip(~std::uint64_t{0}, 8) == 8);
    CHECK(errors.first_flip(~std::uint64_t{0} - (~std::uint64_t{0} >> 8), 8) == 8);
    CHECK(errors.first_flip(~std::uint64_t{0} - (~std::uint64_t{0} >> 8) - 1, 8) == 7);
    CHECK(errors.first_flip(0, 0) == 0);
}

TEST_CASE("tiny rates keep their precision") {
    // 1 - (1-p)^n = n p (1 - (n-1) p / 2 + ...): at p = 1e-12 and n = 800 the threshold is 800 p to nine digits.
    const BitErrors errors(1e-12);
    const double scale = 18446744073709551616.0;
    const auto edge = static_cast<std::uint64_t>(800e-12 * (1.0 - 799e-12 / 2) * scale);
    CHECK(errors.first_flip(edge - edge / 100'000'000, 800) < 800);
    CHECK(errors.first_flip(edge + edge / 100'000'000, 800) == 800);
}

TEST_CASE("flips are binomial in number and even in place") {
    constexpr double p = 0.02;
    constexpr unsigned bits = 64;
    constexpr std::uint64_t draws = 100'000;
    const BitErrors errors(p);
    const Random random(11, Concern::bit_errors);
    std::vector<double> by_place(bits), by_number(bits + 1);
    for (std::uint64_t n = 0; n < draws; ++n) {
        std::array<std::uint8_t, bits / 8> bytes{};
        const unsigned flips = errors.bend(bytes, random.at(n));
        unsigned set = 0;
        for (unsigned i = 0; i < bits; ++i) {
            if ((bytes[i / 8] >> (7 - i % 8) & 1) == 0) continue;
            by_place[i] += 1;
            ++set;
        }
        REQUIRE(set == flips);
        by_number[flips] += 1;
    }
    // Within five standard deviations each; the seed is fixed.
    const auto near = [](double seen, double share) {
        return std::abs(seen - draws * share) < 5 * std::sqrt(draws * share * (1 - share)) + 1;
    };
    for (const double seen : by_place) CHECK(near(seen, p));
    double share = std::pow(1 - p, bits);
    for (unsigned k = 0; k < 8; ++k) {
        CHECK(near(by_number[k], share));
        share *= (bits - k) * p / ((k + 1) * (1 - p));
    }
}

}  // namespace
