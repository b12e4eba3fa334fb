// The weight distribution against ways of counting that share nothing with it: every error pattern tried, every dual
// word listed in turn, Krawtchouk polynomials in Boost's whole numbers, and a direct search.
#include "sim/integrity/weights.hpp"

#include <doctest/doctest.h>

#include <bit>
#include <boost/multiprecision/cpp_int.hpp>
#include <cstdint>
#include <string>
#include <vector>

#include "sim/integrity/gf2_polynomial.hpp"
#include "sim/integrity/low_weights.hpp"
#include "tests/support/effort.hpp"

namespace {

using boost::multiprecision::cpp_int;
using sim::Generator;

std::vector<sim::dual::Kernel> kernels_here() {
    std::vector<sim::dual::Kernel> all{sim::dual::portable_kernel()};
    for (const sim::dual::Kernel& kernel : {sim::dual::avx2_kernel(), sim::dual::avx512_kernel()})
        if (kernel.lanes != 0) all.push_back(kernel);
    return all;
}

/// Every pattern of wrong bits, one bit changed at a time; those with remainder 0 by their number of ones.
std::vector<std::uint64_t> counted_one_by_one(const Generator& generator, unsigned bits) {
    std::vector<std::uint64_t> remainder(bits);
    std::uint64_t power = 1;
    for (std::uint64_t& each : remainder) {
        each = power;
        power <<= 1;
        if ((power >> generator.width & 1) != 0) power ^= std::uint64_t{1} << generator.width | generator.polynomial;
    }
    std::vector<std::uint64_t> counts(bits + 1);
    std::uint64_t pattern = 0, sum = 0;
    counts[0] = 1;
    for (std::uint64_t i = 1; i < std::uint64_t{1} << bits; ++i) {
        const auto bit = static_cast<unsigned>(std::countr_zero(i));
        pattern ^= std::uint64_t{1} << bit;
        sum ^= remainder[bit];
        if (sum == 0) ++counts[static_cast<unsigned>(std::popcount(pattern))];
    }
    return counts;
}

cpp_int as_cpp_int(const sim::WideNumber& number) { return cpp_int(number.decimal()); }

}  // namespace

TEST_CASE("weights: every error pattern of up to 24 bits tried gives the same counts") {
    struct Case {
        Generator generator;
        unsigned data_bits = 0;
    };
    for (const Case& c : {Case{{8, 0x2F}, 14}, Case{{8, 0x01}, 14},  // x^8 + 1: a factor eight times over
                          Case{{8, 0x1B}, 1}, Case{{3, 0x3}, 19}, Case{{1, 0x1}, 20}, Case{{12, 0xF13}, 10},
                          Case{{16, 0x1021}, 8}, Case{{16, 0x8005}, 6}, Case{{20, 0xB75C1}, 4}, Case{{5, 0x1F}, 16}}) {
        CAPTURE(c.generator.width);
        CAPTURE(c.generator.polynomial);
        const sim::WeightDistribution found = sim::weight_distribution(c.generator, c.data_bits);
        const std::vector<std::uint64_t> tried = counted_one_by_one(c.generator, found.bits());
        REQUIRE(found.code.size() == tried.size());
        for (std::size_t k = 0; k < tried.size(); ++k) CHECK(found.code[k] == sim::WideNumber(tried[k]));
    }
    const sim::WeightDistribution all = sim::weight_distribution({8, 0xD5}, 16);
    const std::vector<std::uint64_t> tried = counted_one_by_one({8, 0xD5}, 24);
    for (std::size_t k = 0; k < tried.size(); ++k) CHECK(all.code[k] == sim::WideNumber(tried[k]));
}

TEST_CASE("weights: random generators of 3 to 12 bits, every error pattern tried") {
    tests::Draws draws(5);
    for (int i = 0; i < 60; ++i) {
        const unsigned width = 3 + draws.below(10);
        const Generator generator{width, (draws.next() & ((std::uint64_t{1} << width) - 1)) | 1};
        const unsigned data_bits = 1 + draws.below(17 - width);
        CAPTURE(width);
        CAPTURE(generator.polynomial);
        CAPTURE(data_bits);
        const sim::WeightDistribution found = sim::weight_distribution(generator, data_bits);
        const std::vector<std::uint64_t> tried = counted_one_by_one(generator, found.bits());
        for (std::size_t k = 0; k < tried.size(); ++k) CHECK(found.code[k] == sim::WideNumber(tried[k]));
    }
}

TEST_CASE(
    "weights: every kernel lists the dual code, in two threads, as the Gray code does, at the borders of its shapes") {
    // 19 bits: prime; two of x + 1; four factors of which one is squared; x + 1 alone nine times beside others
    const std::uint64_t squared = sim::gf2::product(sim::gf2::product(0b111, 0b111), sim::gf2::product(0b1011, 0x1053));
    CHECK(sim::gf2::degree(squared) == 19);
    const std::uint64_t with_one = sim::gf2::product(sim::gf2::product(3, 3), 0x2002D);
    CHECK(sim::gf2::degree(with_one) == 19);
    for (const std::uint64_t full : {std::uint64_t{0x80027}, with_one, squared}) {
        const Generator generator{19, full ^ std::uint64_t{1} << 19};
        for (const unsigned bits : {20U, 79U, 80U, 177U, 178U, 320U, 321U, 720U, 721U, 1280U, 1281U, 2400U, 2844U}) {
            CAPTURE(full);
            CAPTURE(bits);
            if (bits > 400 && full != with_one) continue;
            const auto one_by_one = sim::dual_weights_by_gray_code(generator, bits - 19);
            for (const sim::dual::Kernel& kernel : kernels_here()) {
                CAPTURE(kernel.name);
                CHECK(sim::dual_weights(generator, bits - 19, {.threads = 2, .kernel = kernel}) == one_by_one);
            }
        }
    }
}

TEST_CASE("weights: a generator of small factors only is listed all the same") {
    const std::uint64_t many = sim::gf2::product(sim::gf2::product(0b111, 0b1011), sim::gf2::product(0b11001, 0xB01));
    const auto width = static_cast<unsigned>(sim::gf2::degree(many)) & 63U;
    const Generator generator{width, many ^ std::uint64_t{1} << width};
    CHECK(sim::dual_weights(generator, 100) == sim::dual_weights_by_gray_code(generator, 100));
    // (x + 1)^22: no path is longer than one window, the Gray code takes over
    std::uint64_t power = 1;
    for (int i = 0; i < 22; ++i) power = sim::gf2::product(power, 3);
    const Generator ones{22, power ^ std::uint64_t{1} << 22};
    const auto found = sim::distribution_from(ones, 30, sim::dual_weights(ones, 30));
    REQUIRE(found.has_value());
    CHECK(found->code[1].is_zero());
    CHECK(found->code[3].is_zero());
}

TEST_CASE("weights: MacWilliams' identity by Krawtchouk polynomials in Boost's whole numbers") {
    for (const unsigned data_bits : {5U, 56U, 180U}) {
        const Generator generator{16, 0x8BB7};
        const sim::WeightDistribution found = sim::weight_distribution(generator, data_bits);
        const auto n = static_cast<int>(found.bits());
        std::vector<cpp_int> sums(static_cast<std::size_t>(n) + 1);
        for (int w = 0; w <= n; ++w) {
            const std::uint64_t count = found.dual[static_cast<std::size_t>(w)];
            if (count == 0) continue;
            cpp_int before = 0, now = 1;
            for (int k = 0; k <= n; ++k) {
                sums[static_cast<std::size_t>(k)] += now * count;
                const cpp_int next = (now * (n - 2 * w) - before * (n - k + 1)) / (k + 1);
                before = now;
                now = next;
            }
        }
        for (std::size_t k = 0; k < sums.size(); ++k) CHECK(as_cpp_int(found.code[k]) == sums[k] >> 16);
    }
}

TEST_CASE("weights: all of them add up to two to the number of data bits") {
    for (const unsigned data_bits : {1U, 63U, 64U, 65U, 1000U, 2376U}) {
        const sim::WeightDistribution found = sim::weight_distribution({24, 0x5D6DCB}, data_bits);
        cpp_int sum = 0;
        for (const sim::WideNumber& count : found.code) sum += as_cpp_int(count);
        CHECK(sum == cpp_int(1) << data_bits);
        CHECK(found.code[0] == sim::WideNumber(1));
    }
}

TEST_CASE("weights: a direct search finds the same lowest ones") {
    for (const Generator& generator : {Generator{16, 0x1021}, Generator{16, 0x8BB7}, Generator{24, 0x5D6DCB}}) {
        for (const unsigned data_bits : {1U, 16U, 64U, 100U}) {
            const sim::WeightDistribution found = sim::weight_distribution(generator, data_bits);
            const sim::LowWeights low = sim::low_weights(generator, data_bits, {.weight_max = 8, .sums_max = 500'000});
            CHECK(low.searched() >= 4);
            for (unsigned k = 0; k <= low.searched() && k <= found.bits(); ++k) CHECK(low.counts[k] == found.code[k]);
            if (low.lowest() != 0) {
                CHECK(low.lowest() == found.hamming_distance());
                CHECK(low.example.size() == low.lowest());
                std::uint64_t remainder = 0;
                for (const unsigned place : low.example)
                    remainder ^=
                        sim::gf2::power_modulo(2, place, generator.polynomial | std::uint64_t{1} << generator.width);
                CHECK(remainder == 0);
            }
        }
    }
}

TEST_CASE("weights: counts that are none of a code are refused") {
    const Generator generator{16, 0x1021};
    std::vector<std::uint64_t> dual = sim::dual_weights(generator, 40);
    CHECK(sim::distribution_from(generator, 40, dual).has_value());
    CHECK_FALSE(sim::distribution_from(generator, 41, dual).has_value());
    CHECK_FALSE(sim::distribution_from({16, 0x8005}, 40, dual).has_value());
    ++dual[20];
    CHECK_FALSE(sim::distribution_from(generator, 40, dual).has_value());
    --dual[24];
    CHECK_FALSE(sim::distribution_from(generator, 40, dual).has_value());
}

TEST_CASE("wide number: decimal and approximate against Boost") {
    tests::Draws draws(9);
    for (int i = 0; i < 300; ++i) {
        std::vector<std::uint64_t> words(1 + draws.below(40));
        cpp_int expected = 0;
        for (std::uint64_t& word : words) word = draws.one_in(4) ? 0 : draws.next();
        for (std::size_t j = words.size(); j-- > 0;) expected = (expected << 64) + words[j];
        const sim::WideNumber number(words);
        CHECK(number.decimal() == expected.str());
        // the mantissa of 64 bits, from the exact number
        const sim::ScaledReal seen = number.approximate();
        const auto power = static_cast<unsigned>(seen.exponent() + 64);
        const cpp_int scaled = (cpp_int(seen.mantissa()) << power) - (expected << 64);
        CHECK(abs(scaled) <= cpp_int(1) << power);
        sim::WideNumber twice = number;
        twice += number;
        CHECK(twice.decimal() == cpp_int(expected * 2).str());
    }
    CHECK(sim::WideNumber().decimal() == "0");
    CHECK(sim::WideNumber(10'000'000'000'000'000'000ULL).decimal() == "10000000000000000000");
    CHECK(sim::power_of_two(64).decimal() == "18446744073709551616");
}
