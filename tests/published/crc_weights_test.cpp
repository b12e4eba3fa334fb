// Weight distributions against what others published, and against exact values computed apart from this program.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <optional>

#include "sim/integrity/integrity_methods.hpp"
#include "sim/integrity/low_weights.hpp"
#include "sim/integrity/residual_error.hpp"
#include "tests/published/crc_weights_table.hpp"
#include "tests/support/close.hpp"

TEST_CASE("published: Hamming distances hold up to the length said and not beyond") {
    for (const tests::DistanceRow& row : tests::distances) {
        CAPTURE(row.polynomial);
        CAPTURE(row.data_bits);
        CAPTURE(row.source);
        const sim::Generator generator{row.width, row.polynomial};
        // the first pattern that would break it: any number of wrong bits under the distance
        const auto lowest_at = [&](unsigned data_bits) -> unsigned {
            const unsigned bits = data_bits + row.width;
            if (bits <= (row.width <= 24 ? sim::code_bits_max : 80U))
                return sim::weight_distribution(generator, data_bits, {.threads = 2}).hamming_distance();
            const sim::LowWeights low =
                sim::low_weights(generator, data_bits, {.weight_max = row.distance, .sums_max = 20'000'000});
            REQUIRE(low.searched() >= row.distance);
            return low.lowest() == 0 ? row.distance + 1 : low.lowest();
        };
        CHECK(lowest_at(row.data_bits) >= row.distance);
        CHECK(lowest_at(row.data_bits + 1) < row.distance);
    }
}

TEST_CASE("published: exact weights and residual error to twelve digits") {
    for (const tests::WeightsRow& row : tests::weights) {
        CAPTURE(row.polynomial);
        CAPTURE(row.data_bits);
        const sim::WeightDistribution found =
            sim::weight_distribution({row.width, row.polynomial}, row.data_bits, {.threads = 2});
        CHECK(found.hamming_distance() == row.distance);
        for (const tests::Weight& weight : row.lowest) {
            if (weight.count == nullptr) continue;
            CHECK(found.code[weight.bits].decimal() == weight.count);
        }
        const sim::ResidualError residual(found);
        for (const tests::Residual& each : row.residuals)
            CHECK(std::abs(residual.at(each.rate).to_double() / each.value - 1) < 1e-12);
    }
}

// P. Koopman, 32-bit cyclic redundancy codes for Internet applications, DSN 2002, gives 223 059 patterns of four wrong
// bits for the polynomial of IEEE 802.3 over 12 112 data bits (value from memory). The same search as in the program.
TEST_CASE("published: four wrong bits in the longest Ethernet frame") {
    const sim::LowWeights low = sim::low_weights({32, 0x04C11DB7}, 12'112, {.weight_max = 4, .sums_max = 80'000'000});
    REQUIRE(low.searched() == 4);
    CHECK(low.counts[4] == sim::WideNumber(223'059));
}

// IEC 62541-15 (release 1.05.04), 9.3: of the wrong telegrams at most 4.0e-10 pass CRC-32 0xF4ACFB13, at every length
// and every bit error rate; 9.4: one wrong telegram in 6 min then gives under 4.0e-9 an hour, one in 60 min
// under 4.0e-10.
TEST_CASE("published: 4.0e-10 for 0xF4ACFB13, and the failure rates that follow") {
    double worst = 0;
    for (const unsigned bytes : {1U, 2U, 3U, 4U, 5U, 6U, 12U}) {
        const sim::WeightDistribution weights = sim::weight_distribution({32, 0xF4ACFB13}, 8 * bytes, {.threads = 2});
        worst = std::max(worst, sim::ResidualError(weights).maximum_of_the_wrong().value.to_double());
    }
    CHECK(worst <= 4.0e-10);
    CHECK(worst > 2.4e-10);  // it is no idle bound

    sim::MethodInput input;
    input.worst_share = 4.0e-10;
    input.level = 2;
    sim::MethodResult limited = sim::judged_by_methods(input)[2];
    CHECK(tests::close_to(*limited.rate_per_hour, 4.0e-9, 1e-12));
    CHECK(*limited.met);
    input.level = 3;
    limited = sim::judged_by_methods(input)[2];
    CHECK(tests::close_to(*limited.rate_per_hour, 4.0e-10, 1e-12));
    CHECK(*limited.met);
    input.minutes_between_errors = 6;
    CHECK_FALSE(*sim::judged_by_methods(input)[2].met);
}
