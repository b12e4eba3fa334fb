#pragma once
// A training room by its requests, with a clock and chance of the test's own.
#include <doctest/doctest.h>

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/reading/read_drill.hpp"
#include "tools/text/json.hpp"
#include "tools/training/trainer.hpp"

namespace tests {

struct Room {
    proto::Instant now{};
    unsigned drawn = 0;
    tools::TrainingStore store;
    std::optional<tools::Trainer> trainer;

    /// `without`: a drill that is not there any more.
    explicit Room(const std::optional<std::string>& file = std::nullopt, unsigned begin_at = 0, unsigned without = 0,
                  std::map<unsigned, std::vector<std::string>> broken = {})
        : drawn(begin_at), store(file) {
        REQUIRE_FALSE(store.failure());
        auto read = sim::read_drills(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/drills");
        REQUIRE(read.ok());
        std::erase_if(read.value().drills, [&](const sim::Drill& drill) { return drill.number == without; });
        trainer.emplace(
            std::move(read.value()),
            tools::TrainerSettings{
                .secret = "the secret", .code = "AB12", .version = "1.2.3", .broken = std::move(broken)},
            store,
            tools::TrainerSurroundings{.now = [this] { return now; },
                                       .epoch_ms = [this] { return 1'700'000'000'000 + now.ns / 1'000'000; },
                                       .random =
                                           [this] {
                                               std::string text = std::to_string(++drawn);
                                               return std::string(32 - text.size(), 'a') + text;
                                           }});
    }
    void pass(double seconds) {
        for (int i = 0; i < static_cast<int>(seconds * 10); ++i) {
            now = now + proto::milliseconds(100);
            trainer->run_on();
        }
    }
    tools::Value got(const tools::WebRequest& request, int status = 200) {
        const tools::WebReply reply = trainer->answer(request);
        REQUIRE_MESSAGE(reply.status == status, (request.path + ": " + reply.body));
        if (!reply.session.empty()) session = reply.session;
        auto value = tools::from_json(reply.body);
        REQUIRE(value.ok());
        return std::move(value).value();
    }
    std::string session;  ///< given last
};

struct Person {
    std::string session, token;
};
inline Person join(Room& room, const std::string& name) {
    const tools::Value told = room.got({.method = "POST",
                                        .path = "/api/join",
                                        .fields = {{"name", name}, {"code", "AB 12"}},
                                        .session = "",
                                        .token = ""});
    return {room.session, std::string(told.find("token")->text())};
}
inline tools::WebRequest post(const Person& who, std::string path, tools::ActFields fields = {}) {
    return {.method = "POST",
            .path = std::move(path),
            .fields = std::move(fields),
            .session = who.session,
            .token = who.token};
}
inline tools::WebRequest get(const Person& who, std::string path) {
    return {.method = "GET", .path = std::move(path), .fields = {}, .session = who.session, .token = ""};
}
inline tools::WebRequest by_instructor(std::string path, tools::ActFields fields = {}) {
    return {.method = "POST",
            .path = std::move(path),
            .fields = std::move(fields),
            .session = "",
            .token = "the secret",
            .local = true};
}
inline double plant_time(const tools::Value& news) {
    return std::stod(tools::scalar_text(*news.find("state")->find("plant_time")));
}
inline std::size_t results_of(Room& room, const Person& who) {
    return room.got(get(who, "/api/results")).find("results")->list()->size();
}
/// Locked out, and the engineer called; what the page gets last.
inline tools::Value work_and_hand_over(Room& room, const Person& who) {
    const auto act = [&](tools::ActFields fields) { return room.got(post(who, "/api/act", std::move(fields))); };
    act({{"act", "conduct"}, {"value", "lock-out"}});
    act({{"act", "step"}, {"value", "4"}});
    for (const char* card : {"lock-out", "call-engineer"}) {
        act({{"act", "work"}, {"value", card}});
        const auto busy = [&] { return room.got(get(who, "/api/state")).find("state")->find("work")->object(); };
        for (int i = 0; i < 40 && busy() != nullptr; ++i) room.pass(0.5);
    }
    return act({{"act", "hand-over"}});
}
inline void hand_in(Room& room, const Person& who) { work_and_hand_over(room, who); }
/// The list of that name in what the instructor gets as JSON.
inline tools::Value::List kept(Room& room, const char* list) {
    tools::WebRequest asked = by_instructor("/api/instructor/results.json");
    asked.method = "GET";
    return *room.got(asked).find(list)->list();
}
inline std::string text_of(const tools::Value& object, const char* key) {
    const tools::Value* const found = object.find(key);
    REQUIRE_MESSAGE(found != nullptr, key);
    return tools::scalar_text(*found);
}

}  // namespace tests
