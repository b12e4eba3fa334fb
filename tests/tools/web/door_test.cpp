// Who is let in by the head of a request alone.
#include <doctest/doctest.h>

#include "tools/web/crowd.hpp"
#include "tools/web/door.hpp"

namespace {

using tools::Crowd;

tools::WebHead head(std::vector<std::pair<std::string, std::string>> headers, std::string method = "POST") {
    headers.insert(headers.begin(), {"host", "127.0.0.1:8080"});
    return {.method = std::move(method), .target = "/api/join", .headers = std::move(headers)};
}
int status_of(const tools::WebHead& head, const std::string& bound = "127.0.0.1") {
    const auto away = tools::turned_away({.bound = bound, .port = 8080}, head);
    return away ? away->status : 200;
}

}  // namespace

TEST_CASE("a request is told once how long it is, in digits, and not in pieces") {
    CHECK(status_of(head({{"content-length", "5"}})) == 200);
    CHECK(status_of(head({})) == 200);
    CHECK(status_of(head({{"transfer-encoding", "chunked"}})) == 411);
    CHECK(status_of(head({{"transfer-encoding", "identity"}, {"content-length", "5"}})) == 411);
    CHECK(status_of(head({{"content-length", "5"}, {"content-length", "5"}})) == 400);
    for (const char* length : {"", "+5", "-5", "5 ", "0x5", "5,5"})
        CHECK(status_of(head({{"content-length", length}})) == 400);
    CHECK(status_of(head({{"content-length", "16384"}})) == 200);
    CHECK(status_of(head({{"content-length", "16385"}})) == 413);
    CHECK(status_of(head({{"content-length", "99999999999999999999"}})) == 413);
}

TEST_CASE("only this host, its own pages and methods that are known") {
    CHECK(status_of({.method = "GET", .target = "/", .headers = {}}) == 421);
    for (const char* host : {"evil.example:8080", "127.0.0.1:1", "127.0.0.1", "", "127.0.0.1.evil.example:8080"})
        CHECK(status_of({.method = "GET", .target = "/", .headers = {{"host", host}}}) == 421);
    CHECK(status_of(head({{"host", "127.0.0.1:8080"}})) == 421);
    CHECK(status_of({.method = "GET", .target = "/", .headers = {{"host", "192.0.2.9:8080"}}}) == 421);
    CHECK(status_of({.method = "GET", .target = "/", .headers = {{"host", "192.0.2.9:8080"}}}, "0.0.0.0") == 200);
    CHECK(status_of({.method = "GET", .target = "/", .headers = {{"host", "name.example:8080"}}}, "0.0.0.0") == 421);
    CHECK(status_of(head({{"origin", "http://127.0.0.1:8080"}})) == 200);
    for (const char* origin : {"http://evil.example", "null", "https://127.0.0.1:8080"})
        CHECK(status_of(head({{"origin", origin}})) == 403);
    for (const char* method : {"PUT", "TRACE", "OPTIONS", "DELETE", "get"}) CHECK(status_of(head({}, method)) == 405);
    CHECK(status_of({.method = "GET", .target = "http://x/", .headers = {{"host", "127.0.0.1:8080"}}}) == 400);
}

TEST_CASE("fields of a form are read as they were written") {
    std::vector<std::pair<std::string, std::string>> fields;
    tools::read_fields("a=1&b=x+y%26&c&=d&&e=%zz%4", fields);
    const std::vector<std::pair<std::string, std::string>> expected{
        {"a", "1"}, {"b", "x y&"}, {"c", ""}, {"", "d"}, {"e", "%zz%4"}};
    CHECK(fields == expected);
    CHECK(tools::cookie_of("x=1; session_80=ab; session_8080=cd", "session_8080") == "cd");
    CHECK(tools::cookie_of("xsession=1", "session") == "");
}

TEST_CASE("one address has so many places, and who says nothing makes room for others") {
    Crowd crowd;
    Crowd::Id id = 0;
    for (std::size_t i = 0; i < Crowd::places_of_address; ++i) CHECK(crowd.enter(++id, "192.0.2.1").comes_in);
    CHECK_FALSE(crowd.enter(++id, "192.0.2.1").comes_in);
    CHECK(crowd.enter(++id, "192.0.2.2").comes_in);
    crowd.leave(1);
    CHECK(crowd.enter(++id, "192.0.2.1").comes_in);
    // this machine has no limit of its own, only that of all
    while (crowd.size() < Crowd::places) CHECK(crowd.enter(++id, "127.0.0.1").comes_in);
    crowd.asked(2);
    const Crowd::Entry entry = crowd.enter(++id, "127.0.0.1");
    CHECK(entry.comes_in);
    CHECK(entry.makes_room == Crowd::Id{3});
    CHECK(crowd.size() == Crowd::places);
    for (Crowd::Id one = 1; one <= id; ++one) crowd.asked(one);
    CHECK_FALSE(crowd.enter(++id, "192.0.2.3").comes_in);
    crowd.leave(999'999);
    CHECK(crowd.size() == Crowd::places);
}
