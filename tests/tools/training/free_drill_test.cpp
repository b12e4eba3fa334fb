// A drill that the trainer declared free: the answer is compared with what was put in, and with nothing that could not
// be seen yet.
#include "tests/tools/training/room.hpp"
#include "tests/tools/training/store_file.hpp"
#include "tools/training/training_records.hpp"

namespace {

using namespace tests;

void act(Room& room, const Person& who, tools::ActFields fields) { room.got(post(who, "/api/act", std::move(fields))); }
/// Up to where it is named, with one reading kept.
void look(Room& room, const Person& who, const std::string& drill) {
    room.got(post(who, "/api/start", {{"drill", drill}}));
    for (const char* conduct : {"keep-out", "emergency-stop", "tell-shift", "lock-out"})
        act(room, who, {{"act", "conduct"}, {"value", conduct}});
    act(room, who, {{"act", "step"}, {"value", "2"}});
    act(room, who, {{"act", "instrument"}, {"value", "controller-panel"}});
    act(room, who, {{"act", "keep"}, {"value", "controller-panel"}});
    act(room, who, {{"act", "step"}, {"value", "3"}});
}
void name(Room& room, const Person& who, const std::string& where, const std::string& what) {
    act(room, who, {{"act", "name"}, {"where", where}, {"what", what}, {"because", "controller-panel"}});
    hand_in(room, who);
}
tools::ActFields loss(const std::string& where, const std::string& when = "now") {
    return {{"who", "P1"},  {"way", "drop"},  {"where", where}, {"lasting_ms", "400"},
            {"when", when}, {"after_s", "0"}, {"free", "true"}};
}
void put_in(Room& room, const tools::ActFields& fields) {
    room.got(by_instructor("/api/instructor/put-in", fields));
    room.pass(3);
}
tools::Value record_of(Room& room) {
    tools::WebRequest asked = by_instructor("/api/instructor/record", {{"id", "1"}});
    asked.method = "GET";
    return *room.got(asked).find("record");
}

}  // namespace

TEST_CASE("a free drill is compared with what the trainer put in, not with its own cause") {
    struct Row {
        const char *where, *what, *result;
    };
    for (const Row& row : {Row{"way-out", "loss", "free-found"}, Row{"way-out", "delay", "free-half-found"},
                           Row{"both-ways", "loss", "free-half-found"}, Row{"guard", "stall", "free-not-found"},
                           Row{"both-ways", "delay", "free-own-cause"}}) {
        CAPTURE(row.where);
        CAPTURE(row.what);
        Room room;
        const Person anna = join(room, "Anna");
        look(room, anna, "4");
        put_in(room, loss("way-out"));
        name(room, anna, row.where, row.what);
        const tools::Value result = kept(room, "results").front();
        CHECK(text_of(result, "result") == row.result);
        CHECK(text_of(result, "judged") == "false");
        CHECK(text_of(result, "points").empty());
        CHECK(text_of(result, "trainer").find("declared the drill free") != std::string::npos);
        CHECK(text_of(result, "result_said").starts_with("Free: "));
        const tools::Value record = record_of(room);
        const tools::Value& free = *record.find("free");
        REQUIRE(free.find("faults")->list()->size() == 1);
        CHECK(text_of(free.find("faults")->list()->front(), "where") == "way-out");
        CHECK(text_of(free.find("faults")->list()->front(), "what") == "loss");
        const tools::Value state = room.got(get(anna, "/api/state"));
        CHECK(text_of(*state.find("state")->find("score"), "result") == row.result);
    }
}

TEST_CASE("what had not acted when a free drill was answered judges nobody") {
    for (const char* how : {"late", "waits"}) {
        CAPTURE(how);
        Room room;
        const Person anna = join(room, "Anna");
        look(room, anna, "4");
        if (how == std::string("waits")) put_in(room, loss("way-out", "demand"));
        act(room, anna, {{"act", "name"}, {"where", "way-out"}, {"what", "loss"}, {"because", "controller-panel"}});
        if (how == std::string("late")) put_in(room, loss("way-out"));
        hand_in(room, anna);
        CHECK(text_of(kept(room, "results").front(), "result") == "trainers-fault");
        CHECK(record_of(room).find("free")->find("faults")->list()->empty());
    }
}

TEST_CASE("in a free drill nothing is told of who cannot tell, and a dangerous act stays one") {
    {
        Room room;
        const Person anna = join(room, "Anna");
        look(room, anna, "4");
        put_in(room, loss("way-out"));
        act(room, anna, {{"act", "cannot-tell"}});
        hand_in(room, anna);
        CHECK(text_of(kept(room, "results").front(), "result") == "free-not-told");
    }
    Room room;
    const Person anna = join(room, "Anna");
    look(room, anna, "4");
    put_in(room, loss("way-out"));
    room.got(post(anna, "/api/act", {{"act", "acknowledge"}}));
    room.pass(1);
    name(room, anna, "way-out", "loss");
    const tools::Value result = kept(room, "results").front();
    CHECK_FALSE(text_of(result, "dangerous").empty());
    CHECK(text_of(result, "result") == "free-dangerous");
}

TEST_CASE("of several links a free drill asks for the one that the fault was put in at") {
    std::size_t found = 0;
    for (std::size_t link = 0; link < 3; ++link) {
        CAPTURE(link);
        Room room;
        const Person anna = join(room, "Anna");
        look(room, anna, "24");
        put_in(room, loss("way-back"));
        const tools::Value told = room.got(get(anna, "/api/state"));
        const std::string named = text_of((*told.find("state")->find("links")->list())[link], "name");
        act(room, anna,
            {{"act", "name"},
             {"link", std::to_string(link)},
             {"where", "way-back"},
             {"what", "loss"},
             {"because", "controller-panel"}});
        hand_in(room, anna);
        const tools::Value record = record_of(room);
        const bool is_it = text_of(record.find("free")->find("faults")->list()->front(), "link") == named;
        CHECK(text_of(kept(room, "results").front(), "result") == (is_it ? "free-found" : "free-not-found"));
        found += is_it ? 1 : 0;
    }
    CHECK(found == 1);
}

TEST_CASE("no exam is free, and a fault that is not said to be judges nobody") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/exam"));
    tools::ActFields fields = loss("way-out");
    fields["confirm"] = "P1";
    CHECK(text_of(room.got(by_instructor("/api/instructor/put-in", fields), 409), "error") == "free-in-exam");
    Room other;
    const Person ben = join(other, "Ben");
    look(other, ben, "4");
    fields.erase("free");
    put_in(other, fields);
    name(other, ben, "way-out", "loss");
    CHECK(text_of(kept(other, "results").front(), "result") == "trainers-fault");
    CHECK(record_of(other).find("free") == nullptr);
}

TEST_CASE("a free drill that a restart takes up again stays free") {
    const StoreFile file("free");
    Person anna;
    {
        Room room(file.path.string());
        anna = join(room, "Anna");
        look(room, anna, "4");
        put_in(room, loss("way-out"));
    }
    // its plant goes on from what was done last
    Room room(file.path.string(), 1000);
    room.got(get(anna, "/api/state"));
    room.pass(3);
    name(room, anna, "way-out", "loss");
    CHECK(text_of(kept(room, "results").front(), "result") == "free-found");
}
