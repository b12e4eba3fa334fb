// CRC values over given bytes that others have published: each row with its source.
#include <doctest/doctest.h>

#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

#include "proto/crc.hpp"
#include "proto/crc_catalogue.hpp"

namespace {

// The seven data sets of the AUTOSAR CRC library specification, one table of results for each algorithm.
// "Repeated": taken from a public test that repeats them, the specification's own text was not at hand.
constexpr std::string_view autosar_repeated =
    "AUTOSAR SWS CRC Library, as repeated in github zariiii9003/autosar-e2e@750dbd89 test/test_crc.py";
constexpr std::string_view autosar_and_reveng =
    "AUTOSAR SWS CRC Library, as repeated in github zariiii9003/autosar-e2e@750dbd89 test/test_crc.py; codewords of "
    "CRC-16/ARC in the RevEng catalogue";
constexpr std::string_view flexray_conformance =
    "FlexRay Protocol Conformance Test Specification 3.0.1, 2.7.5, quoted by "
    "reveng.sourceforge.net/crc-catalogue/17plus.htm";

struct PublishedVector {
    std::string_view name;
    std::string_view bytes;  ///< hexadecimal
    std::uint64_t value;
    std::string_view source;
};

// clang-format off
constexpr PublishedVector published[] = {
    {"CRC-16/ARC", "00ff5511", 0x6CCF, autosar_and_reveng},
    {"CRC-16/ARC", "0faa0055", 0x0BE3, autosar_and_reveng},
    {"CRC-16/ARC", "926b55", 0xE24E, autosar_and_reveng},
    {"CRC-16/ARC", "ffffffff", 0x9401, autosar_and_reveng},
    {"CRC-16/IBM-3740", "00000000", 0x84C0, autosar_repeated},
    {"CRC-16/IBM-3740", "00ff5511", 0xB8F9, autosar_repeated},
    {"CRC-16/IBM-3740", "0faa0055", 0x2023, autosar_repeated},
    {"CRC-16/IBM-3740", "332255aabbccddeeff", 0xF53F, autosar_repeated},
    {"CRC-16/IBM-3740", "926b55", 0x0745, autosar_repeated},
    {"CRC-16/IBM-3740", "ffffffff", 0x1D0F, autosar_repeated},
    {"CRC-24/FLEXRAY-A", "18020209880000", 0xF339C1, flexray_conformance},
    {"CRC-24/FLEXRAY-A", "202e06c848102030405060", 0x96C9D1, flexray_conformance},
    {"CRC-24/FLEXRAY-A", "205606c848102030405060", 0x474380, flexray_conformance},
    {"CRC-24/FLEXRAY-B", "18020209880000", 0xD5B910, flexray_conformance},
    {"CRC-32/AUTOSAR", "00ff5511", 0x9BD7996E, autosar_repeated},
    {"CRC-32/AUTOSAR", "332255aabbccddeeff", 0xA65A343D, autosar_repeated},
    {"CRC-32/AUTOSAR", "f20183", 0x4F721A25, autosar_repeated},
    {"CRC-32/AUTOSAR", "ffffffff", 0xFFFFFFFF, autosar_repeated},
    {"CRC-32/ISO-HDLC", "00000000", 0x2144DF1C, autosar_repeated},
    {"CRC-32/ISO-HDLC", "00ff5511", 0x32A06212, autosar_repeated},
    {"CRC-32/ISO-HDLC", "332255aabbccddeeff", 0xB0AE863D, autosar_repeated},
    {"CRC-32/ISO-HDLC", "926b55", 0x9CDEA29B, autosar_repeated},
    {"CRC-32/ISO-HDLC", "ffffffff", 0xFFFFFFFF, autosar_repeated},
    {"CRC-64/XZ", "00ff5511", 0xA63822BE7E0704E6, autosar_repeated},
    {"CRC-64/XZ", "0faa0055", 0x54C5D0F7667C1575, autosar_repeated},
    {"CRC-64/XZ", "332255aabbccddeeff", 0x701ECEB219A8E5D5, autosar_repeated},
    {"CRC-64/XZ", "926b55", 0x5FAA96A9B59F3E4E, autosar_repeated},
    {"CRC-64/XZ", "ffffffff", 0xFFFFFFFF00000000, autosar_repeated},
    {"CRC-8/AUTOSAR", "00000000", 0x12, autosar_repeated},
    {"CRC-8/AUTOSAR", "00ff5511", 0x77, autosar_repeated},
    {"CRC-8/AUTOSAR", "0faa0055", 0xC6, autosar_repeated},
    {"CRC-8/AUTOSAR", "926b55", 0x33, autosar_repeated},
    {"CRC-8/AUTOSAR", "ffffffff", 0x6C, autosar_repeated},
    {"CRC-8/SAE-J1850", "00ff5511", 0xB8, autosar_repeated},
    {"CRC-8/SAE-J1850", "332255aabbccddeeff", 0xCB, autosar_repeated},
    {"CRC-8/SAE-J1850", "926b55", 0x8C, autosar_repeated},
    {"CRC-8/SAE-J1850", "f20183", 0x37, autosar_repeated},
    {"CRC-8/SAE-J1850", "ffffffff", 0x74, autosar_repeated},
};
// clang-format on

std::uint8_t nibble(char digit) { return static_cast<std::uint8_t>(digit <= '9' ? digit - '0' : digit - 'a' + 10); }

std::vector<std::uint8_t> from_hex(std::string_view hex) {
    std::vector<std::uint8_t> bytes;
    for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
        bytes.push_back(static_cast<std::uint8_t>(16 * nibble(hex[i]) + nibble(hex[i + 1])));
    return bytes;
}

}  // namespace

TEST_CASE("published CRC vectors") {
    for (const PublishedVector& row : published) {
        CAPTURE(row.name);
        CAPTURE(row.bytes);
        CAPTURE(row.source);
        const auto* const crc = proto::find_crc(row.name);
        REQUIRE(crc != nullptr);
        CHECK(proto::CrcEngine::make(crc->spec).value().over(from_hex(row.bytes)) == row.value);
    }
}

// Source: IEC 62541-15 (release 1.05.04): polynomial 0xF4ACFB13, most significant bit first, no reflection, initial
// value 1, no final xor, with the rule that a result of 0 is sent as 1.
namespace {

constexpr proto::CrcSpec iec_62541_15{.width = 32, .polynomial = 0xF4ACFB13, .initial = 1};

std::uint64_t sent_value(const proto::CrcEngine& engine, const std::vector<std::uint8_t>& bytes) {
    const std::uint64_t value = engine.over(bytes);
    return value == 0 ? 1 : value;
}

}  // namespace

TEST_CASE("the worked example of IEC 62541-15") {
    const auto engine = proto::CrcEngine::make(iec_62541_15).value();
    CHECK(sent_value(engine, from_hex("0000000a000000010000000400016461656872b6c3746f4d")) == 0xE2E86173);
}

TEST_CASE("by the rule of IEC 62541-15 a result of 0 is sent as 1") {
    const auto engine = proto::CrcEngine::make(iec_62541_15).value();
    // Any message followed by its own value leaves 0, since nothing is reflected and there is no final xor.
    std::vector<std::uint8_t> bytes = from_hex("0000000a0000000100000004");
    const std::uint64_t value = engine.over(bytes);
    for (const unsigned shift : {24U, 16U, 8U, 0U}) bytes.push_back(static_cast<std::uint8_t>((value >> shift) & 0xFF));
    REQUIRE(engine.over(bytes) == 0);
    CHECK(sent_value(engine, bytes) == 1);
}
