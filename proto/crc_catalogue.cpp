#include "proto/crc_catalogue.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace proto {
namespace {

enum class Bits : std::uint8_t { high_first, low_first };
using enum Bits;

constexpr NamedCrc named(std::string_view name, unsigned width, std::uint64_t polynomial, std::uint64_t initial,
                         Bits in, Bits out, std::uint64_t final_xor, std::uint64_t check) {
    return {.name = name,
            .spec = {.width = width,
                     .polynomial = polynomial,
                     .initial = initial,
                     .reflect_in = in == low_first,
                     .reflect_out = out == low_first,
                     .final_xor = final_xor},
            .check = check};
}

// Source: catalogue of parametrised CRC algorithms, reveng.sourceforge.io/crc-catalogue; the parameters were compared
// with Debian's python3-crccheck 1.0, which restates that catalogue (CRC-32/MEF is not in there: its check value alone
// vouches for it). Not all of it: widths 8..64, and general names only. The initial value is given before reflection,
// as the catalogue does. Columns: width, polynomial, initial value, bits in, bits out, final xor, check value.
// clang-format off
constexpr std::array catalogue{
    named("CRC-8/AUTOSAR", 8, 0x2F, 0xFF, high_first, high_first, 0xFF, 0xDF),
    named("CRC-8/BLUETOOTH", 8, 0xA7, 0x00, low_first, low_first, 0x00, 0x26),
    named("CRC-8/CDMA2000", 8, 0x9B, 0xFF, high_first, high_first, 0x00, 0xDA),
    named("CRC-8/DARC", 8, 0x39, 0x00, low_first, low_first, 0x00, 0x15),
    named("CRC-8/DVB-S2", 8, 0xD5, 0x00, high_first, high_first, 0x00, 0xBC),
    named("CRC-8/GSM-A", 8, 0x1D, 0x00, high_first, high_first, 0x00, 0x37),
    named("CRC-8/GSM-B", 8, 0x49, 0x00, high_first, high_first, 0xFF, 0x94),
    named("CRC-8/I-432-1", 8, 0x07, 0x00, high_first, high_first, 0x55, 0xA1),
    named("CRC-8/LTE", 8, 0x9B, 0x00, high_first, high_first, 0x00, 0xEA),
    named("CRC-8/NRSC-5", 8, 0x31, 0xFF, high_first, high_first, 0x00, 0xF7),
    named("CRC-8/ROHC", 8, 0x07, 0xFF, low_first, low_first, 0x00, 0xD0),
    named("CRC-8/SAE-J1850", 8, 0x1D, 0xFF, high_first, high_first, 0xFF, 0x4B),
    named("CRC-8/SMBUS", 8, 0x07, 0x00, high_first, high_first, 0x00, 0xF4),
    named("CRC-8/TECH-3250", 8, 0x1D, 0xFF, low_first, low_first, 0x00, 0x97),
    named("CRC-8/WCDMA", 8, 0x9B, 0x00, low_first, low_first, 0x00, 0x25),
    named("CRC-10/ATM", 10, 0x233, 0x000, high_first, high_first, 0x000, 0x199),
    named("CRC-10/CDMA2000", 10, 0x3D9, 0x3FF, high_first, high_first, 0x000, 0x233),
    named("CRC-10/GSM", 10, 0x175, 0x000, high_first, high_first, 0x3FF, 0x12A),
    named("CRC-11/FLEXRAY", 11, 0x385, 0x01A, high_first, high_first, 0x000, 0x5A3),
    named("CRC-11/UMTS", 11, 0x307, 0x000, high_first, high_first, 0x000, 0x061),
    named("CRC-12/CDMA2000", 12, 0xF13, 0xFFF, high_first, high_first, 0x000, 0xD4D),
    named("CRC-12/DECT", 12, 0x80F, 0x000, high_first, high_first, 0x000, 0xF5B),
    named("CRC-12/GSM", 12, 0xD31, 0x000, high_first, high_first, 0xFFF, 0xB34),
    named("CRC-12/UMTS", 12, 0x80F, 0x000, high_first, low_first, 0x000, 0xDAF),
    named("CRC-13/BBC", 13, 0x1CF5, 0x0000, high_first, high_first, 0x0000, 0x04FA),
    named("CRC-14/DARC", 14, 0x0805, 0x0000, low_first, low_first, 0x0000, 0x082D),
    named("CRC-14/GSM", 14, 0x202D, 0x0000, high_first, high_first, 0x3FFF, 0x30AE),
    named("CRC-15/MPT1327", 15, 0x6815, 0x0000, high_first, high_first, 0x0001, 0x2566),
    named("CRC-16/ARC", 16, 0x8005, 0x0000, low_first, low_first, 0x0000, 0xBB3D),
    named("CRC-16/CDMA2000", 16, 0xC867, 0xFFFF, high_first, high_first, 0x0000, 0x4C06),
    named("CRC-16/DECT-R", 16, 0x0589, 0x0000, high_first, high_first, 0x0001, 0x007E),
    named("CRC-16/DECT-X", 16, 0x0589, 0x0000, high_first, high_first, 0x0000, 0x007F),
    named("CRC-16/EN-13757", 16, 0x3D65, 0x0000, high_first, high_first, 0xFFFF, 0xC2B7),
    named("CRC-16/GSM", 16, 0x1021, 0x0000, high_first, high_first, 0xFFFF, 0xCE3C),
    named("CRC-16/IBM-3740", 16, 0x1021, 0xFFFF, high_first, high_first, 0x0000, 0x29B1),
    named("CRC-16/IBM-SDLC", 16, 0x1021, 0xFFFF, low_first, low_first, 0xFFFF, 0x906E),
    named("CRC-16/ISO-IEC-14443-3-A", 16, 0x1021, 0xC6C6, low_first, low_first, 0x0000, 0xBF05),
    named("CRC-16/KERMIT", 16, 0x1021, 0x0000, low_first, low_first, 0x0000, 0x2189),
    named("CRC-16/MODBUS", 16, 0x8005, 0xFFFF, low_first, low_first, 0x0000, 0x4B37),
    named("CRC-16/NRSC-5", 16, 0x080B, 0xFFFF, low_first, low_first, 0x0000, 0xA066),
    named("CRC-16/T10-DIF", 16, 0x8BB7, 0x0000, high_first, high_first, 0x0000, 0xD0DB),
    named("CRC-16/UMTS", 16, 0x8005, 0x0000, high_first, high_first, 0x0000, 0xFEE8),
    named("CRC-16/USB", 16, 0x8005, 0xFFFF, low_first, low_first, 0xFFFF, 0xB4C8),
    named("CRC-16/XMODEM", 16, 0x1021, 0x0000, high_first, high_first, 0x0000, 0x31C3),
    named("CRC-24/BLE", 24, 0x00065B, 0x555555, low_first, low_first, 0x000000, 0xC25A56),
    named("CRC-24/FLEXRAY-A", 24, 0x5D6DCB, 0xFEDCBA, high_first, high_first, 0x000000, 0x7979BD),
    named("CRC-24/FLEXRAY-B", 24, 0x5D6DCB, 0xABCDEF, high_first, high_first, 0x000000, 0x1F23B8),
    named("CRC-24/INTERLAKEN", 24, 0x328B63, 0xFFFFFF, high_first, high_first, 0xFFFFFF, 0xB4F3E6),
    named("CRC-24/LTE-A", 24, 0x864CFB, 0x000000, high_first, high_first, 0x000000, 0xCDE703),
    named("CRC-24/LTE-B", 24, 0x800063, 0x000000, high_first, high_first, 0x000000, 0x23EF52),
    named("CRC-24/OPENPGP", 24, 0x864CFB, 0xB704CE, high_first, high_first, 0x000000, 0x21CF02),
    named("CRC-30/CDMA", 30, 0x2030B9C7, 0x3FFFFFFF, high_first, high_first, 0x3FFFFFFF, 0x04C34ABF),
    named("CRC-32/AIXM", 32, 0x814141AB, 0x00000000, high_first, high_first, 0x00000000, 0x3010BF7F),
    named("CRC-32/AUTOSAR", 32, 0xF4ACFB13, 0xFFFFFFFF, low_first, low_first, 0xFFFFFFFF, 0x1697D06A),
    named("CRC-32/BASE91-D", 32, 0xA833982B, 0xFFFFFFFF, low_first, low_first, 0xFFFFFFFF, 0x87315576),
    named("CRC-32/BZIP2", 32, 0x04C11DB7, 0xFFFFFFFF, high_first, high_first, 0xFFFFFFFF, 0xFC891918),
    named("CRC-32/CD-ROM-EDC", 32, 0x8001801B, 0x00000000, low_first, low_first, 0x00000000, 0x6EC2EDC4),
    named("CRC-32/CKSUM", 32, 0x04C11DB7, 0x00000000, high_first, high_first, 0xFFFFFFFF, 0x765E7680),
    named("CRC-32/ISCSI", 32, 0x1EDC6F41, 0xFFFFFFFF, low_first, low_first, 0xFFFFFFFF, 0xE3069283),
    named("CRC-32/ISO-HDLC", 32, 0x04C11DB7, 0xFFFFFFFF, low_first, low_first, 0xFFFFFFFF, 0xCBF43926),
    named("CRC-32/JAMCRC", 32, 0x04C11DB7, 0xFFFFFFFF, low_first, low_first, 0x00000000, 0x340BC6D9),
    named("CRC-32/MEF", 32, 0x741B8CD7, 0xFFFFFFFF, low_first, low_first, 0x00000000, 0xD2C22F51),
    named("CRC-32/MPEG-2", 32, 0x04C11DB7, 0xFFFFFFFF, high_first, high_first, 0x00000000, 0x0376E6E7),
    named("CRC-32/XFER", 32, 0x000000AF, 0x00000000, high_first, high_first, 0x00000000, 0xBD0BE338),
    named("CRC-40/GSM", 40, 0x0004820009, 0x0000000000, high_first, high_first, 0xFFFFFFFFFF, 0xD4164FC646),
    named("CRC-64/ECMA-182", 64, 0x42F0E1EBA9EA3693, 0x0000000000000000, high_first, high_first, 0x0000000000000000, 0x6C40DF5F0B497347),
    named("CRC-64/GO-ISO", 64, 0x000000000000001B, 0xFFFFFFFFFFFFFFFF, low_first, low_first, 0xFFFFFFFFFFFFFFFF, 0xB90956C775A41001),
    named("CRC-64/WE", 64, 0x42F0E1EBA9EA3693, 0xFFFFFFFFFFFFFFFF, high_first, high_first, 0xFFFFFFFFFFFFFFFF, 0x62EC59E3F1A4F00A),
    named("CRC-64/XZ", 64, 0x42F0E1EBA9EA3693, 0xFFFFFFFFFFFFFFFF, low_first, low_first, 0xFFFFFFFFFFFFFFFF, 0x995DC9BBDF1939FA),
};
// clang-format on

constexpr char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

constexpr std::size_t longest_name =
    std::max_element(catalogue.begin(), catalogue.end(), [](const NamedCrc& a, const NamedCrc& b) {
        return a.name.size() < b.name.size();
    })->name.size();

/// Levenshtein distance, case ignored; one row of the usual table. `known` is a name of the catalogue.
std::size_t edit_distance(std::string_view typed, std::string_view known) {
    std::array<std::size_t, longest_name + 1> row{};
    for (std::size_t k = 0; k <= known.size(); ++k) row.at(k) = k;
    for (std::size_t t = 0; t < typed.size(); ++t) {
        std::size_t diagonal = row.front();
        row.front() = t + 1;
        for (std::size_t k = 0; k < known.size(); ++k) {
            const std::size_t replaced = diagonal + (lower(typed[t]) == lower(known[k]) ? 0 : 1);
            diagonal = row.at(k + 1);
            row.at(k + 1) = std::min({replaced, diagonal + 1, row.at(k) + 1});
        }
    }
    return row.at(known.size());
}

}  // namespace

std::span<const NamedCrc> crc_catalogue() { return catalogue; }

const NamedCrc* find_crc(std::string_view name) {
    const auto* const found =
        std::find_if(catalogue.begin(), catalogue.end(), [&](const NamedCrc& crc) { return crc.name == name; });
    return found == catalogue.end() ? nullptr : found;
}

std::string_view nearest_crc_name(std::string_view name) {
    // Beyond this length every name is about equally far, and the time must not grow with what somebody typed.
    const std::string_view typed = name.substr(0, 2 * longest_name);
    std::string_view nearest = catalogue.front().name;
    std::size_t least = edit_distance(typed, nearest);
    for (const NamedCrc& crc : catalogue) {
        const std::size_t distance = edit_distance(typed, crc.name);
        if (distance < least) {
            least = distance;
            nearest = crc.name;
        }
    }
    return nearest;
}

}  // namespace proto
