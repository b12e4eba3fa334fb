// The vocabulary that the pages get: what an exercise takes and tells is in it.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "sim/capture/explain.hpp"
#include "sim/reading/read_drill.hpp"
#include "sim/training/exam.hpp"
#include "tests/support/drills.hpp"
#include "tests/support/works.hpp"
#include "tools/text/value.hpp"
#include "tools/training/exercise.hpp"

namespace {

using tests::drills;

tools::Exercise begun(unsigned number = 2) {
    return {*drills().find(number), drills().cards, tools::ExerciseMode::practice, proto::Instant{}, 0};
}

const tools::Value::Object& list_of(const tools::Value& vocabulary, const char* name) {
    const tools::Value* const list = vocabulary.find("words")->find(name);
    REQUIRE_MESSAGE(list != nullptr, name);
    return *list->object();
}

bool has(const tools::Value::Object& list, std::string_view id) {
    return std::any_of(list.begin(), list.end(), [&](const tools::Value::Member& one) { return one.key == id; });
}

TEST_CASE("every act of the vocabulary is taken or refused for a reason of its own, and no other is known") {
    for (const tools::Word& act : tools::act_words) {
        tools::Exercise exercise = begun();
        const auto refusal = exercise.act({{"act", std::string(act.id)}});
        if (refusal) CHECK_MESSAGE(refusal->why != "no such act", act.id);
    }
    tools::Exercise exercise = begun();
    CHECK(exercise.act({{"act", "no-such-act"}})->why == "no such act");
}

TEST_CASE("every kind of guard has its words, and every refusal of a start, and no device is meant by the I/O") {
    const tools::Value vocabulary = tools::vocabulary();
    using sim::GuardKind;
    for (const GuardKind kind : {GuardKind::mat, GuardKind::curtain, GuardKind::field, GuardKind::interlocked_guard,
                                 GuardKind::emergency_stop, GuardKind::two_hand, GuardKind::enabling})
        for (const char* list : {"demands", "demanded"}) CHECK(has(list_of(vocabulary, list), sim::name_of(kind)));
    for (unsigned i = 1; i < proto::refusal_count; ++i)
        CHECK(has(list_of(vocabulary, "start_refusals"), proto::name_of(static_cast<proto::Refusal>(i))));
    for (const tools::Value::Member& word : list_of(vocabulary, "start_refusals"))
        CHECK(word.value.text().find("device") == std::string_view::npos);
    // whoever lets go of a two-hand control holds no rod
    for (const sim::Drill& drill : drills().drills)
        for (const sim::Safeguard& guard : drill.scenario.safeguards)
            if (guard.name == "two_hand_control") CHECK(guard.kind == GuardKind::two_hand);
}

TEST_CASE("every fault that is offered can be put in, and is a word of a finding") {
    const tools::Value vocabulary = tools::vocabulary();
    const tools::Value::Object& offered = *vocabulary.find("faults")->object();
    CHECK(offered.size() == tools::fault_ways.size());
    for (const tools::Value::Member& fault : offered) {
        CHECK_MESSAGE(has(list_of(vocabulary, "what"), fault.value.text()), fault.key);
        tools::Exercise exercise = begun();
        const auto refusal = exercise.instruct({{"act", "put-in"}, {"way", fault.key}, {"where", "io"}});
        if (refusal) CHECK(refusal->why == "no neighbour here, or too many faults");
    }
    for (const std::string_view place : tools::fault_places) CHECK(has(list_of(vocabulary, "where"), place));
}

TEST_CASE("every measure, state and result has a word, and no word is empty") {
    const tools::Value vocabulary = tools::vocabulary();
    for (unsigned i = 0; i < proto::measure_count; ++i)
        CHECK(has(list_of(vocabulary, "causes"), proto::name_of(static_cast<proto::Measure>(i))));
    for (const char* result : {"safe-and-found", "safe-not-found", "dangerous-action", "not-secured", "nothing-read",
                               "not-finished", "drill-broken"})
        CHECK(has(list_of(vocabulary, "results"), result));
    for (unsigned i = 0; i <= static_cast<unsigned>(sim::ExamVerdict::not_judged); ++i)
        CHECK(sim::name_of(static_cast<sim::ExamVerdict>(i)) == tools::exam_words[i].id);
    CHECK(tools::not_started_words.size() == static_cast<std::size_t>(sim::StartRefusal::stop_asked_for) + 1);
    CHECK(has(list_of(vocabulary, "readings"), sim::test_demand_reading));
    for (const tools::Value::Member& list : *vocabulary.find("words")->object()) {
        CAPTURE(list.key);
        CHECK_FALSE(list.value.object()->empty());
        for (const tools::Value::Member& word : *list.value.object()) {
            CAPTURE(word.key);
            CHECK_FALSE(word.value.text().empty());
            CHECK(word.value.text() != "?");
        }
    }
}

TEST_CASE("what is told at the end of each drill has a word for each part and remark") {
    const tools::Value vocabulary = tools::vocabulary();
    CHECK(tools::part_words.size() == static_cast<std::size_t>(sim::Remark::Part::action) + 1);
    CHECK(tools::remark_words.size() == static_cast<std::size_t>(sim::Remark::Says::corrected) + 1);
    CHECK(tools::covered_words.size() == static_cast<std::size_t>(sim::ExplainedField::Covered::value) + 1);
    for (const sim::Drill& drill : drills().drills) {
        tools::Exercise exercise = begun(drill.number);
        tests::do_and_hand_over(exercise, "lock-out,call-engineer");
        if (!exercise.over()) continue;
        const tools::Value told = tools::debrief_state(exercise);
        CHECK(has(list_of(vocabulary, "results"), told.find("result")->text()));
        for (const tools::Value& event : *told.find("story")->list()) {
            const std::string_view what = event.find("what")->text();
            CHECK(has(list_of(vocabulary, "events"), what));
            if (what == "machine-not-started")
                CHECK(has(list_of(vocabulary, "not_started"), event.find("about")->text()));
            if (what.substr(0, 5) == "fault") CHECK(has(list_of(vocabulary, "what"), event.find("about")->text()));
            if (what == "changed") CHECK(has(list_of(vocabulary, "causes"), event.find("more")->text()));
        }
    }
}

}  // namespace
