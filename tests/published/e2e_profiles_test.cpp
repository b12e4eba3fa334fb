// Protected messages published for the AUTOSAR end-to-end profiles 1, 2, 4, 5, 6, 7, 8, 11 and 22, rebuilt bit for bit
// with proto::CrcEngine. The layouts and rules below are those of AUTOSAR FO PRS E2EProtocol (Doc 849), from memory;
// a wrong rule cannot pass, since every published byte is compared.
#include <doctest/doctest.h>

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "proto/crc.hpp"
#include "proto/crc_catalogue.hpp"

namespace {

using Bytes = std::vector<std::uint8_t>;

enum class Profile : std::uint8_t { p01, p02, p04, p05, p06, p07, p08, p11, p22 };
using enum Profile;

/// Profiles 1 and 11 only: which part of the 16-bit data id the check value covers.
enum class IdMode : std::uint8_t { none, both_bytes, low_byte, alternating, nibble };
using enum IdMode;

struct ProtectedMessage {
    Profile profile;
    IdMode id_mode = none;
    std::uint32_t data_id = 0;
    std::string_view data_id_list = {};  ///< profiles 2 and 22: one id byte for each of 16 counter values
    std::uint32_t counter;
    std::size_t offset = 0;  ///< bytes before the header
    std::string_view before;
    std::string_view after;
};

// The source stands above the rows that come from it.
// clang-format off
constexpr ProtectedMessage published[] = {
    // Doc 849, 6.3.5, protocol examples, as repeated in github zariiii9003/autosar-e2e@750dbd89 test/test_p01.py and github torsko/autosar-e2e e2e/test/P01/E2E_P01Protect_tests.cpp (cites PRS ch. 6.3.5)
    {.profile = p01, .id_mode = alternating, .data_id = 0x0123, .counter = 1, .before = "0000000000000000", .after = "0201000000000000"},
    {.profile = p01, .id_mode = both_bytes, .data_id = 0x0123, .counter = 0, .before = "0000000000000000", .after = "cc00000000000000"},
    {.profile = p01, .id_mode = low_byte, .data_id = 0x0123, .counter = 0, .before = "0000000000000000", .after = "ce00000000000000"},
    {.profile = p01, .id_mode = low_byte, .data_id = 0x0123, .counter = 1, .before = "0000000000000000", .after = "9301000000000000"},
    {.profile = p01, .id_mode = nibble, .data_id = 0x0123, .counter = 0, .before = "0000000000000000", .after = "2a10000000000000"},
    // github zariiii9003/autosar-e2e@750dbd89 test/test_p02.py
    {.profile = p02, .data_id_list = "000102030405060708090a0b0c0d0e0f", .counter = 1, .before = "0001020304050607", .after = "6101020304050607"},
    {.profile = p02, .data_id_list = "000102030405060708090a0b0c0d0e0f", .counter = 2, .before = "0001020304050607", .after = "bc02020304050607"},
    {.profile = p02, .data_id_list = "00000000000000000000000000000000", .counter = 1, .before = "0000000000000000", .after = "4501000000000000"},
    // public test, believed to repeat the protocol examples of Doc 849 (its text was not at hand): github zariiii9003/autosar-e2e@750dbd89 test/test_p04.py
    {.profile = p04, .data_id = 0x0A0B0C0D, .counter = 0, .before = "00000000000000000000000000000000", .after = "001000000a0b0c0d862b055600000000"},
    {.profile = p04, .data_id = 0x0A0B0C0D, .counter = 1, .before = "00000000000000000000000000000000", .after = "001000010a0b0c0da58e680700000000"},
    {.profile = p04, .data_id = 0x0A0B0C0D, .counter = 0, .offset = 8, .before = "000000000000000000000000000000000000000000000000", .after = "0000000000000000001800000a0b0c0d69d7502e00000000"},
    // public test, believed to repeat the protocol examples of Doc 849 (its text was not at hand): github zariiii9003/autosar-e2e@750dbd89 test/test_p05.py
    {.profile = p05, .data_id = 0x1234, .counter = 0, .before = "0000000000000000", .after = "1cca000000000000"},
    {.profile = p05, .data_id = 0x1234, .counter = 1, .before = "0000000000000000", .after = "cf8d010000000000"},
    {.profile = p05, .data_id = 0x1234, .counter = 0, .offset = 8, .before = "00000000000000000000000000000000", .after = "00000000000000002891000000000000"},
    {.profile = p05, .data_id = 0x1234, .counter = 1, .offset = 8, .before = "00000000000000000000000000000000", .after = "0000000000000000fbd6010000000000"},
    // public test, believed to repeat the protocol examples of Doc 849 (its text was not at hand): github zariiii9003/autosar-e2e@750dbd89 test/test_p06.py
    {.profile = p06, .data_id = 0x1234, .counter = 1, .before = "0000000000000000", .after = "f4f5000801000000"},
    // public test, believed to repeat the protocol examples of Doc 849 (its text was not at hand): github zariiii9003/autosar-e2e@750dbd89 test/test_p07.py
    {.profile = p07, .data_id = 0x0A0B0C0D, .counter = 0, .offset = 8, .before = "0000000000000000000000000000000000000000000000000000000000000000", .after = "000000000000000017f7c817323865a800000020000000000a0b0c0d00000000"},
    // public test, believed to repeat the protocol examples of Doc 849 (its text was not at hand): github handohun/autosar-e2e src/profiles/profile8.rs
    {.profile = p08, .data_id = 0x0A0B0C0D, .counter = 0, .before = "0000000000000000000000000000000000000000", .after = "41494e5200000014000000000a0b0c0d00000000"},
    {.profile = p08, .data_id = 0x0A0B0C0D, .counter = 0, .offset = 8, .before = "00000000000000000000000000000000000000000000000000000000", .after = "0000000000000000e891e5a80000001c000000000a0b0c0d00000000"},
    // public test, believed to repeat the protocol examples of Doc 849 (its text was not at hand): github handohun/autosar-e2e src/profiles/profile11.rs
    {.profile = p11, .id_mode = both_bytes, .data_id = 0x0123, .counter = 1, .before = "0000000000000000", .after = "9101000000000000"},
    {.profile = p11, .id_mode = nibble, .data_id = 0x0123, .counter = 0, .before = "0000000000000000", .after = "2a10000000000000"},
    {.profile = p11, .id_mode = nibble, .data_id = 0x0123, .counter = 1, .before = "0000000000000000", .after = "7711000000000000"},
    {.profile = p11, .id_mode = nibble, .data_id = 0x0123, .counter = 0, .offset = 8, .before = "00000000000000000000000000000000", .after = "00000000000000007d10000000000000"},
    // public test, believed to repeat the protocol examples of Doc 849 (its text was not at hand): github handohun/autosar-e2e src/profiles/profile22.rs
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 0, .before = "0000000000000000", .after = "0e00000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 11, .before = "0000000000000000", .after = "370b000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 12, .before = "0000000000000000", .after = "0b0c000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 13, .before = "0000000000000000", .after = "1e0d000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 15, .before = "0000000000000000", .after = "cd0f000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 3, .before = "0000000000000000", .after = "3103000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 4, .before = "0000000000000000", .after = "0d04000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 6, .before = "0000000000000000", .after = "9b06000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 7, .before = "0000000000000000", .after = "6507000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 8, .before = "0000000000000000", .after = "0808000000000000"},
    {.profile = p22, .data_id_list = "0102030405060708090a0b0c0d0e0f10", .counter = 1, .offset = 8, .before = "00000000000000000000000000000000", .after = "00000000000000001401000000000000"},
};
// clang-format on

std::uint8_t nibble_value(char digit) {
    return static_cast<std::uint8_t>(digit <= '9' ? digit - '0' : digit - 'a' + 10);
}

Bytes from_hex(std::string_view hex) {
    Bytes bytes;
    for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
        bytes.push_back(static_cast<std::uint8_t>(16 * nibble_value(hex[i]) + nibble_value(hex[i + 1])));
    return bytes;
}

proto::CrcEngine engine_named(std::string_view name) {
    const auto* const crc = proto::find_crc(name);
    REQUIRE(crc != nullptr);
    return proto::CrcEngine::make(crc->spec).value();
}

std::uint8_t byte_of(std::uint64_t value, unsigned index) {
    return static_cast<std::uint8_t>((value >> (8 * index)) & 0xFF);
}

void put_high_first(Bytes& message, std::size_t at, std::uint64_t value, unsigned count) {
    for (unsigned i = 0; i < count; ++i) message.at(at + i) = byte_of(value, count - 1 - i);
}

void put_low_first(Bytes& message, std::size_t at, std::uint64_t value, unsigned count) {
    for (unsigned i = 0; i < count; ++i) message.at(at + i) = byte_of(value, i);
}

/// Where a profile keeps its check value.
struct Field {
    std::size_t at;
    std::size_t size;
};

/// Over `first`, the message without its check value, and `last`.
std::uint64_t check_value(const proto::CrcEngine& engine, const Bytes& first, std::span<const std::uint8_t> message,
                          Field left_out, const Bytes& last) {
    auto so_far = engine.feed(engine.start(), first);
    so_far = engine.feed(so_far, message.first(left_out.at));
    so_far = engine.feed(so_far, message.subspan(left_out.at + left_out.size));
    return engine.finish(engine.feed(so_far, last));
}

void put_counter_nibble(Bytes& message, std::size_t at, std::uint32_t counter) {
    message.at(at) = static_cast<std::uint8_t>((message.at(at) & 0xF0U) | (counter & 0x0FU));
}

Bytes covered_id_bytes(const ProtectedMessage& row) {
    const std::uint8_t low = byte_of(row.data_id, 0);
    const std::uint8_t high = byte_of(row.data_id, 1);
    switch (row.id_mode) {
        case none: return {};
        case both_bytes: return {low, high};
        case low_byte: return {low};
        case alternating: return {row.counter % 2 == 0 ? low : high};
        case nibble: return {low, 0x00};  // the high byte's low nibble is sent, in the message itself
    }
    return {};
}

/// Profiles 1 and 11: check value, then a byte of data id nibble and counter. The id goes in before the message.
/// Polynomial 0x1D with neither initial value nor final xor: CRC-8/GSM-A, not CRC-8/SAE-J1850.
void protect_with_id_before(Bytes& message, const ProtectedMessage& row) {
    put_counter_nibble(message, row.offset + 1, row.counter);
    if (row.id_mode == nibble) {
        const unsigned id_nibble = byte_of(row.data_id, 1) & 0x0FU;
        message.at(row.offset + 1) = static_cast<std::uint8_t>((message.at(row.offset + 1) & 0x0FU) | (id_nibble << 4));
    }
    message.at(row.offset) =
        byte_of(check_value(engine_named("CRC-8/GSM-A"), covered_id_bytes(row), message, {row.offset, 1}, {}), 0);
}

/// Profiles 2 and 22: check value, counter nibble; after the message the id byte that belongs to the counter.
void protect_with_id_list(Bytes& message, const ProtectedMessage& row) {
    put_counter_nibble(message, row.offset + 1, row.counter);
    const Bytes ids = from_hex(row.data_id_list);
    message.at(row.offset) =
        byte_of(check_value(engine_named("CRC-8/AUTOSAR"), {}, message, {row.offset, 1}, {ids.at(row.counter)}), 0);
}

/// Profile 4: length (2 bytes), counter (2), data id (4), check value (4).
void protect_p04(Bytes& message, const ProtectedMessage& row) {
    put_high_first(message, row.offset, message.size(), 2);
    put_high_first(message, row.offset + 2, row.counter, 2);
    put_high_first(message, row.offset + 4, row.data_id, 4);
    const Field field{row.offset + 8, 4};
    put_high_first(message, field.at, check_value(engine_named("CRC-32/AUTOSAR"), {}, message, field, {}), 4);
}

/// Profile 5: check value (2 bytes, low first), counter (1); after the message the id, low byte first.
void protect_p05(Bytes& message, const ProtectedMessage& row) {
    message.at(row.offset + 2) = byte_of(row.counter, 0);
    const Field field{row.offset, 2};
    const Bytes id{byte_of(row.data_id, 0), byte_of(row.data_id, 1)};
    put_low_first(message, field.at, check_value(engine_named("CRC-16/IBM-3740"), {}, message, field, id), 2);
}

/// Profile 6: check value (2 bytes), length (2), counter (1); after the message the id, high byte first.
void protect_p06(Bytes& message, const ProtectedMessage& row) {
    put_high_first(message, row.offset + 2, message.size(), 2);
    message.at(row.offset + 4) = byte_of(row.counter, 0);
    const Field field{row.offset, 2};
    const Bytes id{byte_of(row.data_id, 1), byte_of(row.data_id, 0)};
    put_high_first(message, field.at, check_value(engine_named("CRC-16/IBM-3740"), {}, message, field, id), 2);
}

/// Profiles 7 and 8: check value (8 or 4 bytes), length (4), counter (4), data id (4).
void protect_with_long_header(Bytes& message, const ProtectedMessage& row, std::string_view crc) {
    const proto::CrcEngine engine = engine_named(crc);
    const Field field{row.offset, engine.value_bytes()};
    const std::size_t next = field.at + field.size;
    put_high_first(message, next, message.size(), 4);
    put_high_first(message, next + 4, row.counter, 4);
    put_high_first(message, next + 8, row.data_id, 4);
    put_high_first(message, field.at, check_value(engine, {}, message, field, {}), engine.value_bytes());
}

Bytes protect(const ProtectedMessage& row) {
    Bytes message = from_hex(row.before);
    switch (row.profile) {
        case p01:
        case p11: protect_with_id_before(message, row); break;
        case p02:
        case p22: protect_with_id_list(message, row); break;
        case p04: protect_p04(message, row); break;
        case p05: protect_p05(message, row); break;
        case p06: protect_p06(message, row); break;
        case p07: protect_with_long_header(message, row, "CRC-64/XZ"); break;
        case p08: protect_with_long_header(message, row, "CRC-32/AUTOSAR"); break;
    }
    return message;
}

}  // namespace

TEST_CASE("published end-to-end messages come out bit for bit") {
    std::array<unsigned, 9> rows_of_profile{};
    for (const ProtectedMessage& row : published) {
        CAPTURE(static_cast<unsigned>(row.profile));
        CAPTURE(row.counter);
        CAPTURE(row.after);
        CHECK(protect(row) == from_hex(row.after));
        ++rows_of_profile.at(static_cast<std::size_t>(row.profile));
    }
    for (const unsigned rows : rows_of_profile) CHECK(rows > 0);
}
