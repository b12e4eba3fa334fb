// Process telegrams: what is encoded is what is decoded, and the bytes are those of an encoder written anew here.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <optional>
#include <random>
#include <vector>

#include "proto/bytes.hpp"
#include "proto/crc_catalogue.hpp"
#include "proto/telegram.hpp"
#include "tests/support/bench.hpp"
#include "tests/support/slow_crc.hpp"

namespace {

using proto::Codec;
using proto::CrcEngine;
using proto::End;
using proto::Header;
using proto::Measure;
using proto::Presence;
using proto::Profile;
using tests::Bytes;
using Draws = std::mt19937_64;  // raw draws only: the standard's distributions differ from library to library

unsigned below(Draws& draws, unsigned limit) { return static_cast<unsigned>((draws() >> 32) % limit); }

Presence any_presence(Draws& draws) { return static_cast<Presence>(below(draws, 3)); }

proto::Field any_field(Draws& draws) {
    proto::Field field;
    field.presence = any_presence(draws);
    if (field.presence != Presence::absent) field.bits = 1 + below(draws, 32);
    return field;
}

Profile any_profile(Draws& draws) {
    Profile profile;
    profile.address = any_field(draws);
    profile.sequence = any_field(draws);
    profile.direction = any_presence(draws);
    profile.feedback = profile.sequence.bits != 0 && below(draws, 2) != 0;
    profile.time_stamp_bits = below(draws, 2) != 0 ? 8 + below(draws, 25) : 0;
    profile.copies = 1 + below(draws, 2);
    profile.zero_as_one = below(draws, 2) != 0;
    const unsigned width = 8 + below(draws, 57);
    const std::uint64_t all = width == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1;
    const bool reflected = below(draws, 2) != 0;
    profile.crc = proto::CrcSpec{.width = width,
                                 .polynomial = (draws() & all) | 1,
                                 .initial = draws() & all,
                                 .reflect_in = reflected,
                                 .reflect_out = reflected,
                                 .final_xor = draws() & all};
    return profile;
}

struct Case {
    Profile profile;
    unsigned payload_bytes = 0;
    End sender = End::controller;
    std::uint32_t source = 0, destination = 0;
    Header header;
    Bytes payload;
};

/// A possible profile, payload length and content.
Case any_case(Draws& draws) {
    for (;;) {
        Case c;
        c.profile = any_profile(draws);
        c.payload_bytes = 1 + below(draws, proto::payload_bytes_max);
        if (!proto::layout_of(c.profile, c.payload_bytes).ok()) continue;
        c.sender = below(draws, 2) != 0 ? End::device : End::controller;
        const std::uint32_t addresses = proto::low_mask(c.profile.address.bits);
        c.source = static_cast<std::uint32_t>(draws()) & addresses;
        c.destination = static_cast<std::uint32_t>(draws()) & addresses;
        const std::uint32_t numbers = proto::low_mask(c.profile.sequence.bits);
        const std::uint32_t stamps = proto::low_mask(c.profile.time_stamp_bits);
        c.header.status = static_cast<std::uint8_t>(1 + below(draws, 15));
        c.header.number = static_cast<std::uint32_t>(draws()) & numbers;
        if (c.profile.feedback) c.header.feedback = static_cast<std::uint32_t>(draws()) & numbers;
        c.header.stamp = static_cast<std::uint32_t>(draws()) & stamps;
        c.header.echo = static_cast<std::uint32_t>(draws()) & stamps;
        c.payload.resize(c.payload_bytes);
        for (auto& byte : c.payload) byte = static_cast<std::uint8_t>(draws() >> 56);
        return c;
    }
}

CrcEngine engine_of(const Profile& profile) { return CrcEngine::make(*profile.crc).value(); }

Codec codec_of(const Case& c, const CrcEngine& crc) {
    return {c.profile, &crc, c.sender, c.source, c.destination, c.payload_bytes};
}

Bytes encoded(const Codec& codec, const Header& header, const Bytes& payload) {
    std::array<std::uint8_t, proto::telegram_bytes_max> out{};
    codec.encode(header, payload, out);
    return {out.begin(), out.begin() + codec.layout().total_bytes};
}

void append(std::vector<bool>& bits, std::uint64_t value, unsigned count) {
    for (unsigned i = count; i-- > 0;) bits.push_back((value >> i & 1) != 0);
}

Bytes bytes_of(std::vector<bool> bits) {
    while (bits.size() % 8 != 0) bits.push_back(false);
    Bytes bytes(bits.size() / 8);
    for (std::size_t i = 0; i < bits.size(); ++i)
        if (bits[i]) bytes[i / 8] = static_cast<std::uint8_t>(bytes[i / 8] | 0x80U >> i % 8);
    return bytes;
}

/// The telegram by FORMAT.md, one bit at a time, with the CRC of pencil and paper.
Bytes slowly_encoded(const Case& c) {
    const Profile& p = c.profile;
    const bool address = p.address.presence == Presence::carried, number = p.sequence.presence == Presence::carried;
    std::vector<bool> bits;
    append(bits, p.direction == Presence::carried && c.sender == End::device ? 1 : 0, 1);
    append(bits, c.header.status, 7);
    if (address) append(bits, c.source, p.address.bits);
    if (address) append(bits, c.destination, p.address.bits);
    if (number) append(bits, c.header.number, p.sequence.bits);
    if (p.feedback) append(bits, c.header.feedback, p.sequence.bits);
    append(bits, c.header.stamp, p.time_stamp_bits);
    append(bits, c.header.echo, p.time_stamp_bits);
    Bytes copy = bytes_of(bits);
    copy.insert(copy.end(), c.payload.begin(), c.payload.end());

    std::vector<bool> implied;
    if (p.direction == Presence::implied) append(implied, c.sender == End::device ? 1 : 0, 8);
    if (p.address.presence == Presence::implied) {
        append(implied, c.source, 32);
        append(implied, c.destination, 32);
    }
    if (p.sequence.presence == Presence::implied) append(implied, c.header.number, (p.sequence.bits + 7) / 8 * 8);
    Bytes covered = bytes_of(implied);
    covered.insert(covered.end(), copy.begin(), copy.end());
    std::uint64_t crc = tests::slow_crc(*p.crc, covered);
    if (p.zero_as_one && crc == 0) crc = 1;
    std::vector<bool> crc_bits;
    append(crc_bits, crc, (p.crc->width + 7) / 8 * 8);
    Bytes crc_bytes = bytes_of(crc_bits);
    if (p.crc->reflect_out) std::reverse(crc_bytes.begin(), crc_bytes.end());
    copy.insert(copy.end(), crc_bytes.begin(), crc_bytes.end());

    Bytes all = copy;
    if (p.copies == 2)
        for (const std::uint8_t byte : copy) all.push_back(static_cast<std::uint8_t>(~byte));
    return all;
}

}  // namespace

TEST_CASE("R-06 R-07 R-10 R-42 the bytes are those of a slow encoder, over random profiles") {
    Draws draws(1);
    for (int i = 0; i < 400; ++i) {
        const Case c = any_case(draws);
        const CrcEngine crc = engine_of(c.profile);
        REQUIRE(encoded(codec_of(c, crc), c.header, c.payload) == slowly_encoded(c));
    }
}

TEST_CASE("what is encoded is decoded again, over random profiles") {
    Draws draws(2);
    for (int i = 0; i < 4000; ++i) {
        const Case c = any_case(draws);
        const CrcEngine crc = engine_of(c.profile);
        const Codec codec = codec_of(c, crc);
        const Bytes bytes = encoded(codec, c.header, c.payload);
        const std::array<std::uint32_t, 2> tries{c.header.number ^ 1U, c.header.number};
        const bool implied = c.profile.sequence.presence == Presence::implied;
        // With the number implied, a neighbour's number fits with probability 2^-width: not tried with narrow CRCs.
        const Codec::Decoded decoded = codec.decode(bytes, std::span(tries).subspan(c.profile.crc->width < 32 ? 1 : 0));
        REQUIRE(decoded.failed.empty());
        REQUIRE(decoded.readable);
        const std::uint8_t device = c.profile.direction == Presence::carried && c.sender == End::device ? 0x80 : 0;
        REQUIRE(decoded.header.status == (c.header.status | device));
        if (c.profile.sequence.presence != Presence::absent || implied)
            REQUIRE(decoded.header.number == c.header.number);
        REQUIRE(decoded.header.feedback == c.header.feedback);
        REQUIRE(decoded.header.stamp == c.header.stamp);
        REQUIRE(decoded.header.echo == c.header.echo);
        REQUIRE(std::equal(c.payload.begin(), c.payload.end(), decoded.payload));
    }
}

TEST_CASE("values too wide for their fields are cut and never touch the neighbouring field") {
    Profile profile = tests::carried_crc32();
    profile.feedback = true;
    profile.sequence.bits = 5;
    profile.time_stamp_bits = 9;
    const CrcEngine crc = engine_of(profile);
    const Codec codec(profile, &crc, End::device, 1, 2, 1);
    Header wide{.status = 0xFF, .number = 0xFFFFFFFF, .feedback = 0xFFFFFFE0, .stamp = 0xFFFFFE00, .echo = 0xFFFFFFFF};
    const Bytes bytes = encoded(codec, wide, {7});
    const Codec::Decoded decoded = codec.decode(bytes, {});
    CHECK(decoded.failed.empty());
    CHECK(decoded.header.number == 31);
    CHECK(decoded.header.feedback == 0);
    CHECK(decoded.header.stamp == 0);
    CHECK(decoded.header.echo == 0x1FF);
    profile.sequence = {Presence::implied, 5};
    profile.feedback = false;
    const Codec implied(profile, &crc, End::device, 1, 2, 1);
    Header cut = wide;
    cut.number = 31;
    CHECK(encoded(implied, wide, {7}) == encoded(implied, cut, {7}));
}

TEST_CASE("places of the fields agree with the encoded bytes") {
    Draws draws(3);
    for (int i = 0; i < 500; ++i) {
        const Case c = any_case(draws);
        const CrcEngine crc = engine_of(c.profile);
        const Bytes bytes = encoded(codec_of(c, crc), c.header, c.payload);
        const auto places = proto::places_of(c.profile, c.payload_bytes);
        const auto at = [&bytes](proto::FieldPlace place) {
            std::uint64_t value = 0;
            for (unsigned k = 0; k < place.bits; ++k) {
                const unsigned bit = place.first_bit + k;
                value = value << 1 | (unsigned{bytes[bit / 8]} >> (7 - bit % 8) & 1U);
            }
            return value;
        };
        if (places.source.bits != 0) REQUIRE(at(places.source) == c.source);
        if (places.destination.bits != 0) REQUIRE(at(places.destination) == c.destination);
        if (places.number.bits != 0) REQUIRE(at(places.number) == c.header.number);
        REQUIRE((places.number.bits != 0) == (c.profile.sequence.presence == Presence::carried));
        if (places.feedback.bits != 0) REQUIRE(at(places.feedback) == c.header.feedback);
        if (places.stamp.bits != 0) REQUIRE(at(places.stamp) == c.header.stamp);
        if (places.echo.bits != 0) REQUIRE(at(places.echo) == c.header.echo);
        REQUIRE((at(places.status) & 0x0F) == c.header.status);
        REQUIRE(places.payload.first_bit % 8 == 0);
        REQUIRE(bytes[places.payload.first_bit / 8] == c.payload[0]);
        REQUIRE(places.payload.first_bit + places.payload.bits == places.crc.first_bit);
        REQUIRE((places.crc.first_bit + places.crc.bits) * c.profile.copies == 8 * bytes.size());
    }
}

TEST_CASE("R-04 R-05 any bytes and any truncation are decoded without harm, and rejected") {
    Draws draws(4);
    for (int i = 0; i < 300; ++i) {
        const Case c = any_case(draws);
        const CrcEngine crc = engine_of(c.profile);
        const Codec codec = codec_of(c, crc);
        const Bytes good = encoded(codec, c.header, c.payload);
        const std::array<std::uint32_t, 1> tries{c.header.number};
        for (std::size_t length = 0; length < good.size(); length += 1 + length / 8) {
            const Bytes cut(good.begin(), good.begin() + static_cast<std::ptrdiff_t>(length));
            const Codec::Decoded decoded = codec.decode(cut, tries);
            REQUIRE(decoded.failed.has(Measure::integrity));
            REQUIRE_FALSE(decoded.readable);
        }
        Bytes longer = good;
        longer.push_back(0);
        REQUIRE(codec.decode(longer, tries).failed.has(Measure::integrity));
        Bytes noise(good.size());
        for (auto& byte : noise) byte = static_cast<std::uint8_t>(draws() >> 56);
        const Codec::Decoded decoded = codec.decode(noise, tries);
        REQUIRE(decoded.readable);
        if (c.profile.crc->width >= 32) REQUIRE_FALSE(decoded.failed.empty());
    }
}

TEST_CASE("R-09 nothing but zeros is rejected, also where its CRC fits") {
    // With initial value 0 and no final xor the CRC of zeros is 0.
    for (const std::string_view name : {"CRC-16/XMODEM", "CRC-16/ARC", "CRC-8/SMBUS"}) {
        Profile profile;
        profile.sequence = {Presence::carried, 8};
        profile.direction = Presence::carried;
        REQUIRE(proto::find_crc(name) != nullptr);
        profile.crc = proto::find_crc(name)->spec;
        const CrcEngine crc = engine_of(profile);
        const Codec codec(profile, &crc, End::controller, 1, 2, 4);
        const Bytes zeros = encoded(codec, Header{}, Bytes(4));
        REQUIRE(std::all_of(zeros.begin(), zeros.end(), [](std::uint8_t b) { return b == 0; }));
        const Codec::Decoded decoded = codec.decode(zeros, {});
        CHECK(decoded.failed.first() == Measure::integrity);
        // One bit more, and it is a telegram like any other.
        CHECK(codec.decode(encoded(codec, Header{.number = 1}, Bytes(4)), {}).failed.empty());
    }
    for (const Profile& profile : tests::profiles_like_shipped()) {
        const CrcEngine crc = engine_of(profile);
        const Codec codec(profile, &crc, End::controller, 0, 0, 4);
        const std::array<std::uint32_t, 2> tries{0, 1};
        CHECK_FALSE(codec.decode(Bytes(codec.layout().total_bytes), tries).failed.empty());
    }
}

TEST_CASE("R-12 a look at one measure alone: without a CRC nothing judges the bytes, zeros and unused bits included") {
    Profile profile;
    profile.sequence = {Presence::carried, 8};
    CHECK(proto::layout_of(profile, 4).error() == proto::ProfileFault::crc_missing);
    REQUIRE(proto::layout_of(profile, 4, proto::ProfileUse::single_measure).ok());
    const Codec codec(profile, nullptr, End::controller, 1, 2, 4);
    CHECK(codec.decode(encoded(codec, Header{.number = 3}, Bytes(4)), {}).failed.empty());
    // the first telegram of a link whose values are all substitutes may be nothing but zeros
    Bytes zeros(codec.layout().total_bytes);
    CHECK(codec.decode(zeros, {}).failed.empty());
    zeros[0] = 0x70;
    CHECK(codec.decode(zeros, {}).failed.empty());
    // what has no place to be read from is rejected all the same
    CHECK(codec.decode(Bytes(codec.layout().total_bytes - 1), {}).failed.has(Measure::integrity));
}

TEST_CASE("R-08 a CRC result of 0 is sent as 1, and 0 is then rejected") {
    Profile profile = tests::carried_crc32();
    const CrcEngine crc = engine_of(profile);
    const Codec codec(profile, &crc, End::controller, 0x101, 0x202, 8);
    Header header{.number = 5};
    Bytes payload(8);
    // Of 2^32 last four payload bytes one makes the CRC 0: without final xor it is the CRC of what comes before.
    Bytes telegram = encoded(codec, header, payload);
    const Bytes before(telegram.begin(), telegram.end() - 8);
    proto::store_be(payload.data() + 4, crc.over(before), 4);
    telegram = encoded(codec, header, payload);
    REQUIRE(crc.over(Bytes(telegram.begin(), telegram.end() - 4)) == 0);
    CHECK(proto::load_be(telegram.data() + telegram.size() - 4, 4) == 1);
    CHECK(codec.decode(telegram, {}).failed.empty());
    telegram.back() = 0;
    CHECK(codec.decode(telegram, {}).failed.has(Measure::integrity));

    profile.zero_as_one = false;
    const Codec plain(profile, &crc, End::controller, 0x101, 0x202, 8);
    CHECK(plain.decode(telegram, {}).failed.empty());
}

TEST_CASE("R-08 the published vector of IEC 62541-15 (release 1.05.04) through the telegram's engine") {
    // 24 bytes: the codec's header takes the first one (status 0), the rest is payload; the CRC covers both alike.
    const Bytes published{0x00, 0x00, 0x00, 0x0A, 0x00, 0x00, 0x00, 0x01, 0x00, 0x00, 0x00, 0x04,
                          0x00, 0x01, 0x64, 0x61, 0x65, 0x68, 0x72, 0xB6, 0xC3, 0x74, 0x6F, 0x4D};
    Profile profile = tests::carried_crc32();
    profile.address = {};
    profile.sequence = {};
    const CrcEngine crc = engine_of(profile);
    const Codec codec(profile, &crc, End::controller, 1, 2, 23);
    const Bytes telegram = encoded(codec, Header{}, Bytes(published.begin() + 1, published.end()));
    REQUIRE(std::equal(published.begin(), published.end(), telegram.begin()));
    CHECK(proto::load_be(telegram.data() + 24, 4) == 0xE2E86173);
}

TEST_CASE("R-06 two copies: any difference is a cross-check error, told before integrity") {
    const Profile profile = tests::two_copies_crc16();
    const CrcEngine crc = engine_of(profile);
    const Codec codec(profile, &crc, End::controller, 1, 2, 4);
    const Bytes good = encoded(codec, Header{.number = 9}, {1, 2, 3, 4});
    REQUIRE(good.size() == 2 * codec.layout().copy_bytes);
    for (unsigned bit = 0; bit < good.size() * 8; ++bit) {
        Bytes bad = good;
        bad[bit / 8] = static_cast<std::uint8_t>(bad[bit / 8] ^ (1U << bit % 8));
        const Codec::Decoded decoded = codec.decode(bad, {});
        REQUIRE(decoded.failed.first() == Measure::cross_check);
        REQUIRE(decoded.failed.has(Measure::integrity) == (bit / 8 < codec.layout().copy_bytes));
    }
}

TEST_CASE("R-46 a sender's own telegram is rejected, direction carried or implied, or by carried addresses") {
    for (const Presence direction : {Presence::carried, Presence::implied}) {
        Profile profile = tests::two_copies_crc16();
        profile.direction = direction;
        const CrcEngine crc = engine_of(profile);
        const Codec sent(profile, &crc, End::controller, 1, 2, 4), expected(profile, &crc, End::device, 2, 1, 4);
        const auto decoded = expected.decode(encoded(sent, Header{.number = 9}, {1, 2, 3, 4}), {});
        CHECK(decoded.failed.has(direction == Presence::carried ? Measure::authentication : Measure::integrity));
    }
    Profile profile = tests::carried_crc32();
    profile.direction = Presence::absent;
    const CrcEngine crc = engine_of(profile);
    const Codec sent(profile, &crc, End::controller, 1, 2, 4), expected(profile, &crc, End::device, 2, 1, 4);
    CHECK(expected.decode(encoded(sent, Header{.number = 9}, {1, 2, 3, 4}), {}).failed.first() ==
          Measure::authentication);
}

TEST_CASE("R-07 R-42 everything implied is under the CRC: address, direction and number each spoil it") {
    Profile profile = tests::reflected_crc32();
    profile.address = {Presence::implied, 32};
    const CrcEngine crc = engine_of(profile);
    const auto codec = [&](End sender, std::uint32_t source, std::uint32_t destination) {
        return Codec(profile, &crc, sender, source, destination, 4);
    };
    const Bytes bytes = encoded(codec(End::controller, 10, 20), Header{.number = 0x5A5}, {1, 2, 3, 4});
    const std::array<std::uint32_t, 1> right{0x5A5}, wrong{0x5A6};
    CHECK(codec(End::controller, 10, 20).decode(bytes, right).failed.empty());
    for (const Codec& other : {codec(End::device, 10, 20), codec(End::controller, 11, 20),
                               codec(End::controller, 10, 21), codec(End::controller, 20, 10)})
        CHECK(other.decode(bytes, right).failed.first() == Measure::integrity);
    CHECK(codec(End::controller, 10, 20).decode(bytes, wrong).failed.first() == Measure::integrity);
    // without a number to try there is nothing that could fit
    CHECK(codec(End::controller, 10, 20).decode(bytes, {}).failed.first() == Measure::integrity);
}

TEST_CASE("R-42 implied addresses wider than the CRC alias: 0x1 and 0x11020 under polynomial 0x1021") {
    // The two differ by 0x11021: the polynomial itself, with its leading term.
    Profile profile = tests::two_copies_crc16();
    profile.copies = 1;
    profile.address = {Presence::implied, 32};
    const CrcEngine crc = engine_of(profile);
    const Codec one(profile, &crc, End::controller, 0x1, 0x77, 4),
        alias(profile, &crc, End::controller, 0x11020, 0x77, 4), third(profile, &crc, End::controller, 0x2, 0x77, 4);
    CHECK(one.implied_register() == alias.implied_register());
    CHECK(one.implied_register() != third.implied_register());
    const Bytes bytes = encoded(alias, Header{.number = 3}, {1, 2, 3, 4});
    CHECK(one.decode(bytes, {}).failed.empty());  // accepted, and nothing in the bytes could tell
    CHECK(third.decode(bytes, {}).failed.has(Measure::integrity));
    // Carried, the same two are told apart.
    profile.address = {Presence::carried, 32};
    const Codec carried(profile, &crc, End::controller, 0x1, 0x77, 4),
        other(profile, &crc, End::controller, 0x11020, 0x77, 4);
    CHECK(carried.decode(encoded(other, Header{.number = 3}, {1, 2, 3, 4}), {}).failed.first() ==
          Measure::authentication);
}
