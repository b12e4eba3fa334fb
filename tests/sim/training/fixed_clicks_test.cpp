// Nobody passes who reads nothing: players who click the same in every drill, whatever it shows.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "sim/reading/read_drill.hpp"
#include "sim/training/exam.hpp"
#include "sim/training/score.hpp"
#include "tests/support/drills.hpp"

namespace {

using tests::drills;

/// The careful ritual: all that can be asked for in the first step, locked out, and a call.
sim::Answers ritual() {
    sim::Answers answers;
    answers.conduct = {"emergency-stop", "people-back", "keep-out", "lock-out", "tell-shift", "tell-others"};
    answers.actions = {"lock-out", "call-engineer"};
    answers.cannot_tell = true;
    answers.acted = true;
    return answers;
}

std::vector<std::string> all_readings() {
    std::vector<std::string> all(sim::reading_words.begin(), sim::reading_words.end());
    all.emplace_back(sim::test_demand_reading);
    return all;
}

const std::vector<std::vector<unsigned>>& exams() {
    static const std::vector<std::vector<unsigned>> all = [] {
        std::vector<std::vector<unsigned>> drawn;
        for (std::uint64_t seed = 0; seed < 300; ++seed) drawn.push_back(sim::exam_of(drills(), seed));
        return drawn;
    }();
    return all;
}

/// Whether a player of these clicks passes any of so many exams.
bool passes_an_exam(const sim::Answers& answers) {
    std::map<unsigned, sim::DrillResult> results;
    for (const sim::Drill& drill : drills().drills)
        results[drill.number] = sim::score_of(drill, drills().cards, answers).result;
    return std::any_of(exams().begin(), exams().end(), [&](const std::vector<unsigned>& asked) {
        sim::ExamResults exam;
        for (const unsigned number : asked) exam.emplace_back(results.at(number));
        return sim::exam_verdict(exam, sim::exam_drills) == sim::ExamVerdict::passed;
    });
}

}  // namespace

TEST_CASE("whoever clicks the ritual and reads nothing, or keeps everything, passes no drill and is in no danger") {
    for (const std::vector<std::string>& kept : {std::vector<std::string>{}, all_readings()}) {
        sim::Answers answers = ritual();
        answers.kept = kept;
        for (const sim::Drill& drill : drills().drills) {
            CAPTURE(drill.number);
            const sim::Score score = sim::score_of(drill, drills().cards, answers);
            CHECK(score.evidence == 0);
            CHECK(score.result == sim::DrillResult::nothing_read);
        }
        CHECK_FALSE(passes_an_exam(answers));
    }
}

TEST_CASE("no fixed choice of readings passes an exam, whatever is named with it") {
    const std::vector<std::string> readings = all_readings();
    std::size_t players = 0;
    for (std::size_t a = 0; a < readings.size(); ++a)
        for (std::size_t b = a; b < readings.size(); ++b)
            for (std::size_t c = b; c < readings.size(); ++c) {
                sim::Answers answers = ritual();
                answers.kept = {readings[a]};
                if (b != a) answers.kept.push_back(readings[b]);
                if (c != b) answers.kept.push_back(readings[c]);
                CHECK_FALSE(passes_an_exam(answers));
                ++players;
                // and, for one player in seven, each diagnosis with those readings
                if (players % 7 != 0) continue;
                answers.cannot_tell = false;
                answers.because = readings[a];
                for (const std::string_view where : sim::where_words)
                    for (const std::string_view what : sim::what_words) {
                        answers.where = where;
                        answers.what = what;
                        // of three stations one is named as well
                        for (const char* link : {"", "infeed", "turner", "outfeed"}) {
                            answers.link = link;
                            if (passes_an_exam(answers)) FAIL_CHECK(where << " " << what << " " << link);
                        }
                    }
            }
    CHECK(players == 455);
}

TEST_CASE("whoever answers each drill as it is passes every exam") {
    for (const sim::Drill& drill : drills().drills) {
        CAPTURE(drill.number);
        sim::Answers answers;
        answers.conduct = {drill.must_be_stopped ? "emergency-stop" : "leave-stopped"};
        for (const sim::Reasoned& one : drill.secure) answers.conduct.push_back(one.id);
        answers.kept = {drill.evidence.front()};
        if (!drill.right.link.empty()) answers.link = drill.right.link.front();
        answers.where = drill.right.where.front();
        answers.what = drill.right.what.front();
        answers.because = drill.evidence.front();
        for (const sim::Needed& one : drill.needed) answers.actions.push_back(one.id);
        answers.acted = true;
        const sim::Score score = sim::score_of(drill, drills().cards, answers);
        CHECK(score.points() == 100);
        CHECK(score.result == sim::DrillResult::safe_and_found);
        // and so does every action that may stand for another
        for (std::size_t i = 0; i < drill.needed.size(); ++i)
            for (const std::string& other : drill.needed[i].others) {
                sim::Answers with = answers;
                with.actions[i] = other;
                CHECK(sim::score_of(drill, drills().cards, with).result == sim::DrillResult::safe_and_found);
            }
    }
}

TEST_CASE("every card has a reason in every drill, and what is good practice is never told as no help") {
    for (const sim::Drill& drill : drills().drills)
        for (const sim::ActionCard& card : drills().cards) {
            CAPTURE(drill.number);
            CAPTURE(card.id);
            sim::Answers answers;
            answers.actions = {card.id};
            answers.acted = true;
            const sim::Score score = sim::score_of(drill, drills().cards, answers);
            std::size_t told = 0;
            for (const sim::Reasoned& danger : score.dangerous) told += danger.why.empty() ? 0U : 1U;
            for (const sim::Remark& remark : score.remarks) {
                if (remark.part != sim::Remark::Part::action || remark.about != card.id) continue;
                told += remark.why.empty() ? 0U : 1U;
                if (card.kind == sim::ActionCard::Kind::good_practice) CHECK(remark.says != sim::Remark::Says::no_help);
            }
            const bool alternative = std::any_of(drill.needed.begin(), drill.needed.end(), [&](const auto& needed) {
                return std::find(needed.others.begin(), needed.others.end(), card.id) != needed.others.end();
            });
            CHECK((told > 0 || alternative));
        }
}

TEST_CASE("whoever names another station than the silent one has found nothing, whatever else is named") {
    const sim::Drill& drill = *drills().find(24);
    for (const sim::Drill* const one : {&drill, &drill.variants[0], &drill.variants[1]}) {
        sim::Answers answers;
        answers.conduct = {"leave-stopped"};
        for (const sim::Reasoned& asked : one->secure) answers.conduct.push_back(asked.id);
        answers.kept = {one->evidence.front()};
        answers.where = one->right.where.front();
        answers.what = one->right.what.front();
        for (const sim::Needed& needed : one->needed) answers.actions.push_back(needed.id);
        answers.acted = true;
        for (const char* link : {"", "infeed", "turner", "outfeed"}) {
            answers.link = link;
            const sim::Score score = sim::score_of(*one, drills().cards, answers);
            const bool right = link == one->right.link.front();
            CHECK(score.diagnosis == (right ? 25 : 0));
            CHECK(score.result == (right ? sim::DrillResult::safe_and_found : sim::DrillResult::safe_not_found));
        }
    }
}

TEST_CASE("the way back of a line has an order: mend, tools out, look, locks off, acknowledge, demand, restart") {
    const sim::Drill& drill = *drills().find(24);
    std::vector<std::string> ids;
    for (const sim::Needed& one : drill.needed) ids.push_back(one.id);
    CHECK(ids == std::vector<std::string>{"lock-out", "examine-cable", "tools-out", "look-zone", "locks-off",
                                          "acknowledge", "demand-guards", "restart-machine", "stop-once"});
    for (std::size_t i = 0; i < ids.size(); ++i) {
        sim::Answers answers;
        answers.actions = ids;
        CHECK_FALSE(sim::danger_of(drill, drills().cards, answers, i));
    }
    sim::Answers hasty;
    hasty.actions = {"lock-out", "acknowledge", "examine-cable", "look-zone"};
    REQUIRE(sim::danger_of(drill, drills().cards, hasty, 1));
    hasty.actions = {"examine-cable"};
    REQUIRE(sim::danger_of(drill, drills().cards, hasty, 0));
}

TEST_CASE("what stays out of service is given back by nobody who trains here") {
    for (const unsigned number : {15U, 16U, 17U}) {
        const sim::Drill& drill = *drills().find(number);
        for (const char* act : {"reset-guard", "acknowledge", "restart-machine"}) {
            sim::Answers answers;
            for (const sim::Needed& one : drill.needed) answers.actions.push_back(one.id);
            CHECK(answers.actions.front() == "lock-out");
            answers.actions.emplace_back("look-zone");
            answers.actions.emplace_back(act);
            const auto why = sim::danger_of(drill, drills().cards, answers, answers.actions.size() - 1);
            REQUIRE(why);
            CHECK(why->find("stays out of service") != std::string::npos);
        }
    }
}

TEST_CASE("acts that let it run again have their own reason, and it is never that of another") {
    for (const sim::Drill& drill : drills().drills) {
        if (drill.must_be_stopped) continue;  // those stay out of service, see above
        CAPTURE(drill.number);
        sim::Answers answers;
        answers.conduct = {"lock-out"};
        for (const sim::Needed& one : drill.needed)
            if (one.id != "look-zone" && one.id != "locks-off" && one.id != "reset-guard" &&
                one.id != "restart-machine")
                answers.actions.push_back(one.id);
        // hands may have been in it, by what the drill needs
        answers.actions.emplace_back("tools-out");
        for (const char* act : {"acknowledge", "restart-machine", "reset-guard"}) {
            sim::Answers mended = answers;
            mended.actions.emplace_back(act);
            const auto why = sim::danger_of(drill, drills().cards, mended, mended.actions.size() - 1);
            REQUIRE(why);
            CHECK(why->find("Look into the whole zone") != std::string::npos);
            mended.actions.insert(mended.actions.end() - 1, "look-zone");
            CHECK_FALSE(sim::danger_of(drill, drills().cards, mended, mended.actions.size() - 1));
        }
    }
}
