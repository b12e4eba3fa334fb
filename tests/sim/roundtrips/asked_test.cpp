#include "sim/roundtrips/asked.hpp"

#include <doctest/doctest.h>

#include <vector>

namespace {

using proto::Duration;
using proto::microseconds;
using proto::milliseconds;
using proto::seconds;
using sim::Asked;
using sim::MeasuringDatagram;
using Kind = MeasuringDatagram::Kind;
using Heard = sim::Asked::Heard;

constexpr std::uint32_t run = 77;
constexpr Duration wait = seconds(2);

std::vector<std::uint8_t> bytes_of(Kind kind, std::uint32_t of_run, std::uint32_t number, Duration after = {}) {
    std::vector<std::uint8_t> bytes(19);
    sim::encode({kind, of_run, number, after}, bytes);
    return bytes;
}

/// Numbers 0 to count - 1, sent every 10 ms, each 0.1 ms late.
Asked asked(std::uint32_t count) {
    Asked books(run, wait, count);
    for (std::uint32_t i = 0; i < count; ++i) {
        CHECK(books.next() == MeasuringDatagram{Kind::ask, run, i, {}});
        books.sent(milliseconds(10) * i, microseconds(100));
    }
    return books;
}

Heard answer(Asked& books, std::uint32_t number, Duration at, Duration after = {}) {
    return books.hear(bytes_of(Kind::answer, run, number, after), at);
}

TEST_CASE("the time on the line is from sending to arrival without the time at the other computer") {
    Asked books = asked(3);
    CHECK(answer(books, 1, milliseconds(10) + microseconds(900), microseconds(250)) == Heard::answer);
    CHECK(books.open() == 2);
    const sim::RoundTrips trips = books.finish();
    REQUIRE(trips.sent.size() == 3);
    CHECK(trips.sent[1].line == microseconds(650));
    CHECK(trips.sent[1].answered_after == microseconds(250));
    CHECK(trips.sent[1].own_lateness == microseconds(100));
    CHECK(trips.sent[1].at == milliseconds(10));
    CHECK_FALSE(trips.sent[0].answered());
    CHECK_FALSE(trips.sent[2].answered());
}

TEST_CASE("of answers to one number the first counts") {
    Asked books = asked(2);
    CHECK(answer(books, 0, milliseconds(1)) == Heard::answer);
    CHECK(answer(books, 0, milliseconds(3)) == Heard::repeated);
    CHECK(answer(books, 0, milliseconds(4)) == Heard::repeated);
    CHECK(books.open() == 1);
    const sim::RoundTrips trips = books.finish();
    CHECK(trips.duplicated == 2);
    CHECK(trips.reordered == 0);
    CHECK(trips.sent[0].line == milliseconds(1));
}

TEST_CASE("out of order is each answer that comes after that to a later number, and no repetition") {
    Asked books = asked(6);
    for (const std::uint32_t number : {0U, 3U, 1U, 2U, 5U, 3U}) answer(books, number, milliseconds(60));
    const sim::RoundTrips trips = books.finish();
    CHECK(trips.reordered == 2);  // 1 and 2, after 3
    CHECK(trips.duplicated == 1);
    CHECK_FALSE(trips.sent[4].answered());
}

TEST_CASE("an answer later than the wait keeps its true time and is lost only if it never comes") {
    Asked books = asked(3);
    CHECK(answer(books, 0, wait) == Heard::answer);
    CHECK(answer(books, 1, milliseconds(10) + wait + Duration{1}) == Heard::answer);
    const sim::RoundTrips trips = books.finish();
    CHECK(trips.after_wait == 1);
    CHECK(trips.sent[0].line == wait);
    CHECK(trips.sent[1].line == wait + Duration{1});
    CHECK_FALSE(trips.sent[2].answered());
}

TEST_CASE("what is not an answer to something that was sent in this run is a stranger's") {
    Asked books = asked(2);
    const std::vector<std::vector<std::uint8_t>> strangers{
        bytes_of(Kind::answer, run + 1, 0),  // of an earlier run
        bytes_of(Kind::answer, run, 2),      // never sent
        bytes_of(Kind::ask, run, 0),         // our own, thrown back
        bytes_of(Kind::farewell, run, 0),   std::vector<std::uint8_t>(19), {}};
    std::uint64_t count = 0;
    for (const auto& each : strangers) {
        CHECK(books.hear(each, milliseconds(20)) == Heard::stranger);
        CHECK(books.so_far().strangers == ++count);
    }
    CHECK(answer(books, 1, milliseconds(9)) == Heard::stranger);  // before it was sent
    books.stranger();
    CHECK(books.so_far().strangers == count + 2);
    CHECK(books.open() == 2);
}

TEST_CASE("a time at the other computer that cannot be true is not taken off") {
    Asked books = asked(1);
    CHECK(answer(books, 0, milliseconds(3), milliseconds(4)) == Heard::answer);
    const sim::RoundTrips trips = books.finish();
    CHECK(trips.unbelieved == 1);
    CHECK(trips.sent[0].line == milliseconds(3));
    CHECK(trips.sent[0].answered_after == Duration{});
}

TEST_CASE("what was refused was not lost: it is forgotten from its number on") {
    Asked books = asked(5);
    answer(books, 0, milliseconds(1));
    CHECK(books.hear(bytes_of(Kind::busy, run, 2), milliseconds(30)) == Heard::busy);
    CHECK(books.refused() == 2);
    books.forget_from(books.refused());
    CHECK(books.open() == 1);  // number 1 is still awaited
    CHECK(books.count() == 2);
    books.forget_from(7);
    CHECK(books.count() == 2);
    CHECK(books.hear(bytes_of(Kind::busy, run, 2), milliseconds(30)) == Heard::stranger);
}

TEST_CASE("a run takes 32 bytes for each number, and what was not sent is counted beside them") {
    static_assert(sizeof(sim::RoundTrip) == 32);
    Asked books(run, wait, 1'000'000);
    const sim::RoundTrip* room = books.so_far().sent.data();
    for (std::uint32_t i = 0; i < 1'000'000; ++i) books.sent(Duration{i}, {});
    CHECK(books.so_far().sent.data() == room);
    books.not_sent(3);
    books.not_sent(4);
    CHECK(books.so_far().not_sent == 7);
    CHECK(books.count() == 1'000'000);
}

}  // namespace
