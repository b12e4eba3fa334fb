// The trainer by its requests, with a clock of the test's own: who may see what, and what stands still when.
#include <doctest/doctest.h>

#include <unistd.h>
#include <filesystem>
#include <string>

#include "sim/training/exam.hpp"
#include "tests/support/close.hpp"
#include "tests/tools/training/room.hpp"

namespace {

namespace fs = std::filesystem;
using namespace tests;

}  // namespace

TEST_CASE("joining needs the code and a name, and an act the token") {
    Room room;
    room.got({.method = "POST",
              .path = "/api/join",
              .fields = {{"name", "A"}, {"code", "AB13"}},
              .session = "",
              .token = ""},
             403);
    room.got({.method = "POST",
              .path = "/api/join",
              .fields = {{"name", "\x01"}, {"code", "AB12"}},
              .session = "",
              .token = ""},
             400);
    Person anna = join(room, "Anna");
    anna.token += "x";
    room.got(post(anna, "/api/start", {{"drill", "2"}}), 403);
}

TEST_CASE("words, scripts and styles are for everybody, the instructor's page only for this machine") {
    Room room;
    const auto at = [&](const char* path, bool local) {
        return room.trainer->answer(
            {.method = "GET", .path = path, .fields = {}, .session = "", .token = "", .local = local});
    };
    CHECK(room.got({.method = "GET", .path = "/api/words", .fields = {}, .session = "", .token = ""})
              .find("words")
              ->find("instruments")
              ->find("telegrams")
              ->text() == "Telegrams");
    for (const char* path : {"/training/pages/training.js", "/training/pages/instructor.js", "/pages/draw.js"})
        CHECK(at(path, false).type == "text/javascript; charset=utf-8");
    CHECK(at("/training/pages/training.css", false).type == "text/css; charset=utf-8");
    CHECK(at("/drill/7", false).type == "text/html; charset=utf-8");
    CHECK(at("/instructor", true).status == 200);
    CHECK(at("/instructor", false).status == 403);
    // not by another way either
    for (const char* path : {"/training/pages/instructor.html", "/training/pages/told.d.ts", "/report/pages/report.js"})
        CHECK(at(path, false).status == 401);
}

TEST_CASE("a plant stands still while nobody looks, while the trainee holds it, and while the trainer pauses it") {
    Room room;
    const Person anna = join(room, "Anna");
    const auto now = [&] { return plant_time(room.got(get(anna, "/api/state"))); };
    const auto look_for = [&](double seconds) {
        for (int i = 0; i < static_cast<int>(seconds * 2); ++i) {
            room.pass(0.5);
            REQUIRE(room.trainer->event(get(anna, "/api/events")));
        }
        return now();
    };
    const double begun = plant_time(room.got(post(anna, "/api/start", {{"drill", "20"}})));
    const double looked = look_for(5);
    CHECK(tests::close_to(looked, begun + 5, 0.01));
    room.pass(60);
    const double away = now();
    CHECK(away < looked + 5);
    const double back = look_for(2);
    CHECK(back > away + 1.2);
    room.got(post(anna, "/api/hold", {{"on", "true"}}));
    CHECK(tests::close_to(look_for(3), back, 0.01));
    room.got(by_instructor("/api/instructor/pace", {{"who", "all"}, {"pace", "paused"}}));
    room.got(post(anna, "/api/hold", {{"on", ""}}));
    const double paused = now();
    CHECK(look_for(3) == paused);
    room.got(by_instructor("/api/instructor/pace", {{"who", "all"}, {"pace", "quarter"}}));
    CHECK(tests::close_to(look_for(4), paused + 1, 0.02));
}

TEST_CASE("an exam tells its results when it is over, and the trainer at once") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/exam"));
    for (int i = 1; i <= 6; ++i) {
        hand_in(room, anna);
        CHECK(results_of(room, anna) == (i < 6 ? 0 : 6));
        CHECK(room.store.all().size() == static_cast<std::size_t>(i));
        const tools::Value news = room.got(get(anna, "/api/state"));
        CHECK(news.find("state")->object() == nullptr);
        CHECK(news.find("exam")->find("over")->is_true() == (i == 6));
        CHECK(news.find("exam")->find("drills")->list()->size() == (i < 6 ? 0U : 6U));
        if (i < 6) {
            room.got(post(anna, "/api/explain", {{"place", "1"}}), 409);
            room.got(post(anna, "/api/next"));
        }
    }
    room.got(post(anna, "/api/next"), 409);
    const tools::Value explained = room.got(post(anna, "/api/explain", {{"place", "3"}}));
    CHECK(explained.find("state")->find("score")->object() != nullptr);
}

TEST_CASE("results are seen by whoever made them, and deleted by the trainer alone") {
    Room room;
    const Person anna = join(room, "Anna"), other = join(room, "Anna");
    room.got(post(anna, "/api/start", {{"drill", "2"}}));
    hand_in(room, anna);
    CHECK(results_of(room, anna) == 1);
    CHECK(results_of(room, other) == 0);
    room.got(post(other, "/api/withdraw", {{"id", "1"}}), 404);
    room.got(post(anna, "/api/delete", {{"id", "1"}}), 404);
    CHECK(room.store.all().size() == 1);
    tools::WebRequest from_elsewhere = by_instructor("/api/instructor/pace", {{"who", "all"}, {"pace", "real"}});
    from_elsewhere.local = false;
    room.got(from_elsewhere, 403);
}

TEST_CASE("a drill under way survives the end of the program, and so does an exam") {
    const fs::path file =
        fs::temp_directory_path() / ("linkdrill_trainer_test_" + std::to_string(getpid()) + ".sqlite");
    fs::remove(file);
    Person anna, ben;
    std::string shown;
    {
        Room room(file.string());
        anna = join(room, "Anna");
        room.got(post(anna, "/api/start", {{"drill", "7"}}));
        room.got(post(anna, "/api/act", {{"act", "conduct"}, {"value", "keep-out"}}));
        room.pass(1);
        room.got(post(anna, "/api/act", {{"act", "step"}, {"value", "2"}}));
        room.got(by_instructor("/api/instructor/put-in",
                               {{"who", "all"}, {"way", "drop"}, {"where", "both-ways"}, {"lasting_ms", "100"}}));
        room.pass(1);
        room.got(post(anna, "/api/act", {{"act", "instrument"}, {"value", "time-line"}}));
        shown = tools::to_json(*room.got(get(anna, "/api/state")).find("state"));
        ben = join(room, "Ben");
        room.got(post(ben, "/api/exam"));
        hand_in(room, ben);
        room.got(post(ben, "/api/next"));
        hand_in(room, ben);
    }
    {
        Room room(file.string(), 1000);
        CHECK(tools::to_json(*room.got(get(anna, "/api/state")).find("state")) == shown);
        CHECK(results_of(room, ben) == 0);
        for (int i = 3; i <= 6; ++i) {
            room.got(post(ben, "/api/next"));
            hand_in(room, ben);
        }
        CHECK(results_of(room, ben) == 6);
        room.got(by_instructor("/api/instructor/free", {{"who", "all"}}));
    }
    Room room(file.string(), 2000);
    room.got(get(anna, "/api/state"), 401);
    CHECK(room.store.all().size() == 6);
    fs::remove(file);
    fs::remove(file.string() + "-wal");
    fs::remove(file.string() + "-shm");
}

TEST_CASE("a room has thirty places, and whoever left an hour ago makes room") {
    Room room;
    for (std::size_t i = 0; i < tools::Trainer::places; ++i) join(room, "P" + std::to_string(i));
    const tools::WebRequest one_more{
        .method = "POST", .path = "/api/join", .fields = {{"name", "Q"}, {"code", "AB12"}}, .session = "", .token = ""};
    room.got(one_more, 503);
    room.now = room.now + proto::seconds(3601);
    room.got(one_more);
}

TEST_CASE("who comes while all are paused is paused too, and beginning a drill does not set the clock going") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(by_instructor("/api/instructor/pace", {{"who", "all"}, {"pace", "paused"}}));
    const Person ben = join(room, "Ben");
    for (const Person& one : {anna, ben}) {
        const double begun = plant_time(room.got(post(one, "/api/start", {{"drill", "20"}})));
        for (int i = 0; i < 4; ++i) {
            room.pass(0.5);
            REQUIRE(room.trainer->event(get(one, "/api/events")));
        }
        CHECK(plant_time(room.got(get(one, "/api/state"))) == begun);
    }
}

TEST_CASE("answers of drills that somebody is asked for in an exam are told to nobody else meanwhile") {
    Room room;
    const Person examined = join(room, "Anna"), other = join(room, "Bert");
    room.got(post(examined, "/api/exam"));
    const auto practise = [&](const std::string& drill) {
        room.got(post(examined, "/api/hold", {{"on", "false"}}));  // is there
        room.got(post(other, "/api/start", {{"drill", drill}}));
        return tests::work_and_hand_over(room, other);
    };
    std::vector<std::string> untold;
    std::size_t told = 0;
    for (int drill = 1; drill <= 24; ++drill) {
        const tools::Value news = practise(std::to_string(drill));
        if (news.find("held_back")->is_true()) {
            untold.push_back(std::to_string(drill));
            CHECK(news.find("state")->object() == nullptr);
        } else {
            ++told;
            CHECK(news.find("state")->find("score")->object() != nullptr);
        }
    }
    CHECK(untold.size() == sim::exam_drills);
    // nor in a record
    CHECK(room.got(get(other, "/api/results")).find("results")->list()->size() == told);
    practise(untold.front());
    CHECK(room.got(get(other, "/api/state")).find("held_back")->is_true());
    // whoever left an exam open keeps nobody waiting
    room.pass(601);
    CHECK_FALSE(room.got(get(other, "/api/state")).find("held_back")->is_true());
}

TEST_CASE("an exam under way is not thrown away unasked") {
    Room room;
    const Person anna = join(room, "Anna");
    room.got(post(anna, "/api/exam"));
    room.got(post(anna, "/api/start", {{"drill", "2"}}), 409);
    room.got(post(anna, "/api/exam"), 409);
    CHECK(room.got(get(anna, "/api/state")).find("exam")->object() != nullptr);
    room.got(post(anna, "/api/start", {{"drill", "2"}, {"leave", "true"}}));
    CHECK(room.got(get(anna, "/api/state")).find("exam")->object() == nullptr);
}

TEST_CASE("a kept exam whose drills are not all there any more is given up, and its trainee begins anew") {
    const fs::path file = fs::temp_directory_path() / ("linkdrill_gone_test_" + std::to_string(getpid()) + ".sqlite");
    Person anna;
    unsigned gone = 0;
    {
        Room room(file.string());
        anna = join(room, "Anna");
        room.got(post(anna, "/api/exam"));
        hand_in(room, anna);
        gone = static_cast<unsigned>(room.store.all().front().drill);
    }
    {
        Room room(file.string(), 1000, gone);
        room.got(post(anna, "/api/next"), 409);
        CHECK(room.got(get(anna, "/api/state")).find("exam")->object() == nullptr);
        room.got(post(anna, "/api/start", {{"drill", gone == 20 ? "21" : "20"}}));
    }
    for (const char* end : {"", "-wal", "-shm"}) fs::remove(file.string() + end);
}

TEST_CASE("a long name is cut between its characters") {
    Room room;
    std::string name;
    for (int i = 0; i < 20; ++i) name += "\xE5\xBC\xB5";
    const Person anna = join(room, name);
    const tools::Value me = room.got(get(anna, "/api/me"));
    CHECK(me.find("name")->text().size() == 39);
}

TEST_CASE("one trainee has three windows at most") {
    Room room;
    const Person anna = join(room, "Anna");
    for (int i = 0; i < tools::Trainer::windows_max; ++i) CHECK(room.trainer->listens(get(anna, "/api/events")));
    CHECK_FALSE(room.trainer->listens(get(anna, "/api/events")));
    room.trainer->listens_no_more(get(anna, "/api/events"));
    CHECK(room.trainer->listens(get(anna, "/api/events")));
}

TEST_CASE("whoever has not come back since the program began makes room for those who are here") {
    const fs::path file = fs::temp_directory_path() / ("linkdrill_full_test_" + std::to_string(getpid()) + ".sqlite");
    {
        Room room(file.string());
        for (std::size_t i = 0; i < tools::Trainer::places; ++i) join(room, "P" + std::to_string(i));
    }
    {
        Room room(file.string(), 1000);
        join(room, "Q");
    }
    for (const char* end : {"", "-wal", "-shm"}) fs::remove(file.string() + end);
}
