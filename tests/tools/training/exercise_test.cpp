// One trainee at one drill: acts are checked, and the same acts at the same plant times give the same exercise again.
#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

#include "sim/reading/read_drill.hpp"
#include "tests/support/drills.hpp"
#include "tests/support/works.hpp"
#include "tools/text/json.hpp"
#include "tools/training/exercise.hpp"

namespace {

using proto::Instant;
using tools::ActFields;
using tools::ExerciseMode;

using tests::drills;
Instant at(double seconds) { return {static_cast<std::int64_t>(seconds * 1e9)}; }

tools::Exercise exercise(unsigned number, ExerciseMode mode = ExerciseMode::practice) {
    return {*drills().find(number), drills().cards, mode, at(0), 0};
}
void do_it(tools::Exercise& one, const ActFields& fields) { REQUIRE_FALSE(one.act(fields)); }

}  // namespace

TEST_CASE("an exercise is taken up again as it was") {
    auto first = exercise(21);
    const std::vector<std::pair<double, ActFields>> acts{
        {0.3, {{"act", "conduct"}, {"value", "keep-out"}}},
        {0.9, {{"act", "conduct"}, {"value", "leave-stopped"}}},
        {1.1, {{"act", "step"}, {"value", "2"}}},
        {1.7, {{"act", "instrument"}, {"value", "io-panel"}}},
        {2.0, {{"act", "demand"}, {"value", "0"}}},
        {2.6, {{"act", "keep"}, {"value", "signals"}}},
        {3.1, {{"act", "put-in"}, {"way", "drop"}, {"where", "both-ways"}, {"lasting_ms", "300"}}},
        {4.9, {{"act", "acknowledge"}}},
        {6.0, {{"act", "understood"}}}};
    std::vector<std::pair<Instant, ActFields>> kept;
    for (const auto& [seconds, fields] : acts) {
        // in the first exercise time comes in many steps
        for (int step = 0; step < 5; ++step) first.run_on(at(seconds - 0.2 + 0.04 * step));
        first.run_on(at(seconds));
        kept.emplace_back(first.bench().now(), fields);
        if (first.act(fields)) REQUIRE_FALSE(first.instruct(fields));
    }
    auto again = exercise(21);
    for (const auto& [plant, fields] : kept) again.repeat(plant, fields, at(100));
    first.run_on(at(7.5));
    const auto apart = first.bench().now() - again.bench().now();
    again.run_on(at(100) + apart);
    CHECK(first.bench().now() == again.bench().now());
    CHECK(tools::to_json(tools::exercise_state(first, true)) == tools::to_json(tools::exercise_state(again, true)));
    CHECK(first.bench().panel(sim::End::device).counters.received > 100);
    // and all that the instruments would show
    for (tools::Exercise* one : {&first, &again})
        for (const char* instrument : {"telegrams", "time-line", "controller-panel"})
            do_it(*one, {{"act", "instrument"}, {"value", instrument}});
    CHECK(tools::to_json(tools::exercise_state(first, true)) == tools::to_json(tools::exercise_state(again, true)));
}

TEST_CASE("a danger counts once, is not told in an exam before its end, and the trainer's hand stands in the record") {
    auto one = exercise(20, ExerciseMode::exam);
    for (int i = 0; i < 50; ++i) do_it(one, {{"act", "conduct"}, {"value", "acknowledge-first"}});
    CHECK(one.answers().dangerous.size() == 1);
    REQUIRE_FALSE(one.instruct({{"act", "put-in"}, {"way", "drop"}, {"where", "way-out"}}));
    const std::string shown = tools::to_json(tools::exercise_state(one, false));
    CHECK(shown.find("danger") == std::string::npos);
    CHECK(shown.find("put-in") == std::string::npos);
    tests::do_and_hand_over(one, "call-engineer");
    const std::string record = tools::to_json(tools::exercise_record(one));
    CHECK(record.find("put-in") != std::string::npos);
    CHECK(record.find("\"danger\"") != std::string::npos);
}

TEST_CASE("the emergency stop of the first step stops a machine whose guards do not") {
    auto one = exercise(15);
    one.run_on(at(0.5));
    CHECK(one.bench().machine_moves());
    do_it(one, {{"act", "conduct"}, {"value", "emergency-stop"}});
    one.run_on(at(1.5));
    CHECK_FALSE(one.bench().machine_moves());
}

TEST_CASE("whoever acts at the bench before the cause is found is told why, and it stays done") {
    auto one = exercise(5);
    do_it(one, {{"act", "acknowledge"}});
    REQUIRE(one.warned());
    const std::string first = one.warned()->why;
    do_it(one, {{"act", "understood"}});
    one.run_on(at(1));
    do_it(one, {{"act", "restart"}});
    REQUIRE(one.warned());
    CHECK(one.warned()->id == "restart-early");
    CHECK(one.warned()->why != first);
    CHECK(one.answers().dangerous.size() == 2);
    CHECK(one.answers().corrected.empty());
}

TEST_CASE("a locked-out machine does not start, in the first step and as a card, and the log says why") {
    auto one = exercise(15);
    one.run_on(at(0.5));
    REQUIRE(one.bench().machine_moves());
    do_it(one, {{"act", "conduct"}, {"value", "lock-out"}});
    one.run_on(at(1.5));
    CHECK_FALSE(one.bench().machine_moves());
    do_it(one, {{"act", "restart"}});
    one.run_on(at(2.5));
    CHECK_FALSE(one.bench().machine_moves());
    CHECK_FALSE(one.warned());
    REQUIRE(one.log().size() >= 2);
    CHECK(one.log().back().what == "not-started");
    CHECK(one.log().back().about == "isolated");
    const std::string shown = tools::to_json(tools::exercise_state(one, true));
    CHECK(shown.find("\"isolated\": true") != std::string::npos);

    auto card = exercise(15);
    REQUIRE(card.bench().machine_moves());
    tests::do_and_hand_over(card, "lock-out,call-engineer");
    REQUIRE(card.over());
    card.run_on(at(1));
    CHECK_FALSE(card.bench().machine_moves());
    CHECK(card.bench().plant().machine()->held(sim::MachineModel::Hold::isolation));
}

TEST_CASE("a start under a latched emergency stop is told as refused by it") {
    auto one = exercise(15);
    do_it(one, {{"act", "conduct"}, {"value", "emergency-stop"}});
    one.run_on(at(1));
    do_it(one, {{"act", "restart"}});
    CHECK(one.log().back().about == "emergency-stop");
    CHECK(tools::to_json(tools::exercise_state(one, true)).find("\"emergency_stop\": true") != std::string::npos);
}

TEST_CASE("a machine that moves cannot be left stopped") {
    auto one = exercise(15);
    const auto refusal = one.act({{"act", "conduct"}, {"value", "leave-stopped"}});
    REQUIRE(refusal);
    CHECK(refusal->why == "it-moves");
    CHECK(one.answers().conduct.empty());
}

TEST_CASE("a machine that had to be stopped is stopped before anything is looked at") {
    auto practice = exercise(15);
    CHECK(practice.act({{"act", "step"}, {"value", "2"}})->why == "still-moves");
    do_it(practice, {{"act", "conduct"}, {"value", "lock-out"}});
    practice.run_on(at(1));
    do_it(practice, {{"act", "step"}, {"value", "2"}});
    CHECK_FALSE(practice.answers().stopped_late);
    // whoever goes on while it slows down has stopped it
    auto quick = exercise(17, ExerciseMode::exam);
    do_it(quick, {{"act", "conduct"}, {"value", "emergency-stop"}});
    REQUIRE(quick.bench().machine_moves());
    do_it(quick, {{"act", "step"}, {"value", "2"}});
    do_it(quick, {{"act", "instrument"}, {"value", "time-line"}});
    CHECK_FALSE(quick.answers().stopped_late);
    auto exam = exercise(15, ExerciseMode::exam);
    do_it(exam, {{"act", "step"}, {"value", "2"}});
    do_it(exam, {{"act", "conduct"}, {"value", "lock-out"}});
    tests::do_and_hand_over(exam, "lock-out,call-engineer");
    CHECK(exam.score()->secure < 30);
    CHECK(exam.result() == "not-secured");
}

TEST_CASE("a guard that somebody latched is not reset before anybody has looked, one's own test is") {
    auto one = exercise(21);
    do_it(one, {{"act", "reset"}});
    REQUIRE(one.warned());
    CHECK(one.warned()->id == "reset-early");
    CHECK(one.answers().dangerous.size() == 1);
    auto own = exercise(16);
    do_it(own, {{"act", "conduct"}, {"value", "emergency-stop"}});
    own.run_on(at(1));
    do_it(own, {{"act", "demand"}, {"value", "1"}});
    for (int i = 2; i < 8; ++i) own.run_on(at(i));
    REQUIRE(own.bench().plant().safeguard(1).latched());
    do_it(own, {{"act", "reset"}});
    CHECK_FALSE(own.warned());
}

TEST_CASE("what is kept after naming is no evidence for it") {
    for (const bool cannot_tell : {false, true}) {
        auto one = exercise(3);
        do_it(one, {{"act", "keep"}, {"value", "signals"}});
        if (cannot_tell)
            do_it(one, {{"act", "cannot-tell"}});
        else
            do_it(one, {{"act", "name"}, {"where", "way-out"}, {"what", "repetition"}, {"because", "signals"}});
        do_it(one, {{"act", "instrument"}, {"value", "telegrams"}});
        do_it(one, {{"act", "keep"}, {"value", "telegrams"}});
        tests::do_and_hand_over(one, "lock-out,call-engineer");
        CHECK(one.score()->evidence == 0);
        CHECK(one.answers().kept == std::vector<std::string>{"signals"});
    }
}

TEST_CASE("a fourth reading is kept only once another is dropped") {
    auto one = exercise(2);
    for (const char* instrument : {"controller-panel", "io-panel", "telegrams"})
        do_it(one, {{"act", "instrument"}, {"value", instrument}});
    for (const char* reading : {"controller-panel", "io-panel", "telegrams"})
        do_it(one, {{"act", "keep"}, {"value", reading}});
    const auto refusal = one.act({{"act", "keep"}, {"value", "received-counters"}});
    REQUIRE(refusal);
    CHECK(refusal->why == "enough-kept");
    do_it(one, {{"act", "keep"}, {"value", "telegrams"}});
    do_it(one, {{"act", "keep"}, {"value", "received-counters"}});
    CHECK(one.answers().kept.size() == sim::kept_max);
}

TEST_CASE("acts are bounded") {
    auto one = exercise(20);
    for (std::size_t i = 0; i < tools::Exercise::acts_max; ++i)
        do_it(one, {{"act", "conduct"}, {"value", "tell-shift"}});
    CHECK(one.act({{"act", "conduct"}, {"value", "tell-shift"}})->status == 409);
    CHECK(one.log().size() == tools::Exercise::log_lines_max);
}

TEST_CASE("what cannot be done is refused and changes nothing") {
    auto one = exercise(2);
    const std::string before = tools::to_json(tools::exercise_state(one, true));
    const std::vector<ActFields> wrong{
        {},
        {{"act", "nonsense"}},
        {{"act", "step"}, {"value", "5"}},
        {{"act", "step"}, {"value", "two"}},
        {{"act", "conduct"}, {"value", "run away"}},
        {{"act", "instrument"}, {"value", "test-demand"}},
        {{"act", "keep"}, {"value", "telegrams"}},
        {{"act", "keep"}, {"value", "cards"}},
        {{"act", "demand"}, {"value", "9"}},
        {{"act", "name"}, {"where", "way-back"}, {"what", "loss"}, {"because", "signals"}},
        {{"act", "do"}, {"value", "lock-out"}},
        {{"act", "hand-over"}},
        {{"act", "work"}, {"value", "lock-out"}},
        {{"act", "work"}, {"value", "no-such-card"}}};
    for (const ActFields& fields : wrong) {
        CAPTURE(tools::field_of(fields, "act"));
        const auto refusal = one.act(fields);
        REQUIRE(refusal);
        CHECK(refusal->status >= 400);
    }
    CHECK(tools::to_json(tools::exercise_state(one, true)) == before);
}

TEST_CASE("a dangerous card is explained and taken back in practice, and counts in an exam, told at its end") {
    for (const ExerciseMode mode : {ExerciseMode::practice, ExerciseMode::exam}) {
        auto one = exercise(2, mode);
        for (const char* conduct : {"keep-out", "leave-stopped", "tell-shift"})
            do_it(one, {{"act", "conduct"}, {"value", conduct}});
        for (const char* panel : {"controller-panel", "io-panel"})
            do_it(one, {{"act", "instrument"}, {"value", panel}});
        do_it(one, {{"act", "keep"}, {"value", "received-counters"}});
        do_it(one, {{"act", "name"}, {"where", "way-back"}, {"what", "loss"}, {"because", "received-counters"}});
        tests::do_works(one, "raise-watchdog");
        CHECK(one.warned().has_value() == (mode == ExerciseMode::practice));
        CHECK(one.at_plant().outcomes.size() == (mode == ExerciseMode::practice ? 1 : 0));
        tests::do_and_hand_over(one, "lock-out,test-fibre");
        REQUIRE(one.over());
        CHECK(one.at_plant().outcomes.size() == 1);
        const bool practice = mode == ExerciseMode::practice;
        CHECK(one.result() == (practice ? "safe-and-found" : "dangerous-action"));
        CHECK(one.score()->dangerous.size() == (practice ? 0 : 1));
        CHECK(one.score()->corrected.size() == (practice ? 1 : 0));
        const std::string record = tools::to_json(tools::exercise_record(one));
        CHECK(record.find("raise-watchdog") != std::string::npos);
        CHECK((record.find("\"taken-back\"") != std::string::npos) == practice);
        CHECK(one.act({{"act", "step"}, {"value", "2"}})->status == 409);
    }
    auto exam = exercise(2, ExerciseMode::exam);
    CHECK(exam.act({{"act", "hint"}})->status == 409);
}

TEST_CASE("before its end an exercise tells neither its cause nor, in an exam, its title") {
    auto one = exercise(9, ExerciseMode::exam);
    do_it(one, {{"act", "instrument"}, {"value", "time-line"}});
    const std::string shown = tools::to_json(tools::exercise_state(one, false));
    CHECK(shown.find(drills().find(9)->title) == std::string::npos);
    CHECK(shown.find(drills().find(9)->cause) == std::string::npos);
    CHECK(shown.find("\"fault\"") == std::string::npos);
    tests::do_and_hand_over(one, "lock-out,call-engineer");
    const std::string told = tools::to_json(tools::exercise_state(one, true));
    CHECK(told.find(drills().find(9)->cause) != std::string::npos);
    CHECK(told.find("\"fault\"") != std::string::npos);
}

TEST_CASE("a clock that nobody looked at does not catch up") {
    auto one = exercise(20);
    const Instant begun = one.bench().now();
    one.run_on(at(3600));
    CHECK(one.bench().now() - begun <= proto::seconds(2));
    one.run_on(at(3601));
    CHECK(one.bench().now() - begun <= proto::seconds(3));
}

TEST_CASE("how long a drill took does not depend on the clock on the wall, and goes on after a restart") {
    tools::Exercise one(*drills().find(20), drills().cards, ExerciseMode::practice, at(100), 1'700'000'000);
    for (int i = 0; i <= 120; ++i) one.run_on(at(100 + i * 0.1));
    CHECK(one.took_s() == 12);
    auto again = exercise(20);
    again.repeat(one.bench().now(), {{"act", "conduct"}, {"value", "keep-out"}}, at(3));
    CHECK(again.took_s() == 12);
    again.run_on(at(5));
    CHECK(again.took_s() == 14);
}
