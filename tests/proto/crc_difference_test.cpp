// The CRC by difference beside the whole CRC: of messages, and of the telegrams of a way, right and wrong ones.
#include "proto/crc_difference.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <random>
#include <span>
#include <vector>

#include "proto/bytes.hpp"
#include "proto/telegram_body.hpp"
#include "tests/support/bench.hpp"

namespace {

using proto::Codec;
using proto::CrcDifference;
using proto::CrcEngine;
using proto::CrcSpec;
using proto::End;
using proto::Header;
using proto::Presence;
using proto::Profile;
using tests::Bytes;
using Draws = std::mt19937_64;  // raw draws only: the standard's distributions differ from library to library

unsigned below(Draws& draws, unsigned limit) { return static_cast<unsigned>((draws() >> 32) % limit); }
bool one_in(Draws& draws, unsigned count) { return below(draws, count) == 0; }

CrcSpec any_spec(Draws& draws, unsigned width, bool reflect_in, bool reflect_out) {
    const std::uint64_t all = width == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1;
    return {.width = width,
            .polynomial = (draws() & all) | 1,
            .initial = draws() & all,
            .reflect_in = reflect_in,
            .reflect_out = reflect_out,
            .final_xor = draws() & all};
}

/// Pairs of messages of one length for which the difference is not the one of their whole CRCs.
unsigned wrong_differences(Draws& draws, const CrcEngine& crc, unsigned bytes, unsigned pairs) {
    const CrcDifference difference(crc, bytes);
    Bytes message(bytes);
    for (auto& byte : message) byte = static_cast<std::uint8_t>(draws() >> 56);
    std::uint64_t value = crc.over(message);
    unsigned wrong = 0;
    for (unsigned i = 0; i < pairs; ++i) {
        const unsigned following = below(draws, 7);
        const bool two = i % 2 == 0;
        const std::uint64_t changed = two ? (draws() & 0xFFFF) << (8 * following) : draws();
        proto::store_be64(message.data(), proto::load_be64(message.data()) ^ changed);
        const std::uint64_t whole = crc.over(message);
        if ((value ^ difference.of(changed)) != whole) ++wrong;
        if (two && difference.of_two(following).of(changed) != difference.of(changed)) ++wrong;
        value = whole;
    }
    return wrong;
}

/// Profiles of every kind, many of them with a header of at most eight bytes.
Profile any_profile(Draws& draws) {
    const auto field = [&draws] {
        proto::Field any;
        any.presence = static_cast<Presence>(below(draws, 3));
        if (any.presence != Presence::absent) any.bits = 1 + below(draws, one_in(draws, 3) ? 32 : 17);
        return any;
    };
    Profile profile;
    profile.address = field();
    profile.sequence = field();
    if (profile.sequence.presence == Presence::implied && !one_in(draws, 4))
        profile.sequence.presence = Presence::carried;
    profile.direction = static_cast<Presence>(below(draws, 3));
    profile.feedback = profile.sequence.bits != 0 && one_in(draws, 4);
    profile.time_stamp_bits = one_in(draws, 4) ? 8 + below(draws, 25) : 0;
    profile.copies = one_in(draws, 3) ? 2 : 1;
    profile.zero_as_one = one_in(draws, 2);
    const bool reflected = one_in(draws, 2);
    profile.crc = any_spec(draws, one_in(draws, 3) ? 8 : 8 + below(draws, 57), reflected, reflected);
    return profile;
}

Codec::Decoded decoded_next(const Codec& codec, const Bytes& telegram, Codec::Last& last) {
    Codec::Decoded decoded;
    codec.decode_next(telegram, last, decoded);
    return decoded;
}

/// The two ends of a way, which keep their last telegram, beside a codec that keeps nothing.
struct Way {
    Way(const Profile& profile, unsigned payload_bytes, const CrcEngine& crc, const CrcEngine& knowing)
        : plain(profile, &crc, End::device, 5, 9, payload_bytes),
          codec(profile, &knowing, End::device, 5, 9, payload_bytes),
          bytes(plain.layout().total_bytes) {}

    /// The telegram both ways; false if they differ.
    bool send(const Header& header, const Bytes& payload) {
        std::array<std::uint8_t, proto::telegram_bytes_max> out{};
        plain.encode(header, payload, out);
        codec.encode_next(header, payload, sent);
        bytes.assign(out.begin(), out.begin() + plain.layout().total_bytes);
        return std::equal(bytes.begin(), bytes.end(), sent.bytes.begin());
    }
    /// What is concluded both ways; false if that differs.
    bool take(const Bytes& telegram) {
        const Codec::Decoded a = plain.decode(telegram);
        const Codec::Decoded b = decoded_next(codec, telegram, received);
        passed += a.failed.empty() ? 1U : 0U;
        return a.failed == b.failed && a.readable == b.readable && a.payload == b.payload &&
               a.header.status == b.header.status && a.header.number == b.header.number &&
               a.header.feedback == b.header.feedback && a.header.stamp == b.header.stamp &&
               a.header.echo == b.header.echo;
    }

    Codec plain, codec;
    Codec::Last sent, received;
    Bytes bytes;
    unsigned passed = 0;
};

void change(Draws& draws, Header& header, Bytes& payload) {
    ++header.number;
    if (one_in(draws, 20)) header.number = static_cast<std::uint32_t>(draws());
    if (one_in(draws, 8)) header.status = static_cast<std::uint8_t>(below(draws, 16));
    if (one_in(draws, 3)) header.feedback = static_cast<std::uint32_t>(draws());
    if (one_in(draws, 3)) header.stamp += below(draws, 200);
    if (one_in(draws, 3)) header.echo += below(draws, 200);
    if (!one_in(draws, 8)) return;
    std::uint8_t& byte = payload[below(draws, static_cast<unsigned>(payload.size()))];
    byte = static_cast<std::uint8_t>(byte ^ 1U << below(draws, 8));
}

/// A telegram that went wrong: bits turned over anywhere, in the first bytes or in the CRC, or nothing but zeros.
Bytes damaged(Draws& draws, Bytes telegram) {
    const auto size = static_cast<unsigned>(telegram.size());
    const unsigned kind = below(draws, 5);
    for (unsigned i = 0; i <= below(draws, 3); ++i) {
        unsigned at = below(draws, size);
        if (kind == 1) at = below(draws, std::min(8U, size));
        if (kind == 2) at = size - 1 - below(draws, std::min(4U, size));
        telegram[at] = static_cast<std::uint8_t>(telegram[at] ^ (1U << below(draws, 8)));
    }
    if (kind == 3 && one_in(draws, 4)) std::fill(telegram.begin(), telegram.end(), std::uint8_t{0});
    if (kind == 4 && one_in(draws, 4)) telegram.pop_back();
    return telegram;
}

}  // namespace

TEST_CASE("R-07 a difference is that of the whole CRCs, over random pairs of all widths") {
    Draws draws(1);
    unsigned pairs = 0, wrong = 0;
    for (unsigned width = 8; width <= 64; ++width) {
        for (unsigned reflection = 0; reflection < 4; ++reflection) {
            const auto crc = CrcEngine::make(any_spec(draws, width, (reflection & 1) != 0, (reflection & 2) != 0));
            for (const unsigned bytes : {8U, 9 + below(draws, 24), 8 + below(draws, 293)}) {
                const unsigned count = bytes > 40 ? 200 : 2300;
                wrong += wrong_differences(draws, crc.value(), bytes, count);
                pairs += count;
            }
        }
    }
    CHECK(pairs > 1'000'000);
    CHECK(wrong == 0);
}

TEST_CASE("R-04 R-07 R-08 R-21 a telegram made and judged by what changed is that of a codec that keeps nothing") {
    Draws draws(2);
    unsigned by_difference = 0, sent_wrong = 0, judged_wrong = 0, passed = 0, damaged_passed = 0;
    for (int profiles = 0; profiles < 1500; ++profiles) {
        const Profile profile = any_profile(draws);
        const unsigned payload_bytes = 1 + below(draws, one_in(draws, 4) ? 100 : 20);
        if (!proto::layout_of(profile, payload_bytes).ok()) continue;
        const CrcEngine crc = CrcEngine::make(*profile.crc).value();
        CrcEngine knowing = crc;
        knowing.know_differences({Codec::differing_bytes(profile, payload_bytes), 0});
        Way way(profile, payload_bytes, crc, knowing);
        if (Codec::differing_bytes(profile, payload_bytes) != 0) ++by_difference;
        Header header;
        Bytes payload(payload_bytes);
        if (one_in(draws, 2)) payload[0] = 0x55;
        for (int i = 0; i < 120; ++i) {
            if (!one_in(draws, 10)) change(draws, header, payload);
            if (!way.send(header, payload)) ++sent_wrong;
            const unsigned before = way.passed;
            if (one_in(draws, 3) && !way.take(damaged(draws, way.bytes))) ++judged_wrong;
            damaged_passed += way.passed - before;
            if (!one_in(draws, 6) && !way.take(way.bytes)) ++judged_wrong;
        }
        passed += way.passed;
    }
    CHECK(by_difference > 500);
    CHECK(passed > 50'000);
    CHECK(damaged_passed > 50);  // the weak CRCs among them: where the whole CRC is deceived the difference is, too
    CHECK(sent_wrong == 0);
    CHECK(judged_wrong == 0);
}

TEST_CASE("R-07 after a wrong telegram nothing passes that would not have passed without it") {
    const Profile profile = tests::carried_crc32();
    const CrcEngine crc = CrcEngine::make(*profile.crc).value();
    CrcEngine knowing = crc;
    knowing.know_differences({Codec::differing_bytes(profile, 8), 0});
    REQUIRE(Codec::differing_bytes(profile, 8) != 0);
    Way way(profile, 8, crc, knowing);
    REQUIRE(way.send({.number = 7}, Bytes(8)));
    REQUIRE(way.take(way.bytes));
    const Bytes good = way.bytes;
    // the wrong one comes twice, then in another disguise: with its CRC of the good one, with one bit more, cut
    for (unsigned bit = 0; bit < good.size() * 8; ++bit) {
        Bytes wrong = good;
        wrong[bit / 8] = static_cast<std::uint8_t>(wrong[bit / 8] ^ (0x80U >> bit % 8));
        for (int i = 0; i < 2; ++i) {
            CHECK_FALSE(decoded_next(way.codec, wrong, way.received).failed.empty());
            for (unsigned further = bit + 1; further < std::min(bit + 40U, static_cast<unsigned>(good.size()) * 8);
                 ++further) {
                Bytes worse = wrong;
                worse[further / 8] = static_cast<std::uint8_t>(worse[further / 8] ^ (0x80U >> further % 8));
                REQUIRE_FALSE(decoded_next(way.codec, worse, way.received).failed.empty());
            }
        }
        REQUIRE(decoded_next(way.codec, good, way.received).failed.empty());
    }
}

TEST_CASE("an engine that is lent keeps the differences of two lengths and shares them with its copies") {
    const CrcEngine crc = CrcEngine::make(*tests::carried_crc32().crc).value();
    CHECK(crc.difference(20) == nullptr);
    CrcEngine lent = crc;
    lent.know_differences({20, 30});
    const CrcDifference* const of_20 = lent.difference(20);
    REQUIRE(of_20 != nullptr);
    CHECK(of_20->message_bytes() == 20);
    CHECK(lent.difference(30)->message_bytes() == 30);
    CHECK(lent.difference(0) == nullptr);
    CrcEngine copy = lent;
    copy.know_differences({40, 20});
    CHECK(copy.difference(20) == of_20);
    CHECK(copy.difference(40) != nullptr);
    CHECK(copy.difference(30) == nullptr);
    CHECK(lent.difference(30) != nullptr);
    copy.know_differences({7, 0});  // too short, and none
    CHECK(copy.difference(7) == nullptr);
    CHECK(copy.difference(20) == nullptr);
    CHECK(crc.difference(20) == nullptr);
}
