#include "sim/roundtrips/measuring_datagram.hpp"

#include <doctest/doctest.h>

#include <vector>

namespace {

using sim::MeasuringDatagram;
using Kind = MeasuringDatagram::Kind;

std::vector<std::uint8_t> bytes_of(const MeasuringDatagram& datagram, std::size_t size) {
    std::vector<std::uint8_t> bytes(size, 0xFF);
    sim::encode(datagram, bytes);
    return bytes;
}

TEST_CASE("a measuring datagram has each number where its comment says, the highest byte first") {
    const MeasuringDatagram datagram{Kind::answer, 0x01020304, 0x05060708, {0x090A0B0C0D}};
    const std::vector<std::uint8_t> expected{0x4C, 0x44, 0x12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 0xA5, 0xA5};
    CHECK(bytes_of(datagram, expected.size()) == expected);
}

TEST_CASE("what is written as a measuring datagram is read back, whatever its size") {
    for (const Kind kind : {Kind::ask, Kind::answer, Kind::busy, Kind::farewell})
        for (std::size_t size = MeasuringDatagram::bytes_least; size <= MeasuringDatagram::bytes_most; ++size) {
            const MeasuringDatagram datagram{kind, 0xFFFFFFFF, 86'399'999, {kind == Kind::answer ? 123 : 0}};
            const auto read = sim::decode_measuring(bytes_of(datagram, size));
            REQUIRE(read);
            CHECK(*read == datagram);
        }
}

TEST_CASE("a time longer than an answer can carry is written as the longest, and one below 0 as 0") {
    const auto after = [](std::int64_t ns) {
        return sim::decode_measuring(bytes_of({Kind::answer, 1, 1, {ns}}, 16))->answered_after;
    };
    CHECK(after(sim::answered_after_most.ns) == sim::answered_after_most);
    CHECK(after(sim::answered_after_most.ns + 1) == sim::answered_after_most);
    CHECK(after(-1) == proto::Duration{});
}

TEST_CASE("a measuring datagram of another size, mark, version, kind or filling is nobody's") {
    const std::vector<std::uint8_t> right = bytes_of({Kind::ask, 7, 3, {}}, 19);
    CHECK(sim::decode_measuring(right));
    const std::span<const std::uint8_t> all(right);
    for (std::size_t size = 0; size < MeasuringDatagram::bytes_least; ++size)
        CHECK_FALSE(sim::decode_measuring(all.first(size)));
    std::vector<std::uint8_t> longer = right;
    longer.resize(MeasuringDatagram::bytes_most + 1, 0xA5);
    CHECK_FALSE(sim::decode_measuring(longer));
    longer.pop_back();
    CHECK(sim::decode_measuring(longer));
    // each bit that is not of run or number; an ask has lain nowhere
    for (std::size_t byte = 0; byte < right.size(); ++byte)
        for (unsigned bit = 0; bit < 8; ++bit) {
            std::vector<std::uint8_t> bent = right;
            bent[byte] ^= static_cast<std::uint8_t>(1U << bit);
            const auto read = sim::decode_measuring(bent);
            const bool number = byte >= 3 && byte < 11;
            const bool other_kind = byte == 2 && read && read->kind != Kind::ask;
            CHECK((number || other_kind) == read.has_value());
        }
}

}  // namespace
