#include "proto/crc.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <random>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "proto/crc_catalogue.hpp"
#include "proto/crc_faults.hpp"
#include "tests/support/slow_crc.hpp"

namespace {

using proto::CrcEngine;
using proto::CrcSpec;
using proto::CrcSpecError;

// Raw draws of std::mt19937_64 are the same everywhere by the C++ standard; its distributions are not, so none is used.
using Draws = std::mt19937_64;

std::uint64_t low_bits(std::uint64_t value, unsigned count) {
    return count == 64 ? value : value & ((std::uint64_t{1} << count) - 1);
}

std::vector<std::uint8_t> random_message(Draws& draws, std::size_t length) {
    std::vector<std::uint8_t> message(length);
    for (std::uint8_t& byte : message) byte = static_cast<std::uint8_t>(draws() >> 56);
    return message;
}

struct Reflection {
    bool in;
    bool out;
};
constexpr std::array<Reflection, 4> reflections{{{false, false}, {false, true}, {true, false}, {true, true}}};

CrcSpec random_spec(Draws& draws, unsigned width, Reflection reflection) {
    return {.width = width,
            .polynomial = low_bits(draws(), width) | 1,
            .initial = low_bits(draws(), width),
            .reflect_in = reflection.in,
            .reflect_out = reflection.out,
            .final_xor = low_bits(draws(), width)};
}

/// Every width with every reflection, three random sets of the other parameters each.
template <class Visit>
void for_random_engines(std::uint64_t seed, Visit visit) {
    Draws draws(seed);
    for (unsigned width = 8; width <= 64; ++width) {
        for (const Reflection reflection : reflections) {
            for (int repeat = 0; repeat < 3; ++repeat) {
                const CrcSpec spec = random_spec(draws, width, reflection);
                CAPTURE(spec.width);
                CAPTURE(spec.polynomial);
                CAPTURE(spec.initial);
                CAPTURE(spec.reflect_in);
                CAPTURE(spec.reflect_out);
                CAPTURE(spec.final_xor);
                const auto engine = CrcEngine::make(spec);
                REQUIRE(engine.ok());
                CHECK_FALSE(proto::fault_in(spec).has_value());
                visit(engine.value(), draws);
            }
        }
    }
}

std::span<const std::uint8_t> bytes_of(std::string_view text, std::vector<std::uint8_t>& into) {
    into.assign(text.begin(), text.end());
    return into;
}

CrcSpec good_spec() { return {.width = 12, .polynomial = 0x80F, .initial = 0xFFF, .final_xor = 0xFFF}; }

void check_refused(const CrcSpec& spec, CrcSpecError reason) {
    const auto engine = CrcEngine::make(spec);
    REQUIRE_FALSE(engine.ok());
    CHECK(engine.error() == reason);
    CHECK(proto::fault_in(spec) == reason);
}

}  // namespace

TEST_CASE("the engine agrees with long division at every width, reflection and length") {
    for_random_engines(0xC0FFEE, [](const CrcEngine& engine, Draws& draws) {
        for (std::size_t length = 0; length <= 20; ++length) {
            const auto message = random_message(draws, length);
            CAPTURE(length);
            CHECK(engine.over(message) == tests::slow_crc(engine.spec(), message));
        }
        const auto message = random_message(draws, 21 + draws() % 50);
        CHECK(engine.over(message) == tests::slow_crc(engine.spec(), message));
    });
}

TEST_CASE("a message may be fed in pieces split anywhere") {
    for_random_engines(0x5EED, [](const CrcEngine& engine, Draws& draws) {
        const auto message = random_message(draws, 27);
        const std::span<const std::uint8_t> all = message;
        const std::uint64_t whole = engine.over(all);
        CHECK(whole == tests::slow_crc(engine.spec(), message));
        for (std::size_t split = 0; split <= all.size(); ++split) {
            const auto first = engine.feed(engine.start(), all.first(split));
            if (engine.finish(engine.feed(first, all.subspan(split))) != whole)
                FAIL_CHECK("split after byte " << split);
        }
        auto byte_by_byte = engine.start();
        for (std::size_t at = 0; at < all.size(); ++at) byte_by_byte = engine.feed(byte_by_byte, all.subspan(at, 1));
        CHECK(engine.finish(byte_by_byte) == whole);
        auto in_thirteens = engine.start();
        for (std::size_t at = 0; at < all.size(); at += 13)
            in_thirteens = engine.feed(in_thirteens, all.subspan(at, std::min<std::size_t>(13, all.size() - at)));
        CHECK(engine.finish(in_thirteens) == whole);
    });
}

TEST_CASE("where the message lies in memory does not matter") {
    Draws draws(77);
    const CrcEngine engine = CrcEngine::make(random_spec(draws, 24, {false, false})).value();
    const auto message = random_message(draws, 40);
    const std::uint64_t expected = tests::slow_crc(engine.spec(), message);
    for (std::size_t shift = 0; shift < 16; ++shift) {
        std::vector<std::uint8_t> shifted(shift, 0xEE);
        shifted.insert(shifted.end(), message.begin(), message.end());
        CHECK(engine.over(std::span<const std::uint8_t>(shifted).subspan(shift)) == expected);
    }
}

TEST_CASE("an empty message leaves the initial value") {
    for_random_engines(3, [](const CrcEngine& engine, Draws& /*draws*/) {
        const CrcSpec& spec = engine.spec();
        const std::uint64_t initial = spec.reflect_out ? proto::reversed_bits(spec.initial, spec.width) : spec.initial;
        CHECK(engine.over({}) == (initial ^ spec.final_xor));
    });
}

TEST_CASE("a copy and a handed-on engine go on working, and so does the original") {
    CrcEngine original = CrcEngine::make(proto::find_crc("CRC-32/ISCSI")->spec).value();
    const CrcEngine copy = original;
    const CrcEngine handed_on = std::move(original);  // NOLINT(performance-move-const-arg): what a move does
    std::vector<std::uint8_t> digits;
    bytes_of("123456789", digits);
    CHECK(copy.over(digits) == 0xE3069283);
    CHECK(handed_on.over(digits) == 0xE3069283);
    CHECK(original.over(digits) == 0xE3069283);  // NOLINT(bugprone-use-after-move): promised in crc.hpp
}

TEST_CASE("a value takes whole bytes") {
    const auto bytes_at = [](unsigned width) {
        return CrcEngine::make({.width = width, .polynomial = 1}).value().value_bytes();
    };
    CHECK(bytes_at(8) == 1);
    CHECK(bytes_at(9) == 2);
    CHECK(bytes_at(16) == 2);
    CHECK(bytes_at(24) == 3);
    CHECK(bytes_at(25) == 4);
    CHECK(bytes_at(57) == 8);
    CHECK(bytes_at(64) == 8);
}

TEST_CASE("bits are reversed within the count asked for") {
    CHECK(proto::reversed_bits(0x1, 1) == 0x1);
    CHECK(proto::reversed_bits(0x1, 8) == 0x80);
    CHECK(proto::reversed_bits(0x4C11DB7, 32) ==
          0xEDB88320);  // the usual spelling of this polynomial in reflected code
    CHECK(proto::reversed_bits(0x1, 64) == 0x8000000000000000);
    CHECK(proto::reversed_bits(0xFF01, 8) == 0x80);
}

TEST_CASE("make accepts what the widths allow and names what it refuses") {
    CHECK(CrcEngine::make(good_spec()).ok());

    for (const unsigned width : {0U, 1U, 7U, 65U, 4294967295U}) {
        CAPTURE(width);
        check_refused({.width = width, .polynomial = 1}, CrcSpecError::width_out_of_range);
    }
    CrcSpec spec = good_spec();
    spec.polynomial = 0x1001;
    check_refused(spec, CrcSpecError::polynomial_too_wide);
    spec = good_spec();
    spec.polynomial = 0x80E;
    check_refused(spec, CrcSpecError::polynomial_without_one);
    spec.polynomial = 0;
    check_refused(spec, CrcSpecError::polynomial_without_one);
    spec = good_spec();
    spec.initial = 0x1000;
    check_refused(spec, CrcSpecError::initial_too_wide);
    spec = good_spec();
    spec.final_xor = 0x1000;
    check_refused(spec, CrcSpecError::final_xor_too_wide);

    constexpr std::uint64_t ones = ~std::uint64_t{0};
    CHECK(CrcEngine::make({.width = 64, .polynomial = ones, .initial = ones, .final_xor = ones}).ok());
    check_refused({.width = 63, .polynomial = ones}, CrcSpecError::polynomial_too_wide);
    check_refused({.width = 63, .polynomial = 1, .initial = ones}, CrcSpecError::initial_too_wide);
    check_refused({.width = 63, .polynomial = 1, .final_xor = ones}, CrcSpecError::final_xor_too_wide);
}

TEST_CASE("the catalogue is in order of width, then name, and no name comes twice") {
    const auto all = proto::crc_catalogue();
    REQUIRE(all.size() >= 60);
    std::set<std::string_view> names;
    for (std::size_t i = 0; i < all.size(); ++i) {
        CAPTURE(all[i].name);
        CHECK(names.insert(all[i].name).second);
        if (i == 0) continue;
        const bool ordered = all[i - 1].spec.width != all[i].spec.width ? all[i - 1].spec.width < all[i].spec.width
                                                                        : all[i - 1].name < all[i].name;
        CHECK(ordered);
    }
}

TEST_CASE("a catalogue name tells its width, and its parameters make an engine that gives its check value") {
    std::vector<std::uint8_t> digits;
    bytes_of("123456789", digits);
    for (const proto::NamedCrc& crc : proto::crc_catalogue()) {
        CAPTURE(crc.name);
        CHECK(crc.name.substr(0, crc.name.find('/')) == "CRC-" + std::to_string(crc.spec.width));
        const auto engine = CrcEngine::make(crc.spec);
        REQUIRE(engine.ok());
        CHECK(engine.value().over(digits) == crc.check);
        CHECK(tests::slow_crc(crc.spec, digits) == crc.check);
    }
}

TEST_CASE("a CRC is found by its exact name only") {
    for (const proto::NamedCrc& crc : proto::crc_catalogue()) CHECK(proto::find_crc(crc.name) == &crc);
    CHECK(proto::find_crc("") == nullptr);
    CHECK(proto::find_crc("CRC-32") == nullptr);
    CHECK(proto::find_crc("crc-32/iscsi") == nullptr);
    CHECK(proto::find_crc("CRC-32/ISCSI ") == nullptr);
}

TEST_CASE("the nearest name forgives case and slips") {
    for (const proto::NamedCrc& crc : proto::crc_catalogue()) CHECK(proto::nearest_crc_name(crc.name) == crc.name);
    CHECK(proto::nearest_crc_name("crc-32/iscsi") == "CRC-32/ISCSI");
    CHECK(proto::nearest_crc_name("CRC-32/ISCI") == "CRC-32/ISCSI");
    CHECK(proto::nearest_crc_name("CRC16/XMODM") == "CRC-16/XMODEM");
    CHECK(proto::nearest_crc_name("CRC-24/FLEXRAY-C").substr(0, 15) == "CRC-24/FLEXRAY-");
    CHECK(proto::find_crc(proto::nearest_crc_name("")) != nullptr);
    CHECK(proto::find_crc(proto::nearest_crc_name(std::string(1'000'000, 'x'))) != nullptr);
}
