#include "sim/numeric/random.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cstdint>
#include <cstdlib>
#include <set>

namespace {

using sim::Concern;
using sim::Random;

TEST_CASE("the scrambler gives the published first values of SplitMix64") {
    // Source: the reference splitmix64.c by S. Vigna (public domain), seed 1234567; its first outputs are given as the
    // worked example of the task "Pseudo-random numbers/Splitmix64" at Rosetta Code. From memory.
    const std::array<std::uint64_t, 5> published{6457827717110365317ULL, 3203168211198807973ULL, 9817491932198370423ULL,
                                                 4593380528125082431ULL, 16408922859458223821ULL};
    std::uint64_t state = 1234567;
    for (const std::uint64_t value : published) {
        state += 0x9E3779B97F4A7C15ULL;
        CHECK(sim::scramble(state) == value);
    }
}

TEST_CASE("a draw depends on key and count only") {
    const Random a(42, Concern::delay, 3);
    const Random again(42, Concern::delay, 3);
    const std::uint64_t tenth = a.at(10);
    for (std::uint64_t n = 0; n < 100; ++n) CHECK(a.at(n) == again.at(n));
    CHECK(a.at(10) == tenth);
}

TEST_CASE("seeds, concerns and parts have streams of their own") {
    std::set<std::uint64_t> seen;
    std::size_t drawn = 0;
    for (std::uint64_t seed = 0; seed < 20; ++seed) {
        for (std::uint64_t concern = 1; concern <= 11; ++concern) {
            for (std::uint64_t part = 0; part < 4; ++part) {
                const Random random(seed, static_cast<Concern>(concern), part);
                for (std::uint64_t n = 0; n < 20; ++n, ++drawn) seen.insert(random.at(n));
            }
        }
    }
    CHECK(seen.size() == drawn);  // a single collision among 17600 has odds of about 1e-11
}

TEST_CASE("each bit is set about half the time") {
    const Random random(5, Concern::loss);
    constexpr int draws = 100'000;
    std::array<int, 64> set{};
    for (std::uint64_t n = 0; n < draws; ++n) {
        for (unsigned bit = 0; bit < 64; ++bit) set[bit] += static_cast<int>(random.at(n) >> bit & 1);
    }
    // Standard deviation 158; 6 of them: odds of 1e-7 for any of 64, and the seed is fixed.
    for (const int count : set) CHECK(std::abs(count - draws / 2) < 950);
}

TEST_CASE("below stays below and reaches both ends") {
    const Random random(9, Concern::trial);
    for (const std::uint64_t limit : {1ULL, 2ULL, 7ULL, 300ULL}) {
        std::set<std::uint64_t> seen;
        for (std::uint64_t n = 0; n < 20'000; ++n) seen.insert(random.below(n, limit));
        CHECK(seen.size() == limit);
        CHECK(*seen.rbegin() == limit - 1);
    }
    CHECK(sim::scale(~std::uint64_t{0}, 7) == 6);
    CHECK(sim::scale(0, 7) == 0);
}

TEST_CASE("thresholds are exact products") {
    CHECK(sim::threshold(0.0) == 0);
    CHECK(sim::threshold(-1.0) == 0);
    CHECK(sim::threshold(0.5) == std::uint64_t{1} << 63);
    CHECK(sim::threshold(0.25) == std::uint64_t{1} << 62);
    CHECK(sim::threshold(1.0 / 4294967296.0) == std::uint64_t{1} << 32);
    CHECK(sim::threshold(1.0) == ~std::uint64_t{0});
    CHECK_FALSE(sim::happens(0, sim::threshold(0.0)));
    CHECK(sim::happens(~std::uint64_t{0}, sim::threshold(1.0)));
    CHECK_FALSE(sim::happens(std::uint64_t{1} << 63, sim::threshold(0.5)));
    CHECK(sim::happens((std::uint64_t{1} << 63) - 1, sim::threshold(0.5)));
}

}  // namespace
