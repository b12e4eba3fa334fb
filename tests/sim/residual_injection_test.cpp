// The residual error that is computed, against telegrams with wrong bits that go through the codec.
#include <doctest/doctest.h>

#include <array>
#include <bit>
#include <boost/math/distributions/binomial.hpp>
#include <cmath>
#include <cstdint>
#include <vector>

#include "proto/crc_catalogue.hpp"
#include "proto/telegram.hpp"
#include "sim/integrity/residual_error.hpp"
#include "tests/support/effort.hpp"

namespace {

using proto::Profile;
using Bytes = std::array<std::uint8_t, proto::telegram_bytes_max>;

/// A profile without implied fields whose telegram is a status byte, the payload and a CRC of whole bytes.
Profile bare_profile(const char* crc, unsigned payload_bytes) {
    Profile profile;
    profile.payload_bytes = payload_bytes;
    profile.crc = proto::find_crc(crc)->spec;
    return profile;
}

struct Link {
    Profile profile;
    proto::CrcEngine engine;
    proto::Codec codec;
    std::vector<std::uint8_t> payload;
    Bytes sent{};

    explicit Link(const Profile& given)
        : profile(given),
          engine(proto::CrcEngine::make(*given.crc).value()),
          codec(given, &engine, proto::End::controller, 0, 0, given.payload_bytes),
          payload(given.payload_bytes, 0x5A) {
        codec.encode({}, payload, sent);
    }
    [[nodiscard]] unsigned bytes() const { return codec.layout().total_bytes; }
    [[nodiscard]] sim::WeightDistribution weights() const {
        return sim::weight_distribution({profile.crc->width, profile.crc->polynomial},
                                        8 * bytes() - profile.crc->width);
    }
    /// Whether the CRC of what arrived fits what was computed over it.
    [[nodiscard]] bool crc_fits(const Bytes& arrived) const {
        const unsigned data = bytes() - codec.layout().crc_bytes;
        const std::uint64_t value = codec.crc_of(arrived, 0);
        const bool low_first = profile.crc->reflect_out;
        for (unsigned i = 0; i < codec.layout().crc_bytes; ++i) {
            const unsigned place = low_first ? i : codec.layout().crc_bytes - 1 - i;
            if (arrived[data + i] != static_cast<std::uint8_t>(value >> (8 * place))) return false;
        }
        return true;
    }
    /// What the receiver says must agree: status bits 4 to 6 are always 0 and the direction is fixed, so it may refuse
    /// more than the CRC does, but never less.
    void check_receiver(const Bytes& arrived, bool fits) const {
        const std::array<std::uint32_t, 1> tries{0};
        const auto decoded = codec.decode(std::span(arrived).first(bytes()), tries);
        const bool integrity = decoded.failed.has(proto::Measure::integrity);
        const bool status_untouched = ((arrived[0] ^ sent[0]) & 0x70) == 0;
        if (status_untouched) {
            CHECK(integrity != fits);
        } else {
            CHECK(integrity);
        }
    }
};

/// Two-sided exact binomial test: how likely a count at least this far out is.
double chance_of(std::uint64_t count, std::uint64_t trials, double probability) {
    const boost::math::binomial law(static_cast<double>(trials), probability);
    const double below = boost::math::cdf(law, static_cast<double>(count));
    const double above =
        count == 0 ? 1 : boost::math::cdf(boost::math::complement(law, static_cast<double>(count - 1)));
    return std::min(1.0, 2 * std::min(below, above));
}

/// Wrong bits each with probability `rate`: the gaps between them are geometric.
void flip_at_rate(Bytes& bytes, unsigned bits, double log_of_good, tests::Draws& draws) {
    double at = -1;
    while (true) {
        const double u = (static_cast<double>(draws.next() >> 11) + 0.5) * 0x1p-53;
        at += 1 + std::floor(std::log(u) / log_of_good);
        if (at >= bits) return;
        const auto bit = static_cast<unsigned>(at);
        bytes[bit / 8] = static_cast<std::uint8_t>(bytes[bit / 8] ^ (0x80U >> (bit % 8)));
    }
}

}  // namespace

TEST_CASE("injection: wrong bits at a rate pass an 8-bit and a 16-bit CRC as often as computed") {
    struct Case {
        const char* crc;
        unsigned payload_bytes;
        double rate;
        std::uint64_t trials;
    };
    for (const Case& c :
         {Case{"CRC-8/SAE-J1850", 10, 0.03, 300'000}, Case{"CRC-8/ROHC", 6, 0.2, 150'000},
          Case{"CRC-8/AUTOSAR", 11, 0.01, 3'000'000},
          // HD 4 over 64 data bits; at this rate the worst, 1.7 times 2^-16
          Case{"CRC-16/IBM-3740", 7, 0.0587, 10'000'000}, Case{"CRC-16/MODBUS", 7, 0.0544, 3'000'000}}) {
        CAPTURE(c.crc);
        const Link link(bare_profile(c.crc, c.payload_bytes));
        const double probability = sim::ResidualError(link.weights()).at(c.rate).to_double();
        const std::uint64_t trials = tests::runs_wanted(c.trials);
        const double log_of_good = std::log1p(-c.rate);
        tests::Draws draws(2024);
        std::uint64_t passed = 0;
        for (std::uint64_t i = 0; i < trials; ++i) {
            Bytes arrived = link.sent;
            flip_at_rate(arrived, 8 * link.bytes(), log_of_good, draws);
            const bool fits = link.crc_fits(arrived);
            if (fits && arrived != link.sent) {
                ++passed;
                link.check_receiver(arrived, true);
            } else if (i % 1024 == 0 && !fits) {
                link.check_receiver(arrived, false);
            }
        }
        CAPTURE(passed);
        CHECK(probability * static_cast<double>(c.trials) > 200);
        CHECK(chance_of(passed, trials, probability) > 1e-4);
    }
}

TEST_CASE("injection: every pattern of four wrong bits goes through the codec, and exactly A_4 pass") {
    const Link link(bare_profile("CRC-16/IBM-3740", 7));
    Bytes arrived = link.sent;
    const auto flip = [&](unsigned bit) {
        arrived[bit / 8] = static_cast<std::uint8_t>(arrived[bit / 8] ^ (0x80U >> (bit % 8)));
    };
    std::uint64_t passed = 0;
    const unsigned bits = 8 * link.bytes();
    for (unsigned a = 0; a < bits; ++a) {
        flip(a);
        for (unsigned b = a + 1; b < bits; ++b) {
            flip(b);
            for (unsigned c = b + 1; c < bits; ++c) {
                flip(c);
                for (unsigned d = c + 1; d < bits; ++d) {
                    flip(d);
                    if (link.crc_fits(arrived)) ++passed;
                    flip(d);
                }
                flip(c);
            }
            flip(b);
        }
        flip(a);
    }
    const sim::WeightDistribution weights = link.weights();
    CHECK(weights.hamming_distance() == 4);
    CHECK(sim::WideNumber(passed) == weights.code[4]);
}

// 32 bits: no run of random patterns passes often enough to be counted, so the codec writes all of them itself: the
// difference of two telegrams is what goes unseen. Header and payload of 2 bytes, of which the header stays.
TEST_CASE("injection: all 65536 telegrams of a short payload differ by as many bits as the weights say") {
    for (const char* crc : {"CRC-24/BLE", "CRC-24/FLEXRAY-A", "CRC-32/ISCSI", "CRC-32/MPEG-2", "CRC-32/AUTOSAR"}) {
        CAPTURE(crc);
        Link link(bare_profile(crc, 2));
        std::vector<std::uint64_t> counts(8 * link.bytes() + 1);
        for (unsigned value = 0; value < 1U << 16; ++value) {
            const std::array<std::uint8_t, 2> payload{static_cast<std::uint8_t>(value >> 8),
                                                      static_cast<std::uint8_t>(value)};
            Bytes other{};
            link.codec.encode({}, payload, other);
            unsigned differing = 0;
            for (unsigned i = 0; i < link.bytes(); ++i)
                differing += static_cast<unsigned>(std::popcount(static_cast<unsigned>(other[i] ^ link.sent[i])));
            ++counts[differing];
            if (value % 256 == 77) link.check_receiver(other, true);
        }
        const sim::WeightDistribution weights =
            sim::weight_distribution({link.profile.crc->width, link.profile.crc->polynomial}, 16, {.threads = 2});
        for (unsigned k = 0; k <= weights.bits(); ++k) CHECK(weights.code[k] == sim::WideNumber(counts[k]));
    }
}

// 24 bits, patterns of exactly the Hamming distance: the odds allow a handful.
TEST_CASE("injection: patterns of eight wrong bits pass a 24-bit CRC as often as computed") {
    const Link link(bare_profile("CRC-24/BLE", 1));
    const sim::WeightDistribution weights = link.weights();
    const unsigned bits = weights.bits();
    REQUIRE(weights.hamming_distance() == 8);
    double patterns = 1;
    for (unsigned i = 0; i < 8; ++i) patterns = patterns * (bits - i) / (i + 1);
    const double probability = weights.code[8].approximate().to_double() / patterns;
    const std::uint64_t trials = tests::runs_wanted(12'000'000);
    tests::Draws draws(77);
    std::uint64_t passed = 0;
    for (std::uint64_t i = 0; i < trials; ++i) {
        // eight places out of all, by Floyd's way of drawing a set
        std::uint64_t set = 0;
        for (unsigned j = bits - 8; j < bits; ++j) {
            const unsigned place = draws.below(j + 1);
            set |= (set >> place & 1) == 0 ? std::uint64_t{1} << place : std::uint64_t{1} << j;
        }
        Bytes arrived = link.sent;
        for (std::uint64_t left = set; left != 0; left &= left - 1) {
            const auto bit = static_cast<unsigned>(std::countr_zero(left));
            arrived[bit / 8] = static_cast<std::uint8_t>(arrived[bit / 8] ^ (0x80U >> (bit % 8)));
        }
        if (!link.crc_fits(arrived)) continue;
        ++passed;
        link.check_receiver(arrived, true);
    }
    CAPTURE(passed);
    CHECK(chance_of(passed, trials, probability) > 1e-4);
}
