#include "sim/integrity/residual_error.hpp"

#include <doctest/doctest.h>

#include <boost/multiprecision/cpp_bin_float.hpp>
#include <boost/multiprecision/cpp_int.hpp>
#include <cmath>

#include "sim/integrity/implied_aliases.hpp"
#include "sim/integrity/integrity_methods.hpp"
#include "tests/support/close.hpp"
#include "tests/support/profiles.hpp"

namespace {

// 166 digits and a range far beyond 1e-300
using Real = boost::multiprecision::number<boost::multiprecision::cpp_bin_float<550>>;

Real exact_residual(const sim::WeightDistribution& weights, const Real& p, unsigned copies) {
    Real sum = 0;
    const auto n = static_cast<int>(weights.bits());
    for (int k = 1; k <= n; ++k) {
        const Real count(boost::multiprecision::cpp_int(weights.code[static_cast<std::size_t>(k)].decimal()));
        sum += count * pow(p, static_cast<int>(copies) * k) * pow(Real(1) - p, static_cast<int>(copies) * (n - k));
    }
    return sum;
}

Real real(sim::ScaledReal value) { return ldexp(Real(value.mantissa()), static_cast<int>(value.exponent())); }

/// That much larger or smaller, in the last digits.
sim::ScaledReal a_little(sim::ScaledReal value, double more) { return value * sim::ScaledReal(1 + more); }

}  // namespace

TEST_CASE("residual error: fifteen digits against 166-digit arithmetic, down to 1e-300") {
    const sim::WeightDistribution weights = sim::weight_distribution({16, 0x3D65}, 100);  // HD 6
    bool tiny = false;
    for (const unsigned copies : {1U, 2U}) {
        const sim::ResidualError residual(weights, copies);
        for (const double p : {0.5, 0.4, 0.1, 0.01, 1e-3, 1e-6, 1e-9, 1e-15, 1e-18, 1e-25, 1e-49}) {
            CAPTURE(p);
            const Real exact = exact_residual(weights, Real(p), copies);
            const Real error = abs(real(residual.at(p)) / exact - 1);
            CHECK(error.convert_to<double>() < 2e-16);
            tiny = tiny || exact < Real("1e-290");
        }
    }
    CHECK(tiny);
}

TEST_CASE("residual error: the maximum is above every rate looked at, and where it says") {
    struct Case {
        sim::Generator generator;
        unsigned data_bits = 0;
        bool proper = false;
    };
    // Binary cyclic Hamming codes of full length are proper (Leung-Yan-Cheong, Barnes, Friedman: On some properties of
    // the undetected error probability of linear codes, IEEE Trans. Inf. Theory 25, 1979): 0x1D is primitive, n = 255.
    for (const Case& c : {Case{{8, 0x1D}, 247, true}, Case{{16, 0x1021}, 64, false}, Case{{16, 0x8005}, 64, false}}) {
        const sim::WeightDistribution weights = sim::weight_distribution(c.generator, c.data_bits);
        const sim::ResidualError residual(weights);
        const sim::AtRate worst = residual.maximum();
        CHECK(residual.proper() == c.proper);
        CHECK((worst.rate == 0.5) == c.proper);
        CHECK(residual.at(worst.rate) == worst.value);
        for (int i = 1; i <= 2000; ++i) {
            const double p = 0.5 * i / 2000;
            CHECK(residual.at(p) <= a_little(worst.value, 1e-15));
            CHECK(residual.of_the_wrong(p) >= residual.at(p));
        }
        CHECK(residual.maximum_of_the_wrong().value >= worst.value);
    }
}

TEST_CASE("residual error: the customary approximation, and how far it is off") {
    const sim::WeightDistribution weights = sim::weight_distribution({16, 0x8005}, 64);
    const sim::ResidualError residual(weights);
    // as p goes to 0 the lowest weight decides: A_4 / (2^-16 C(80, 4)), and C(80, 4) = 1 581 580
    CHECK(weights.hamming_distance() == 4);
    const double limit = weights.code[4].approximate().to_double() * 65536 / 1'581'580;
    CHECK(limit > 26);
    CHECK(tests::close_to(residual.worst_of_customary().value.to_double(), limit, 1e-6));
    CHECK(tests::close_to((residual.at(1e-12) / residual.customary(1e-12)).to_double(), limit, 1e-9));
}

TEST_CASE("residual bounds: they enclose the exact value wherever that can be had") {
    for (const sim::Generator& generator : {sim::Generator{16, 0x1021}, sim::Generator{24, 0x5D6DCB}}) {
        for (const unsigned data_bits : {16U, 64U, 200U}) {
            const sim::WeightDistribution weights = sim::weight_distribution(generator, data_bits);
            const sim::LowWeights low = sim::low_weights(generator, data_bits, {.weight_max = 6, .sums_max = 200'000});
            for (const unsigned copies : {1U, 2U}) {
                const sim::ResidualError exact(weights, copies);
                const sim::ResidualBounds bounds(generator, data_bits, low, copies);
                for (const double p : {0.5, 0.1, 0.01, 1e-3, 1e-6}) {
                    CHECK(bounds.at_least(p) <= a_little(exact.at(p), 1e-15));
                    CHECK(bounds.at_most(p) >= a_little(exact.at(p), -1e-15));
                }
                if (low.lowest() != 0)
                    CHECK(tests::close_to(bounds.at_most(1e-9).to_double(), exact.at(1e-9).to_double(), 1e-4));
            }
        }
    }
}

TEST_CASE("residual bounds: a CRC of 64 bits") {
    const sim::Generator xz{64, 0x42F0E1EBA9EA3693};
    const sim::LowWeights low = sim::low_weights(xz, 104);
    CHECK(low.searched() >= 6);
    CHECK(low.lowest() == 0);
    const sim::ResidualBounds bounds(xz, 104, low);
    CHECK(bounds.at_least(0.01).is_zero());
    CHECK(bounds.at_most(0.01).to_double() > 0);
    CHECK(bounds.at_most(0.01).to_double() < 1e-2);
    // one data bit: the one word is the generator itself
    const sim::LowWeights one = sim::low_weights({64, 0x1B}, 1, {.weight_max = 5, .sums_max = 40'000'000});
    CHECK(one.lowest() == 5);
    CHECK(one.counts[5] == sim::WideNumber(1));
    CHECK(one.example == std::vector<unsigned>{0, 1, 3, 4, 64});
}

TEST_CASE("methods: shares, levels and the older method") {
    // 1 % of the upper end of the bands of IEC 61508-1
    CHECK(sim::share_of_level(1) == 1e-7);
    CHECK(sim::share_of_level(2) == 1e-8);
    CHECK(sim::share_of_level(3) == 1e-9);
    CHECK(sim::share_of_level(4) == 1e-10);
    CHECK(sim::level_for(1e-7) == 0);
    CHECK(sim::level_for(0.99e-9) == 3);
    CHECK(sim::level_for(1e-12) == 4);

    sim::MethodInput input;
    input.level = 3;
    input.residual = 1e-15;
    input.telegrams_per_hour = 360'000;
    input.receivers = 2;
    const auto older = sim::judged_by_methods(input)[0];
    CHECK(tests::close_to(*older.rate_per_hour, 7.2e-10, 1e-12));
    CHECK(*older.met);
    input.tries = 2;  // an implied number: each number tried multiplies R
    CHECK(tests::close_to(*sim::judged_by_methods(input)[0].rate_per_hour, 1.44e-9, 1e-12));
    CHECK_FALSE(*sim::judged_by_methods(input)[0].met);
    input.telegrams_per_hour.reset();
    CHECK_FALSE(sim::judged_by_methods(input)[0].rate_per_hour.has_value());
    CHECK_FALSE(sim::judged_by_methods(input)[0].met.has_value());
}

TEST_CASE("methods: the newer one, carried and implied") {
    using Kind = sim::FieldStrength::Kind;
    sim::MethodInput input;
    input.width = 32;
    input.residual = 0;
    input.telegrams_per_hour = 1000;
    input.address = {Kind::carried, 16};
    input.number = {Kind::carried, 16};
    input.numbers_accepted = 2;
    const auto rate = [&] { return *sim::judged_by_methods(input)[1].rate_per_hour; };
    const double sixteen = std::ldexp(1.0, -16), thirty_two = std::ldexp(1.0, -32);
    CHECK(tests::close_to(rate(), 1e-3 * (sixteen + 2 * sixteen + sixteen * 2 * sixteen * thirty_two), 1e-12));
    // implied: 2^-32 once, whatever the widths; two numbers tried
    input.address = {Kind::implied, 16};
    input.number = {Kind::implied, 16};
    CHECK(tests::close_to(rate(), 1e-3 * 3 * 2 * thirty_two, 1e-12));
    input.address = {Kind::absent, 0};
    CHECK(tests::close_to(rate(), 1e-3 * (1 + 4 * thirty_two), 1e-12));
}

TEST_CASE("implied fields: the aliases are told, and only there") {
    proto::Profile profile = tests::plain_profile();
    profile.crc = proto::CrcSpec{.width = 16, .polynomial = 0x1021, .initial = 0xFFFF};
    profile.address = {proto::Presence::carried, 16};
    CHECK(sim::implied_aliases(profile).empty());
    profile.address = {proto::Presence::implied, 32};
    const auto aliases = sim::implied_aliases(profile);
    CHECK(sim::implied_bits(profile) == 64);
    CHECK(aliases.size() == 48);  // 64 bits into 16
    // the polynomial itself, so that the addresses 0x1 and 0x11020 give the same CRC
    CHECK(aliases.front().destination == 0x11021);
    CHECK(aliases.front().source == 0);
    profile.address = {proto::Presence::implied, 8};
    CHECK(sim::implied_aliases(profile).empty());
}
