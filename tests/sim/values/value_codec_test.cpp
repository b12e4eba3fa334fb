// Between bytes and values: every type in every order, against a reference that reckons digit by digit.
#include "sim/scenario/value_codec.hpp"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "sim/numeric/random.hpp"
#include "tests/support/slow_values.hpp"

namespace {

using sim::SafeEnd;
using sim::TypedValue;
using sim::ValueOrder;
using sim::ValueType;
using sim::ValueUnit;

constexpr ValueType types[] = {ValueType::u8, ValueType::u16, ValueType::i16, ValueType::u32, ValueType::i32};
constexpr ValueOrder orders[] = {ValueOrder::high_first, ValueOrder::low_first, ValueOrder::word_swapped};

bool possible(ValueType type, ValueOrder order) {
    return order != ValueOrder::word_swapped || type == ValueType::u32 || type == ValueType::i32;
}

std::vector<std::int64_t> extremes_of(ValueType type) {
    switch (type) {
        case ValueType::u8: return {0, 1, 127, 128, 254, 255};
        case ValueType::u16: return {0, 1, 255, 256, 32767, 32768, 65534, 65535};
        case ValueType::i16: return {-32768, -32767, -256, -255, -1, 0, 1, 255, 256, 32766, 32767};
        case ValueType::u32: return {0, 1, 255, 65535, 65536, 2147483647, 2147483648, 4294967294, 4294967295};
        case ValueType::i32: return {-2147483648, -2147483647, -65537, -65536, -1, 0, 1, 65535, 65536, 2147483647};
    }
    return {};
}

void check_count(ValueType type, ValueOrder order, unsigned at, std::int64_t count, std::uint8_t filler) {
    CAPTURE(name_of(type));
    CAPTURE(name_of(order));
    CAPTURE(at);
    CAPTURE(count);
    constexpr unsigned bytes = 11;
    const TypedValue typed{type, at, order, 1, {}};
    const std::vector<std::uint8_t> expected = tests::slow_payload(type, order, at, count, bytes, filler);
    std::vector<std::uint8_t> written(bytes, filler);
    sim::put_count(typed, count, written);
    CHECK(written == expected);  // and no byte beside it was touched
    CHECK(sim::count_in(typed, expected) == count);
    CHECK(tests::slow_count(type, order, at, written) == count);
}

TEST_CASE("a value of any type and order is written and read as the reference does, at its extremes too") {
    for (const ValueType type : types)
        for (const ValueOrder order : orders) {
            if (!possible(type, order)) continue;
            for (const unsigned at : {0U, 1U, 7U})
                for (const std::int64_t count : extremes_of(type))
                    for (const unsigned filler : {0x00U, 0xFFU, 0xA5U})
                        check_count(type, order, at, count, static_cast<std::uint8_t>(filler));
            CHECK(extremes_of(type).front() == sim::lowest_count(type));
            CHECK(extremes_of(type).back() == sim::highest_count(type));
        }
}

TEST_CASE("whatever bytes there are, what is read is what the reference reads") {
    std::uint64_t draw = 0;
    const sim::Random random(17, sim::Concern::trial);
    for (unsigned round = 0; round < 2000; ++round) {
        std::vector<std::uint8_t> payload(9);
        for (std::uint8_t& byte : payload) byte = static_cast<std::uint8_t>(random.at(draw++));
        const auto at = static_cast<unsigned>(random.at(draw++) % 6);
        for (const ValueType type : types)
            for (const ValueOrder order : orders)
                if (possible(type, order))
                    REQUIRE(sim::count_in({type, at, order, 1, {}}, payload) ==
                            tests::slow_count(type, order, at, payload));
    }
}

TEST_CASE("bytes are named from the most significant one on") {
    using Places = std::vector<unsigned>;
    CHECK(sim::bytes_from_the_highest({ValueType::u32, 3, ValueOrder::high_first, 1, {}}) == Places{3, 4, 5, 6});
    CHECK(sim::bytes_from_the_highest({ValueType::u32, 3, ValueOrder::low_first, 1, {}}) == Places{6, 5, 4, 3});
    CHECK(sim::bytes_from_the_highest({ValueType::i32, 3, ValueOrder::word_swapped, 1, {}}) == Places{5, 6, 3, 4});
    CHECK(sim::bytes_from_the_highest({ValueType::i16, 0, ValueOrder::low_first, 1, {}}) == Places{1, 0});
    CHECK(sim::bytes_from_the_highest({ValueType::u8, 2, ValueOrder::low_first, 1, {}}) == Places{2});
}

TEST_CASE("100 mm/s in counts of 1 mm/s, typed low byte first at one side, reads 25 600 mm/s") {
    const TypedValue sent{ValueType::u16, 2, ValueOrder::high_first, 1'000, {}};
    TypedValue read = sent;
    read.order = ValueOrder::low_first;
    std::vector<std::uint8_t> payload(6);
    sim::put_count(sent, sim::count_of(sent, 100'000, SafeEnd::low), payload);
    CHECK(sim::in_words(sim::quantity_in(read, payload), ValueUnit::speed) == "25600 mm/s");
}

TEST_CASE("a quantity between two counts goes to the one that permits less, below 0 too") {
    const TypedValue tens{ValueType::i16, 0, ValueOrder::high_first, 10, {}};
    CHECK(sim::count_of(tens, 29, SafeEnd::low) == 2);
    CHECK(sim::count_of(tens, 29, SafeEnd::high) == 3);
    CHECK(sim::count_of(tens, -29, SafeEnd::low) == -3);
    CHECK(sim::count_of(tens, -29, SafeEnd::high) == -2);
    for (const SafeEnd safe : {SafeEnd::low, SafeEnd::high})
        for (const std::int64_t whole : {-30, 0, 30}) CHECK(sim::count_of(tens, whole, safe) * 10 == whole);
}

TEST_CASE("quantities are told exactly, with the decimals that they have") {
    CHECK(sim::in_words(12'500, ValueUnit::speed) == "12.5 mm/s");
    CHECK(sim::in_words(-1, ValueUnit::length) == "-0.001 mm");
    CHECK(sim::in_words(0, ValueUnit::angle) == "0 deg");
    CHECK(sim::in_words(1'050'000, ValueUnit::none) == "1.05");
    CHECK(sim::in_words(2'000'001, ValueUnit::duration) == "2.000001 ms");
    CHECK(sim::in_words(9'806'650, ValueUnit::acceleration) == "9806.65 mm/s2");
}

}  // namespace
