// A trainee at a drill with several links: what each place shows, what stays hidden, and the acts at each.
#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "tests/support/drills.hpp"
#include "tests/support/works.hpp"
#include "tools/text/json.hpp"
#include "tools/training/exercise.hpp"

namespace {

using tests::drill;
using tests::drills;
using tools::ActFields;
using tools::Exercise;
using tools::ExerciseMode;
using tools::Value;

proto::Instant at(double seconds) { return {static_cast<std::int64_t>(seconds * 1e9)}; }

Exercise exercise(const sim::Drill& one = drill(24), ExerciseMode mode = ExerciseMode::practice) {
    return {one, drills().cards, mode, proto::Instant{}, 0};
}

void do_it(Exercise& one, const ActFields& fields) {
    const auto refusal = one.act(fields);
    REQUIRE_MESSAGE(!refusal, (refusal ? std::string(refusal->why) : std::string()));
}

/// With every instrument used.
Exercise looked_at(const sim::Drill& one = drill(24)) {
    Exercise made = exercise(one);
    do_it(made, {{"act", "step"}, {"value", "2"}});
    for (const char* instrument : {"controller-panel", "io-panel", "time-line", "telegrams", "settings", "neighbour"})
        do_it(made, {{"act", "instrument"}, {"value", instrument}});
    return made;
}

const Value& link(const Value& state, std::size_t i) { return (*state.find("links")->list())[i]; }
std::string text(const Value& value, const char* key) { return std::string(value.find(key)->text()); }
bool is_null(const Value* value) { return value != nullptr && std::holds_alternative<Value::Null>(value->content()); }
bool holds(const Value& value, const std::string& words) {
    return tools::to_json(value).find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("each place of a line shows its own: the controller each link, each station itself") {
    const Exercise one = looked_at();
    const Value state = tools::exercise_state(one, true);
    REQUIRE(state.find("links") != nullptr);
    REQUIRE(state.find("links")->list()->size() == 3);
    const std::vector<std::pair<std::string, std::string>> names{
        {"infeed", "infeed I/O"}, {"turner", "turner drive"}, {"outfeed", "outfeed I/O"}};
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK(text(link(state, i), "name") == names[i].first);
        CHECK(text(link(state, i), "station") == names[i].second);
        CHECK(text(*link(state, i).find("controller"), "state") == (i == 0 ? "safe-state" : "running"));
        CHECK(text(*link(state, i).find("io"), "state") == (i == 0 ? "safe-state" : "running"));
        CHECK(link(state, i).find("controller")->find("trip_ms") != nullptr);
        CHECK(link(state, i).find("io")->find("trip_ms") == nullptr);
        CHECK(link(state, i).find("settings")->list()->size() > 5);
        CHECK_FALSE(link(state, i).find("telegrams")->find("latest")->list()->empty());
        CHECK(is_null(link(state, i).find("machine")) == (i != 1));
    }
    // what is of one link stands at no other place
    for (const char* key : {"controller", "io", "time_line", "telegrams", "settings"}) CHECK(is_null(state.find(key)));
    CHECK(state.find("neighbour")->list()->empty());
}

TEST_CASE("before an instrument is used it shows nothing, and what only the observer knows is told at the end") {
    const Exercise untouched = exercise();
    Value state = tools::exercise_state(untouched, false);
    for (std::size_t i = 0; i < 3; ++i)
        for (const char* key : {"controller", "io", "time_line", "telegrams", "settings"})
            CHECK(is_null(link(state, i).find(key)));
    Exercise one = looked_at();
    state = tools::exercise_state(one, false);
    CHECK_FALSE(holds(state, "\"fault\""));
    CHECK_FALSE(holds(state, drill(24).cause));
    do_it(one, {{"act", "cannot-tell"}});
    tests::do_and_hand_over(one, "lock-out,call-engineer");
    state = tools::exercise_state(one, true);
    const Value& score = *state.find("score");
    CHECK(text(score, "cause") == drill(24).cause);
    CHECK(score.find("right_link")->list()->front().text() == "infeed");
    CHECK(text(*score.find("strip"), "link") == "infeed");
    CHECK(score.find("ends")->list()->size() == 6);
    bool told = false;
    for (const Value& event : *score.find("story")->list())
        told = told || (text(event, "what") == "fault" && text(event, "link") == "infeed");
    CHECK(told);
}

TEST_CASE("of a station without supply nothing is told but that it is dark") {
    const Exercise one = looked_at(drill(24).variants.front());
    const Value state = tools::exercise_state(one, true);
    const Value& io = *link(state, 2).find("io");
    CHECK(io.object()->size() == 2);
    CHECK(io.find("dark")->is_true());
    CHECK(link(state, 0).find("io")->find("dark") == nullptr);
    CHECK(text(*link(state, 2).find("controller"), "state") == "safe-state");
}

TEST_CASE("the acts at a line name their link, and no other is known") {
    Exercise one = looked_at();
    CHECK(one.act({{"act", "acknowledge"}, {"value", "3"}})->why == "no such link");
    CHECK(one.act({{"act", "restart"}, {"value", "infeed"}})->why == "no such link");
    do_it(one, {{"act", "acknowledge"}, {"value", "1"}});
    CHECK(one.log().back().what == "acknowledge-link");
    CHECK(one.log().back().about == "turner");
    do_it(one, {{"act", "restart"}, {"value", "1"}});
    CHECK(one.log().back().what == "not-started");
    CHECK(one.log().back().about == "stop-asked-for");
    do_it(one, {{"act", "restart"}, {"value", "0"}});
    CHECK(one.log().back().about == "no-machine");
    do_it(one, {{"act", "acknowledge"}});
    CHECK(one.log().back().what == "acknowledge");
    // nothing asks to be acknowledged yet, and nothing moved: no danger
    CHECK(one.answers().dangerous.empty());
    // once the silent station is back its link asks, and who acknowledges then is told
    REQUIRE_FALSE(one.instruct({{"act", "take-out"}}));
    for (int i = 1; i < 30; ++i) one.run_on(at(i * 0.1));
    do_it(one, {{"act", "acknowledge"}, {"value", "2"}});
    CHECK(one.answers().dangerous.empty());  // another link
    do_it(one, {{"act", "acknowledge"}, {"value", "0"}});
    CHECK(one.answers().dangerous.size() == 1);
}

TEST_CASE("the link is named with the rest, and stands in the record") {
    Exercise one = looked_at();
    do_it(one, {{"act", "keep"}, {"value", "received-counters"}});
    ActFields named{{"act", "name"}, {"where", "both-ways"}, {"what", "loss"}, {"because", "received-counters"}};
    CHECK(one.act(named)->why == "link is missing");
    named["link"] = "7";
    CHECK(one.act(named)->why == "link is missing");
    named["link"] = "0";
    do_it(one, named);
    CHECK(one.answers().link == "infeed");
    for (const char* choice : {"leave-stopped", "people-back", "tell-shift", "lock-out"})
        do_it(one, {{"act", "conduct"}, {"value", choice}});
    tests::do_and_hand_over(
        one,
        "lock-out,examine-cable,tools-out,look-zone,locks-off,acknowledge,demand-guards,restart-machine,stop-once");
    CHECK(one.result() == "safe-and-found");
    CHECK(one.score()->points() == 100);
    CHECK(text(tools::exercise_record(one), "link") == "infeed");
    // a drill with one link has none to name
    Exercise other = exercise(drill(2));
    CHECK(tools::exercise_state(other, true).find("links") == nullptr);
    CHECK(tools::exercise_state(other, true).find("link") == nullptr);
}

TEST_CASE("the same acts at the same times give the same line again") {
    Exercise first = looked_at(), again = looked_at();
    const std::vector<std::pair<double, ActFields>> acts{{1, {{"act", "demand"}, {"value", "2"}}},
                                                         {3.5, {{"act", "acknowledge"}, {"value", "0"}}},
                                                         {4, {{"act", "restart"}, {"value", "1"}}}};
    for (const auto& [when, fields] : acts) {
        for (int i = 0; i < 40; ++i) first.run_on(at(when - 1 + i * 0.025));
        const proto::Instant now = first.bench().now();
        do_it(first, fields);
        again.repeat(now, fields, at(when));
    }
    CHECK(first.bench().now() == again.bench().now());
    CHECK(tools::to_json(tools::exercise_state(first, true)) == tools::to_json(tools::exercise_state(again, true)));
}
