// Conduct before speed: what answers are worth.
#include <doctest/doctest.h>

#include <string>

#include "sim/training/score.hpp"

namespace {

using sim::DrillResult;

sim::Drill drill() {
    sim::Drill drill;
    drill.evidence = {"received-counters"};
    drill.right = {{"way-back"}, {"loss"}};
    drill.half = {{{}, {"delay"}}};
    drill.half_why = "nothing came at all";
    drill.needed = {{"lock-out", "first"}, {"test-fibre", "that is it"}};
    drill.dangers = {{"carry-on", "it is no sign of life"}};
    return drill;
}

std::vector<sim::ActionCard> cards() {
    using Kind = sim::ActionCard::Kind;
    return {{"lock-out", "", Kind::helps, ""},
            {"test-fibre", "", Kind::helps, ""},
            {"call-engineer", "", Kind::helps, ""},
            {"acknowledge", "", Kind::helps, ""},
            {"restart-machine", "", Kind::helps, ""},
            {"carry-on", "", Kind::helps, ""},
            {"power-cycle", "", Kind::no_help, "the counters are gone now"},
            {"acknowledge-early", "", Kind::dangerous, "it may run again"},
            {"raise-watchdog", "", Kind::dangerous, "each ms costs two"}};
}

sim::Answers good() {
    sim::Answers answers;
    answers.conduct = {"keep-out", "leave-stopped", "tell-shift"};
    answers.kept = {"signals", "received-counters"};
    answers.where = "way-back";
    answers.what = "loss";
    answers.because = "received-counters";
    answers.actions = {"lock-out", "test-fibre", "acknowledge", "restart-machine"};
    answers.acted = true;
    return answers;
}

sim::Score score(const sim::Answers& answers) { return sim::score_of(drill(), cards(), answers); }

}  // namespace

TEST_CASE("all done right gives 100 points, safe and found") {
    const sim::Score s = score(good());
    CHECK(s.points() == 100);
    CHECK(s.result == DrillResult::safe_and_found);
    CHECK(s.dangerous.empty());
}

TEST_CASE("a lucky guess without evidence and without securing is 50 points and not passed") {
    sim::Answers answers = good();
    answers.conduct.clear();
    answers.kept.clear();
    const sim::Score s = score(answers);
    CHECK(s.points() == 50);
    CHECK(s.result == DrillResult::not_secured);
}

TEST_CASE("a dangerous action fails whatever the points, and is named with its reason") {
    sim::Answers answers = good();
    answers.actions = {"lock-out", "test-fibre", "raise-watchdog"};
    const sim::Score s = score(answers);
    CHECK(s.result == DrillResult::dangerous_action);
    REQUIRE(s.dangerous.size() == 1);
    CHECK(s.dangerous.front().id == "raise-watchdog");
    CHECK(s.dangerous.front().why == "each ms costs two");
}

TEST_CASE("a danger of the drill itself counts, although its card is harmless elsewhere") {
    sim::Answers answers = good();
    answers.actions = {"lock-out", "test-fibre", "carry-on"};
    CHECK(score(answers).result == DrillResult::dangerous_action);
}

TEST_CASE("a dangerous act that was explained and taken back stays done") {
    sim::Answers answers = good();
    answers.dangerous = {{"acknowledge-early", "it may run again"}};
    CHECK(score(answers).result == DrillResult::dangerous_action);
}

TEST_CASE("acknowledging before the cause is mended is dangerous, afterwards it is not") {
    sim::Answers answers = good();
    answers.actions = {"lock-out", "acknowledge", "test-fibre"};
    const sim::Score s = score(answers);
    CHECK(s.result == DrillResult::dangerous_action);
    REQUIRE(s.dangerous.size() == 1);
    CHECK(s.dangerous.front().id == "acknowledge");
    CHECK(s.dangerous.front().why == "it may run again");
}

TEST_CASE("cannot tell, locked out, called: a pass whatever the points") {
    sim::Answers answers = good();
    answers.cannot_tell = true;
    answers.where = answers.what = answers.because = "";
    answers.kept.clear();
    answers.actions = {"lock-out", "call-engineer"};
    const sim::Score s = score(answers);
    CHECK(s.result == DrillResult::safe_not_found);
    CHECK(s.diagnosis == 0);
    CHECK(s.secure == 30);
    CHECK(s.action == 25);
}

TEST_CASE("a wrong diagnosis with all secured and done is safe, not found") {
    sim::Answers answers = good();
    answers.what = "corruption";
    const sim::Score s = score(answers);
    CHECK(s.result == DrillResult::safe_not_found);
    CHECK(s.diagnosis == 10);
}

TEST_CASE("half right gives 8 points for what, with the reason") {
    sim::Answers answers = good();
    answers.what = "delay";
    const sim::Score s = score(answers);
    CHECK(s.diagnosis == 18);
    bool told = false;
    for (const sim::Remark& remark : s.remarks)
        told = told || (remark.says == sim::Remark::Says::half_right && remark.why == "nothing came at all");
    CHECK(told);
}

TEST_CASE("safe but no help is told, and is not dangerous") {
    sim::Answers answers = good();
    answers.actions = {"lock-out", "test-fibre", "power-cycle"};
    const sim::Score s = score(answers);
    CHECK(s.result == DrillResult::safe_and_found);
    bool told = false;
    for (const sim::Remark& remark : s.remarks)
        told = told || (remark.says == sim::Remark::Says::no_help && remark.why == "the counters are gone now");
    CHECK(told);
}

TEST_CASE("reading many instruments never costs points") {
    sim::Answers answers = good();
    answers.kept = {"signals", "telegrams", "time-line", "settings", "received-counters"};
    CHECK(score(answers).points() == 100);
}

TEST_CASE("a machine that still runs must be stopped: leaving it as it is does not do") {
    sim::Drill running = drill();
    running.must_be_stopped = true;
    CHECK(sim::score_of(running, cards(), good()).secure == 20);
    sim::Answers stopped = good();
    stopped.conduct = {"keep-out", "emergency-stop", "tell-shift"};
    CHECK(sim::score_of(running, cards(), stopped).secure == 30);
}

TEST_CASE("an order in which the acknowledgement comes after the restart costs points, not the pass") {
    sim::Answers answers = good();
    answers.actions = {"lock-out", "test-fibre", "restart-machine", "acknowledge"};
    const sim::Score s = score(answers);
    CHECK(s.action == 19);
    CHECK(s.result == DrillResult::safe_and_found);
}

TEST_CASE("hands that go in before the machine is locked out are not secured, whatever was found") {
    for (const std::vector<std::string>& actions :
         {std::vector<std::string>{"test-fibre", "lock-out", "acknowledge"}, {"test-fibre"}, {"power-cycle"}}) {
        sim::Answers answers = good();
        answers.actions = actions;
        CHECK(score(answers).result == DrillResult::not_secured);
        answers.conduct.emplace_back("lock-out");  // before anything else
        CHECK(score(answers).result != DrillResult::not_secured);
    }
    sim::Answers answers = good();
    answers.conduct.emplace_back("lock-out");
    answers.actions = {"test-fibre"};
    CHECK(score(answers).result == DrillResult::safe_and_found);
}

TEST_CASE("a right diagnosis with nothing done about it is not finished") {
    sim::Answers answers = good();
    answers.actions = {"lock-out", "power-cycle"};
    CHECK(score(answers).result == DrillResult::not_finished);
}

TEST_CASE("whoever calls before the machine is locked out leaves it as it is meanwhile, which costs points") {
    sim::Answers answers = good();
    answers.actions = {"call-engineer", "lock-out", "test-fibre"};
    CHECK(score(answers).result == DrillResult::safe_and_found);
    CHECK(score(answers).action == 19);
}

TEST_CASE("a drill that was not finished is told as that") {
    sim::Answers answers = good();
    answers.acted = false;
    CHECK(score(answers).result == DrillResult::not_finished);
}
