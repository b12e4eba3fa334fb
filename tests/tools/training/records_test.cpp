// What is kept of a training: people apart by more than a name, what the trainer's hand did, exams as a whole, and who
// may take which of it away.
#include <sqlite3.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <string>

#include "tests/tools/training/room.hpp"
#include "tests/tools/training/store_file.hpp"
#include "tools/training/training_records.hpp"

namespace {

namespace fs = std::filesystem;
using namespace tests;

void play(Room& room, const Person& who, const char* drill) {
    room.got(post(who, "/api/start", {{"drill", drill}}));
    hand_in(room, who);
}
/// An exam to its end; `instead` hears its first drill before it is handed in.
template <class Instead>
void take_exam(Room& room, const Person& who, Instead instead) {
    room.got(post(who, "/api/exam"));
    for (int i = 1; i <= 6; ++i) {
        if (i > 1) room.got(post(who, "/api/next"));
        if (i == 1) instead();
        hand_in(room, who);
    }
}
std::string name_of(Room& room, const Person& who) { return text_of(room.got(get(who, "/api/me")), "name"); }
tools::ActFields loss(const std::string& who) {
    return {{"who", who}, {"way", "drop"}, {"where", "both-ways"}, {"lasting_ms", "400"}};
}

}  // namespace

TEST_CASE("two who type the same name are two people, in lists, table and records, over restarts too") {
    const StoreFile file("people");
    Person anna, other;
    {
        Room room(file.path.string());
        anna = join(room, "Anna");
        other = join(room, "Anna");
        CHECK(name_of(room, anna) == "Anna");
        CHECK(name_of(room, other) == "Anna (2)");
        play(room, anna, "2");
        play(room, other, "3");
    }
    Room room(file.path.string(), 1000);
    play(room, other, "20");
    const Person third = join(room, "Anna");
    CHECK(name_of(room, third) == "Anna (3)");
    const tools::Value::List results = kept(room, "results");
    REQUIRE(results.size() == 3);
    CHECK(text_of(results[0], "person") == "P1");
    CHECK(text_of(results[0], "name") == "Anna");
    for (const std::size_t i : {1U, 2U}) {
        CHECK(text_of(results[i], "person") == "P2");
        CHECK(text_of(results[i], "name") == "Anna (2)");
    }
    tools::WebRequest asked = by_instructor("/api/instructor/room");
    asked.method = "GET";
    const tools::Value told = room.got(asked);
    const tools::Value::List& here = *told.find("trainees")->list();
    CHECK(text_of(here[1], "id") == "P2");
    CHECK(text_of(here[1], "name") == "Anna (2)");
    // one that is typed as others are called is called otherwise
    CHECK(name_of(room, join(room, "Anna (2)")) == "Anna (2) (2)");
}

TEST_CASE("a file that knew sessions only keeps its people apart by them") {
    const StoreFile file("layout");
    sqlite3* old = nullptr;
    REQUIRE(sqlite3_open(file.path.c_str(), &old) == SQLITE_OK);
    REQUIRE(sqlite3_exec(old,
                         "CREATE TABLE training_result (id INTEGER PRIMARY KEY, done_at TEXT NOT NULL, name TEXT NOT "
                         "NULL, drill INTEGER NOT NULL, title TEXT NOT NULL, mode TEXT NOT NULL, result TEXT NOT NULL, "
                         "points INTEGER NOT NULL, seconds INTEGER NOT NULL, hints INTEGER NOT NULL, at_place TEXT NOT "
                         "NULL, what TEXT NOT NULL, actions TEXT NOT NULL, dangerous TEXT NOT NULL, session TEXT NOT "
                         "NULL DEFAULT '', record TEXT NOT NULL DEFAULT '') STRICT;"
                         "CREATE TABLE training_session (session TEXT PRIMARY KEY, token TEXT NOT NULL, name TEXT NOT "
                         "NULL, exam INTEGER NOT NULL, drills TEXT NOT NULL, begun TEXT NOT NULL, results TEXT NOT "
                         "NULL) STRICT;"
                         "CREATE TABLE training_act (id INTEGER PRIMARY KEY, session TEXT NOT NULL, drill INTEGER NOT "
                         "NULL, plant_ns INTEGER NOT NULL, fields TEXT NOT NULL) STRICT;"
                         "INSERT INTO training_result VALUES (1,'2026-01-02 03:04','Anna',3,'T','practice',"
                         "'safe-and-found',94,400,1,'way-out','repetition','lock-out','','s1','{}');"
                         "INSERT INTO training_result VALUES (2,'2026-01-02 03:05','Anna',3,'T','practice',"
                         "'safe-and-found',94,400,1,'way-out','repetition','lock-out','','s2','{}');"
                         "INSERT INTO training_result VALUES (3,'2026-01-02 03:06','Anna',3,'T','practice',"
                         "'safe-and-found',94,400,1,'way-out','repetition','lock-out','','','');"
                         "PRAGMA application_id=1279545412; PRAGMA user_version=2",
                         nullptr, nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(old);
    tools::TrainingStore store(file.path.string());
    REQUIRE_FALSE(store.failure());
    REQUIRE(store.all().size() == 3);
    CHECK(store.all()[0].person == 1);
    CHECK(store.all()[1].person == 2);
    CHECK(store.all()[1].name == "Anna (2)");
    CHECK(store.all()[2].person == 0);
    CHECK(tools::described(store.all()[2]).find("person")->text().empty());
}

TEST_CASE("a fault by hand is not judged by the drill's own cause, and the record says who did what when") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/start", {{"drill", "4"}}));
    room.got(by_instructor("/api/instructor/put-in", loss("all")));
    room.got(by_instructor("/api/instructor/pace", {{"who", "P1"}, {"pace", "quarter"}}));
    hand_in(room, anna);
    const tools::Value result = kept(room, "results").front();
    CHECK(text_of(result, "result") == "trainers-fault");
    CHECK(text_of(result, "points").empty());
    CHECK(text_of(result, "judged") == "false");
    const std::string trainer = text_of(result, "trainer");
    CHECK(trainer.find("put a fault in: loss: nothing arrives; both ways; for 400 ms; at once") != std::string::npos);
    CHECK(trainer.find("clock at a quarter") != std::string::npos);
    const tools::Value score = *room.got(get(anna, "/api/state")).find("state")->find("score");
    CHECK(text_of(score, "result") == "trainers-fault");
    CHECK(text_of(score, "points").empty());
    CHECK(score.find("remarks")->list()->empty());
    CHECK(score.find("trainer")->list()->size() == 2);
    tools::WebRequest asked = by_instructor("/api/instructor/record", {{"id", "1"}});
    asked.method = "GET";
    const tools::Value record = *room.got(asked).find("record");
    CHECK(record.find("trainer")->list()->size() == 2);
    CHECK(text_of(record, "secure").empty());
    // what was handed in is not touched any more
    room.got(by_instructor("/api/instructor/put-in", loss("P1")), 409);
    CHECK(text_of(*room.got(get(anna, "/api/state")).find("state")->find("score"), "result") == "trainers-fault");
}

TEST_CASE("without the trainer's hand a drill is judged, and a pause alone does not change that") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/start", {{"drill", "4"}}));
    room.got(by_instructor("/api/instructor/pace", {{"who", "all"}, {"pace", "paused"}}));
    room.got(by_instructor("/api/instructor/cause", {{"who", "all"}, {"show", "true"}}));
    room.got(by_instructor("/api/instructor/pace", {{"who", "all"}, {"pace", "real"}}));
    hand_in(room, anna);
    const tools::Value result = kept(room, "results").front();
    CHECK(text_of(result, "judged") == "true");
    CHECK(text_of(result, "trainer").find("paused the clock") != std::string::npos);
    CHECK(text_of(result, "trainer").find("showed the cause") != std::string::npos);
}

TEST_CASE("the trainer's hand leaves exams alone unless exactly that trainee is confirmed") {
    Room room;
    const Person anna = join(room, "Anna"), ben = join(room, "Ben");
    room.got(post(ben, "/api/start", {{"drill", "2"}}));
    take_exam(room, anna, [&] {
        const tools::Value told = room.got(by_instructor("/api/instructor/put-in", loss("all")));
        CHECK(text_of(told, "touched") == "1");
        CHECK(text_of(told, "left_out") == "1");
        for (const char* act : {"put-in", "cause", "take-out"}) {
            tools::ActFields fields = loss("P1");
            fields["show"] = "true";
            const std::string path = std::string("/api/instructor/") + act;
            CHECK(text_of(room.got(by_instructor(path, fields), 409), "error") == "in-an-exam");
            fields["confirm"] = "P2";
            room.got(by_instructor(path, fields), 409);
        }
        CHECK(room.got(get(anna, "/api/state")).find("state")->find("cause")->text().empty());
        room.got(by_instructor("/api/instructor/cause", {{"who", "P1"}, {"show", "true"}, {"confirm", "P1"}}));
    });
    const tools::Value::List results = kept(room, "results");
    CHECK(text_of(results.front(), "result") == "cause-shown");
    CHECK(text_of(results.front(), "points").empty());
    const tools::Value exam = kept(room, "exams").front();
    CHECK(text_of(exam, "exam_state") == "over");
    CHECK(text_of(exam, "exam_done") == "6");
    CHECK(text_of(exam, "exam_judged") == "5");
    CHECK(text_of(*room.got(get(anna, "/api/state")).find("exam"), "judged") == "5");
    // the exam's own result is kept as it is told
    CHECK_FALSE(text_of(exam, "verdict").empty());
    CHECK(text_of(exam, "verdict") == text_of(*room.got(get(anna, "/api/state")).find("exam"), "verdict"));
    CHECK(text_of(exam, "verdict_said") == tools::word_of("exam", text_of(exam, "verdict")));
    // nobody but people in exams
    Room other;
    const Person cora = join(other, "Cora");
    other.got(post(cora, "/api/exam"));
    CHECK(text_of(other.got(by_instructor("/api/instructor/put-in", loss("all")), 409), "error") == "all-in-exams");
}

TEST_CASE("a fault whose times are none is refused with a sentence, not clamped") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/start", {{"drill", "2"}}));
    for (const auto& row : std::vector<std::array<std::string, 3>>{{"lasting_ms", "-5", "lasting-wrong"},
                                                                   {"lasting_ms", "1e99", "lasting-wrong"},
                                                                   {"lasting_ms", "0", "lasting-wrong"},
                                                                   {"lasting_ms", "600001", "lasting-wrong"},
                                                                   {"lasting_ms", "", "lasting-wrong"},
                                                                   {"after_s", "61", "after-wrong"},
                                                                   {"after_s", "-1", "after-wrong"}}) {
        const std::string &key = row[0], &value = row[1], &why = row[2];
        CAPTURE(key);
        CAPTURE(value);
        tools::ActFields fields = loss("P1");
        fields[key] = value;
        CHECK(text_of(room.got(by_instructor("/api/instructor/put-in", fields), 400), "error") == why);
        CHECK(tools::word_of("refusals", why) != why);
    }
    hand_in(room, anna);
    CHECK(text_of(kept(room, "results").front(), "judged") == "true");
}

TEST_CASE("trainees take nothing away: practice is withdrawn and stays, an exam stays as it is") {
    Room room;
    const Person anna = join(room, "Anna");
    play(room, anna, "2");
    room.got(post(anna, "/api/withdraw", {{"id", "1"}}));
    CHECK(text_of(kept(room, "results").front(), "withdrawn") == "2023-11-14 22:13");
    CHECK(results_of(room, anna) == 1);
    room.got(post(anna, "/api/exam"));
    hand_in(room, anna);
    CHECK(text_of(room.got(post(anna, "/api/withdraw", {{"id", "2"}}), 409), "error") == "exam-stays");
    CHECK(text_of(kept(room, "results")[1], "withdrawn").empty());
}

TEST_CASE("what the trainer deletes leaves that it was there, and a whole person leaves nothing") {
    const StoreFile file("deleted");
    {
        Room room(file.path.string());
        const Person anna = join(room, "Annabella"), ben = join(room, "Ben");
        play(room, anna, "2");
        play(room, ben, "3");
        take_exam(room, anna, [] {});
        room.got(by_instructor("/api/instructor/delete", {{"id", "1"}}), 409);
        room.got(by_instructor("/api/instructor/delete", {{"id", "1"}, {"confirm", "1"}}));
        const tools::Value gone = kept(room, "results").front();
        CHECK(text_of(gone, "name") == "Annabella");
        CHECK(text_of(gone, "drill") == "2");
        CHECK_FALSE(text_of(gone, "deleted").empty());
        CHECK(text_of(gone, "result").empty());
        CHECK(text_of(gone, "points").empty());
        room.got(by_instructor("/api/instructor/delete", {{"id", "1"}, {"confirm", "1"}}), 404);
        room.got(by_instructor("/api/instructor/delete-person", {{"who", "P1"}}), 409);
        room.got(by_instructor("/api/instructor/delete-person", {{"who", "P1"}, {"confirm", "P1"}}));
        CHECK(kept(room, "results").size() == 1);
        CHECK(kept(room, "exams").empty());
        room.got(get(anna, "/api/state"), 401);
    }
    Room room(file.path.string(), 1000);
    CHECK(kept(room, "results").size() == 1);
    // a number is not given again
    const Person cora = join(room, "Cora");
    play(room, cora, "2");
    CHECK(text_of(kept(room, "results").back(), "person") == "P3");
}

TEST_CASE("an exam that is left, or whose place is given away, is on record as abandoned") {
    Room room;
    const Person anna = join(room, "Anna"), ben = join(room, "Ben");
    room.got(post(anna, "/api/exam"));
    hand_in(room, anna);
    room.got(post(anna, "/api/start", {{"drill", "2"}, {"leave", "true"}}));
    room.got(post(ben, "/api/exam"));
    room.got(by_instructor("/api/instructor/free", {{"who", "P2"}}));
    const tools::Value::List exams = kept(room, "exams");
    REQUIRE(exams.size() == 2);
    CHECK(text_of(exams[0], "exam_state") == "abandoned");
    CHECK(text_of(exams[0], "exam_done") == "1");
    CHECK(text_of(exams[0], "exam_end") == "the trainee left it");
    CHECK(text_of(exams[1], "exam_state") == "abandoned");
    CHECK(text_of(exams[1], "exam_end") == "the place was given away");
    CHECK(text_of(exams[1], "exam_done") == "0");
    tools::WebRequest asked = by_instructor("/api/instructor/results.csv");
    asked.method = "GET";
    const std::string csv = room.trainer->answer(asked).body;
    CHECK(csv.find("abandoned") != std::string::npos);
}

TEST_CASE("the trainer's hand stands in the exam too, with the hour of the room, also of a drill that was left") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/exam"));
    room.got(by_instructor("/api/instructor/pace", {{"who", "P1"}, {"pace", "paused"}}));
    room.got(by_instructor("/api/instructor/pace", {{"who", "P1"}, {"pace", "real"}}));
    hand_in(room, anna);
    room.got(post(anna, "/api/next"));
    room.got(by_instructor("/api/instructor/cause", {{"who", "P1"}, {"show", "true"}, {"confirm", "P1"}}));
    room.got(post(anna, "/api/start", {{"drill", "2"}, {"leave", "true"}}));
    const std::string hand = text_of(kept(room, "exams").front(), "trainer");
    CAPTURE(hand);
    CHECK(hand.find("paused the clock (2023-11-14 22:13)") != std::string::npos);
    CHECK(hand.find("clock as usual (2023-11-14 22:13)") != std::string::npos);
    CHECK(hand.find("showed the cause (2023-11-14 22:13)") != std::string::npos);
    CHECK(hand.find("drill ", 6) != std::string::npos);
    CHECK(text_of(kept(room, "results").front(), "trainer").find("paused the clock (2023") != std::string::npos);
    tools::WebRequest asked = by_instructor("/api/instructor/results.csv");
    asked.method = "GET";
    const std::string csv = room.trainer->answer(asked).body;
    CHECK(csv.find("showed the cause (2023-11-14 22:13)") != std::string::npos);
    // of a training without a file nobody is told that its hashes can be looked up
    asked = by_instructor("/api/instructor/results.json");
    asked.method = "GET";
    CHECK(text_of(*room.got(asked).find("chain"), "kept") == "false");
}

TEST_CASE("an exam that a restart takes up again is not abandoned, and its number stays") {
    const StoreFile file("exam");
    Person anna, ben;
    {
        Room room(file.path.string());
        anna = join(room, "Anna");
        room.got(post(anna, "/api/exam"));
        hand_in(room, anna);
        ben = join(room, "Ben");
        room.got(post(ben, "/api/exam"));
        CHECK(text_of(kept(room, "exams").front(), "exam_state") == "under-way");
    }
    {
        Room room(file.path.string(), 1000);
        CHECK(text_of(kept(room, "exams").front(), "exam_state") == "under-way");
        for (int i = 2; i <= 6; ++i) {
            room.got(post(anna, "/api/next"));
            hand_in(room, anna);
        }
        const tools::Value exam = kept(room, "exams").front();
        CHECK(text_of(exam, "exam_state") == "over");
        CHECK(text_of(exam, "exam_judged") == "6");
        for (const tools::Value& result : kept(room, "results")) CHECK(text_of(result, "exam") == "1");
    }
    // its place is not there any more
    sqlite3* broken = nullptr;
    REQUIRE(sqlite3_open(file.path.c_str(), &broken) == SQLITE_OK);
    sqlite3_exec(broken, "DELETE FROM training_session", nullptr, nullptr, nullptr);
    sqlite3_close(broken);
    Room room(file.path.string(), 2000);
    CHECK(text_of(kept(room, "exams").back(), "exam_state") == "abandoned");
    CHECK(text_of(kept(room, "exams").front(), "exam_state") == "over");
}

TEST_CASE("the table says in words what it says by identifiers, with person, exam, trainer's hand and version") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/start", {{"drill", "2"}}));
    room.got(post(anna, "/api/act", {{"act", "instrument"}, {"value", "telegrams"}}));
    room.got(post(anna, "/api/act", {{"act", "keep"}, {"value", "telegrams"}}));
    room.got(
        post(anna, "/api/act", {{"act", "name"}, {"where", "way-back"}, {"what", "loss"}, {"because", "telegrams"}}));
    hand_in(room, anna);
    tools::WebRequest asked = by_instructor("/api/instructor/results.csv");
    asked.method = "GET";
    const std::string csv = room.trainer->answer(asked).body;
    for (const char* part : {"person", "exam", "trainer", "version", "P1", "1.2.3", "way back", "loss: nothing arrives",
                             "call the engineer"})
        CHECK_MESSAGE(csv.find(part) != std::string::npos, part);
}

TEST_CASE("a drill that does not show what it promises is told, and is in no exam") {
    Room room(std::nullopt, 0, 0, {{2, {"it shows something else"}}, {3, {"so does this"}}});
    tools::WebRequest asked = by_instructor("/api/instructor/room");
    asked.method = "GET";
    CHECK(room.got(asked).find("broken_drills")->list()->size() == 2);
    for (int i = 0; i < 12; ++i) {
        const Person who = join(room, "N" + std::to_string(i));
        take_exam(room, who, [] {});
    }
    for (const tools::Value& result : kept(room, "results")) {
        CHECK(text_of(result, "drill") != "2");
        CHECK(text_of(result, "drill") != "3");
    }
}
