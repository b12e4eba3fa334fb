// Who gets a place, by which name, and how somebody hears that it was given away.
#include <string>

#include "tests/tools/training/room.hpp"
#include "tools/training/trainee_name.hpp"

namespace {

using namespace tests;

tools::WebRequest joining(const std::string& name, const std::string& code = "AB12", const std::string& from = "") {
    return {.method = "POST",
            .path = "/api/join",
            .fields = {{"name", name}, {"code", code}},
            .session = "",
            .token = "",
            .from = from,
            .local = from.empty()};
}

}  // namespace

TEST_CASE("a name holds only what can be seen") {
    CHECK(tools::name_typed("Anna") == "Anna");
    CHECK(tools::name_typed("  Ann-Marie\u00A0 \u5F35 ") == "Ann-Marie \u5F35");
    CHECK(tools::name_typed("\u05D0\u05D1") == "\u05D0\u05D1");
    CHECK(tools::name_typed(" \u3000 ") == "");
    for (const char* unfit : {"An\u200Bna", "\u202EannA", "A\nB", "\u2066A", "A\u0085", "\u3164", "\uFEFFA", "\u2800",
                              "A\xFF", "\xC0\x80", "\xED\xA0\x80", "\U000E0041"})
        CHECK_FALSE(tools::name_typed(unfit));
    Room room;
    CHECK(text_of(room.got(joining("An\u200Bna"), 400), "error") == "name-unfit");
    CHECK(text_of(room.got(joining(" \u3000"), 400), "error") == "name-missing");
}

TEST_CASE("a code fits however it is typed") {
    Room room;
    for (const char* code : {"AB12", "ab12", "ab-12", " A B 1 2 "}) room.got(joining("A", code));
    room.got(joining("A", "AB1"), 403);
}

TEST_CASE("whoever guesses the code is slowed down, others are not, and the instructor hears of it") {
    Room room;
    for (std::size_t i = 0; i < tools::WrongCodes::free_of_charge; ++i) room.got(joining("A", "X", "192.0.2.7"), 403);
    // not even a right one is looked at
    CHECK(text_of(room.got(joining("A", "AB12", "192.0.2.7"), 429), "error") == "code-too-soon");
    room.got(joining("B", "AB12", "192.0.2.8"));
    room.pass(1.1);
    room.got(joining("A", "X", "192.0.2.7"), 403);
    CHECK(text_of(room.got(joining("A", "AB12", "192.0.2.7"), 429), "error") == "code-too-soon");
    room.pass(1.1);
    room.got(joining("A", "AB12", "192.0.2.7"));
    tools::WebRequest asked = by_instructor("/api/instructor/room");
    asked.method = "GET";
    const tools::Value told = room.got(asked);
    CHECK(tools::scalar_text(*told.find("wrong_codes")) == "6");
    CHECK(text_of(told, "wrong_code_from") == "192.0.2.7");
}

TEST_CASE("one computer elsewhere takes three places, and one browser takes one") {
    Room room;
    for (int i = 0; i < 3; ++i) room.got(joining("A", "AB12", "192.0.2.7"));
    CHECK(text_of(room.got(joining("A", "AB12", "192.0.2.7"), 429), "error") == "address-full");
    room.got(joining("A", "AB12", "192.0.2.8"));
    tools::WebRequest again = joining("A", "AB12", "192.0.2.9");
    again.session = room.session;
    CHECK(text_of(room.got(again, 409), "error") == "joined-already");
}

TEST_CASE("all who are away are freed at once, and only those who are here count as here") {
    Room room;
    const Person away = join(room, "Away"), here = join(room, "Here");
    for (int i = 0; i < 1300; ++i) {
        room.pass(0.5);
        REQUIRE(room.trainer->event(get(here, "/api/events")));
    }
    tools::WebRequest asked = by_instructor("/api/instructor/room");
    asked.method = "GET";
    CHECK(text_of(room.got(asked), "here") == "1");
    CHECK(text_of(room.got(asked), "taken") == "2");
    room.got(by_instructor("/api/instructor/free", {{"who", "away"}}), 400);
    CHECK(text_of(room.got(by_instructor("/api/instructor/free", {{"who", "away"}, {"minutes", "10"}})), "touched") ==
          "1");
    room.got(get(away, "/api/state"), 401);
    room.got(get(here, "/api/state"));
}

TEST_CASE("a page whose place was given away hears it at once") {
    Room room;
    const Person anna = join(room, "Anna");
    REQUIRE(room.trainer->listens(get(anna, "/api/events")));
    room.got(by_instructor("/api/instructor/free", {{"who", "P1"}}));
    const auto told = room.trainer->event(get(anna, "/api/events"));
    REQUIRE(told);
    CHECK(text_of(*told, "gone") == "place-given-away");
    room.trainer->listens_no_more(get(anna, "/api/events"));
    CHECK_FALSE(room.trainer->event(get(anna, "/api/events")));
}

TEST_CASE("a name of which nothing is kept goes with its place, and its number is not given again") {
    Room room;
    const Person anna = join(room, "Anna"), ben = join(room, "Ben");
    room.got(post(ben, "/api/start", {{"drill", "2"}}));
    hand_in(room, ben);
    room.got(by_instructor("/api/instructor/free", {{"who", "all"}}));
    CHECK(room.store.person(1) == nullptr);
    REQUIRE(room.store.person(2) != nullptr);
    join(room, "Anna");
    CHECK(room.store.person(3) != nullptr);
}

TEST_CASE("what is chosen and not yet handed in is the same in every window, and gone with the drill") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/start", {{"drill", "2"}}));
    room.got(post(anna, "/api/draft", {{"where", "way-back"}, {"what", "loss"}}));
    const tools::Value draft = *room.got(get(anna, "/api/state")).find("draft");
    CHECK(text_of(draft, "where") == "way-back");
    CHECK(text_of(draft, "what") == "loss");
    room.got(post(anna, "/api/draft", {{"where", "<script>"}}), 400);
    room.got(post(anna, "/api/start", {{"drill", "3"}}));
    CHECK(room.got(get(anna, "/api/state")).find("draft")->object()->empty());
}

TEST_CASE("drills are told with what this trainee made of them") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/start", {{"drill", "2"}}));
    hand_in(room, anna);
    const tools::Value told = room.got(get(anna, "/api/drills"));
    for (const tools::Value& drill : *told.find("drills")->list()) {
        const bool played = text_of(drill, "number") == "2";
        CHECK(text_of(drill, "tried") == (played ? "1" : "0"));
        CHECK(text_of(drill, "found") == "0");
        CHECK_FALSE(text_of(drill, "family").empty());
    }
    CHECK(room.got([&] {
                  tools::WebRequest asked = get(anna, "/api/record");
                  asked.fields = {{"id", "1"}};
                  return asked;
              }())
              .find("record")
              ->object() != nullptr);
}
