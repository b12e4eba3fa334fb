// Check values and residues of the catalogue of parametrised CRC algorithms, reveng.sourceforge.io/crc-catalogue, as
// Debian's python3-crccheck 1.0 restates them; CRC-32/MEF, which is not in there, from the catalogue's transcription
// in github akhilles/crc-catalog, src/algorithm.rs. Not read from our own catalogue: a slip there must show here.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "proto/crc.hpp"
#include "proto/crc_catalogue.hpp"
#include "tests/support/slow_crc.hpp"

namespace {

/// check: value over the nine ASCII digits "123456789". residue: what is left, before the final xor, of any message
/// that its own value follows.
struct PublishedCrc {
    std::string_view name;
    std::uint64_t check;
    std::uint64_t residue;
};

// clang-format off
constexpr PublishedCrc published[] = {
    {"CRC-8/AUTOSAR", 0xDF, 0x42},
    {"CRC-8/BLUETOOTH", 0x26, 0x00},
    {"CRC-8/CDMA2000", 0xDA, 0x00},
    {"CRC-8/DARC", 0x15, 0x00},
    {"CRC-8/DVB-S2", 0xBC, 0x00},
    {"CRC-8/GSM-A", 0x37, 0x00},
    {"CRC-8/GSM-B", 0x94, 0x53},
    {"CRC-8/I-432-1", 0xA1, 0xAC},
    {"CRC-8/LTE", 0xEA, 0x00},
    {"CRC-8/NRSC-5", 0xF7, 0x00},
    {"CRC-8/ROHC", 0xD0, 0x00},
    {"CRC-8/SAE-J1850", 0x4B, 0xC4},
    {"CRC-8/SMBUS", 0xF4, 0x00},
    {"CRC-8/TECH-3250", 0x97, 0x00},
    {"CRC-8/WCDMA", 0x25, 0x00},
    {"CRC-10/ATM", 0x199, 0x000},
    {"CRC-10/CDMA2000", 0x233, 0x000},
    {"CRC-10/GSM", 0x12A, 0x0C6},
    {"CRC-11/FLEXRAY", 0x5A3, 0x000},
    {"CRC-11/UMTS", 0x061, 0x000},
    {"CRC-12/CDMA2000", 0xD4D, 0x000},
    {"CRC-12/DECT", 0xF5B, 0x000},
    {"CRC-12/GSM", 0xB34, 0x178},
    {"CRC-12/UMTS", 0xDAF, 0x000},
    {"CRC-13/BBC", 0x04FA, 0x0000},
    {"CRC-14/DARC", 0x082D, 0x0000},
    {"CRC-14/GSM", 0x30AE, 0x031E},
    {"CRC-15/MPT1327", 0x2566, 0x6815},
    {"CRC-16/ARC", 0xBB3D, 0x0000},
    {"CRC-16/CDMA2000", 0x4C06, 0x0000},
    {"CRC-16/DECT-R", 0x007E, 0x0589},
    {"CRC-16/DECT-X", 0x007F, 0x0000},
    {"CRC-16/EN-13757", 0xC2B7, 0xA366},
    {"CRC-16/GSM", 0xCE3C, 0x1D0F},
    {"CRC-16/IBM-3740", 0x29B1, 0x0000},
    {"CRC-16/IBM-SDLC", 0x906E, 0xF0B8},
    {"CRC-16/ISO-IEC-14443-3-A", 0xBF05, 0x0000},
    {"CRC-16/KERMIT", 0x2189, 0x0000},
    {"CRC-16/MODBUS", 0x4B37, 0x0000},
    {"CRC-16/NRSC-5", 0xA066, 0x0000},
    {"CRC-16/T10-DIF", 0xD0DB, 0x0000},
    {"CRC-16/UMTS", 0xFEE8, 0x0000},
    {"CRC-16/USB", 0xB4C8, 0xB001},
    {"CRC-16/XMODEM", 0x31C3, 0x0000},
    {"CRC-24/BLE", 0xC25A56, 0x000000},
    {"CRC-24/FLEXRAY-A", 0x7979BD, 0x000000},
    {"CRC-24/FLEXRAY-B", 0x1F23B8, 0x000000},
    {"CRC-24/INTERLAKEN", 0xB4F3E6, 0x144E63},
    {"CRC-24/LTE-A", 0xCDE703, 0x000000},
    {"CRC-24/LTE-B", 0x23EF52, 0x000000},
    {"CRC-24/OPENPGP", 0x21CF02, 0x000000},
    {"CRC-30/CDMA", 0x04C34ABF, 0x34EFA55A},
    {"CRC-32/AIXM", 0x3010BF7F, 0x00000000},
    {"CRC-32/AUTOSAR", 0x1697D06A, 0x904CDDBF},
    {"CRC-32/BASE91-D", 0x87315576, 0x45270551},
    {"CRC-32/BZIP2", 0xFC891918, 0xC704DD7B},
    {"CRC-32/CD-ROM-EDC", 0x6EC2EDC4, 0x00000000},
    {"CRC-32/CKSUM", 0x765E7680, 0xC704DD7B},
    {"CRC-32/ISCSI", 0xE3069283, 0xB798B438},
    {"CRC-32/ISO-HDLC", 0xCBF43926, 0xDEBB20E3},
    {"CRC-32/JAMCRC", 0x340BC6D9, 0x00000000},
    {"CRC-32/MEF", 0xD2C22F51, 0x00000000},
    {"CRC-32/MPEG-2", 0x0376E6E7, 0x00000000},
    {"CRC-32/XFER", 0xBD0BE338, 0x00000000},
    {"CRC-40/GSM", 0xD4164FC646, 0xC4FF8071FF},
    {"CRC-64/ECMA-182", 0x6C40DF5F0B497347, 0x0000000000000000},
    {"CRC-64/GO-ISO", 0xB90956C775A41001, 0x5300000000000000},
    {"CRC-64/WE", 0x62EC59E3F1A4F00A, 0xFCACBEBD5931A992},
    {"CRC-64/XZ", 0x995DC9BBDF1939FA, 0x49958C9ABD7D353F},
};
// clang-format on

std::vector<std::uint8_t> digits() {
    constexpr std::string_view text = "123456789";
    return {text.begin(), text.end()};
}

/// As it goes on the line: a reflected CRC least significant byte first, another most significant byte first.
void append_value(std::vector<std::uint8_t>& message, const proto::CrcEngine& engine, std::uint64_t value) {
    const unsigned bytes = engine.value_bytes();
    for (unsigned i = 0; i < bytes; ++i) {
        const unsigned shift = 8 * (engine.spec().reflect_out ? i : bytes - 1 - i);
        message.push_back(static_cast<std::uint8_t>((value >> shift) & 0xFF));
    }
}

}  // namespace

TEST_CASE("published check values") {
    for (const PublishedCrc& row : published) {
        CAPTURE(row.name);
        const auto* const crc = proto::find_crc(row.name);
        REQUIRE(crc != nullptr);
        CHECK(crc->check == row.check);
        CHECK(proto::CrcEngine::make(crc->spec).value().over(digits()) == row.check);
    }
}

TEST_CASE("every CRC of our catalogue has a published row") {
    for (const proto::NamedCrc& crc : proto::crc_catalogue()) {
        CAPTURE(crc.name);
        CHECK(std::any_of(std::begin(published), std::end(published),
                          [&](const PublishedCrc& row) { return row.name == crc.name; }));
    }
}

TEST_CASE("published residues") {
    std::size_t by_engine = 0;
    for (const PublishedCrc& row : published) {
        CAPTURE(row.name);
        const auto* const crc = proto::find_crc(row.name);
        REQUIRE(crc != nullptr);
        const auto engine = proto::CrcEngine::make(crc->spec).value();
        for (const std::vector<std::uint8_t>& message : {digits(), std::vector<std::uint8_t>{0x00, 0xFF, 0x55, 0x11}}) {
            const std::uint64_t value = engine.over(message);
            if (crc->spec.reflect_in == crc->spec.reflect_out) {
                // A width that is no whole number of bytes needs single bits after the message: only the reference
                // takes those.
                tests::Bits codeword = tests::bits_in_order(crc->spec, message);
                const tests::Bits tail = tests::bits_in_order(crc->spec, value);
                codeword.insert(codeword.end(), tail.begin(), tail.end());
                CHECK((tests::slow_crc(crc->spec, codeword) ^ crc->spec.final_xor) == row.residue);
            }
            if (crc->spec.width % 8 == 0) {
                std::vector<std::uint8_t> codeword = message;
                append_value(codeword, engine, value);
                CHECK((engine.over(codeword) ^ crc->spec.final_xor) == row.residue);
                ++by_engine;
            }
        }
    }
    CHECK(by_engine >= 100);
}
