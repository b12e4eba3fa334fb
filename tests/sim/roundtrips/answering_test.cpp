#include "sim/roundtrips/answering.hpp"

#include <doctest/doctest.h>

#include <vector>

namespace {

using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using sim::Answering;
using sim::MeasuringDatagram;
using Kind = MeasuringDatagram::Kind;

const sim::SocketAddress first = sim::ipv4({192, 0, 2, 1}, 5000), second = sim::ipv4({192, 0, 2, 2}, 5000);

std::vector<std::uint8_t> bytes_of(Kind kind, std::uint32_t run, std::uint32_t number) {
    std::vector<std::uint8_t> bytes(19);
    sim::encode({kind, run, number, {}}, bytes);
    return bytes;
}

Instant at(proto::Duration since) { return Instant{} + since; }

TEST_CASE("an ask is answered with its own number and run, and twice where it comes twice") {
    Answering answering;
    for (int i = 0; i < 2; ++i) {
        const auto reply = answering.hear(first, bytes_of(Kind::ask, 9, 4), at(seconds(1)));
        REQUIRE(reply);
        CHECK(*reply == MeasuringDatagram{Kind::answer, 9, 4, {}});
    }
    CHECK(answering.counts().answered == 2);
    CHECK(answering.counts().askers == 1);
}

TEST_CASE("nothing but a well-formed ask is ever answered") {
    Answering answering;
    REQUIRE(answering.hear(first, bytes_of(Kind::ask, 9, 0), at({})));
    std::uint64_t strangers = 0;
    for (const Kind kind : {Kind::answer, Kind::busy}) {
        CHECK_FALSE(answering.hear(first, bytes_of(kind, 9, 1), at({})));
        CHECK(answering.counts().strangers == ++strangers);
    }
    std::vector<std::uint8_t> cut = bytes_of(Kind::ask, 9, 1);
    cut.resize(12);
    for (const std::vector<std::uint8_t>& foreign : {cut, std::vector<std::uint8_t>{}, std::vector<std::uint8_t>(40)}) {
        CHECK_FALSE(answering.hear(first, foreign, at({})));
        CHECK(answering.counts().strangers == ++strangers);
    }
    CHECK_FALSE(answering.hear(second, bytes_of(Kind::farewell, 9, 0), at({})));  // not the one who asks
    CHECK(answering.counts().strangers == ++strangers);
    CHECK(answering.asker() == Answering::Asker{first, 9});
    CHECK(answering.counts().answered == 1);
}

TEST_CASE("one asker at a time: another computer, port or run is told that somebody else is answered") {
    sim::SocketAddress other_port = first;
    ++other_port.port;
    Answering answering;
    REQUIRE(answering.hear(first, bytes_of(Kind::ask, 9, 0), at({})));
    std::uint64_t refused = 0;
    for (const auto& [from, run] : {std::pair{second, 9U}, {other_port, 9U}, {first, 10U}}) {
        const auto reply = answering.hear(from, bytes_of(Kind::ask, run, 5), at(seconds(1)));
        REQUIRE(reply);
        CHECK(*reply == MeasuringDatagram{Kind::busy, run, 5, {}});
        CHECK(answering.counts().refused == ++refused);
    }
    CHECK(answering.hear(first, bytes_of(Kind::ask, 9, 1), at(seconds(2)))->kind == Kind::answer);
    CHECK(answering.counts().askers == 1);
}

TEST_CASE("who was silent for long enough makes room, and refused asks do not keep his place") {
    Answering answering;
    REQUIRE(answering.hear(first, bytes_of(Kind::ask, 9, 0), at({})));
    REQUIRE(answering.hear(first, bytes_of(Kind::ask, 9, 1), at(seconds(10))));
    const Instant free = at(seconds(10) + sim::asker_is_gone_after);
    CHECK(answering.hear(second, bytes_of(Kind::ask, 8, 0), at(seconds(12)))->kind == Kind::busy);
    CHECK(answering.hear(second, bytes_of(Kind::ask, 8, 1), free - milliseconds(1))->kind == Kind::busy);
    CHECK(answering.hear(second, bytes_of(Kind::ask, 8, 2), free)->kind == Kind::answer);
    // and now the first one is the other one
    CHECK(answering.hear(first, bytes_of(Kind::ask, 9, 2), free)->kind == Kind::busy);
    CHECK(answering.counts().askers == 2);
}

TEST_CASE("a farewell makes room at once and is not answered") {
    Answering answering;
    REQUIRE(answering.hear(first, bytes_of(Kind::ask, 9, 0), at({})));
    CHECK_FALSE(answering.hear(first, bytes_of(Kind::farewell, 9, 1), at(milliseconds(1))));
    CHECK_FALSE(answering.asker());
    CHECK(answering.counts().strangers == 0);
    CHECK(answering.hear(second, bytes_of(Kind::ask, 8, 0), at(milliseconds(2)))->kind == Kind::answer);
}

}  // namespace
