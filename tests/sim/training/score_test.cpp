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
    drill.secure = {{"keep-out", "nobody inside"}, {"tell-shift", "the next"}};
    drill.expect.request = true;
    return drill;
}

std::vector<sim::ActionCard> cards() {
    using Kind = sim::ActionCard::Kind;
    return {{"lock-out", "Lock out", Kind::good_practice, "behind a lock of their own"},
            {"test-fibre", "Test the fibre", Kind::helps, "no fibre is bad", true},
            {"network-people", "", Kind::helps, "the network does what it should"},
            {"call-engineer", "", Kind::good_practice, "never wrong"},
            {"tools-out", "Tools out", Kind::good_practice, "thrown about"},
            {"look-zone", "Look into the zone", Kind::good_practice, "seen"},
            {"reset-guard", "", Kind::good_practice, "it starts nothing"},
            {"acknowledge", "", Kind::good_practice, "once"},
            {"demand-guards", "", Kind::good_practice, "its own signal falls"},
            {"restart-machine", "", Kind::good_practice, "an act of its own"},
            {"stop-once", "", Kind::good_practice, "it stops"},
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
    answers.actions = {"lock-out", "test-fibre", "tools-out", "look-zone", "acknowledge", "restart-machine"};
    answers.acted = true;
    return answers;
}

std::string reason(const sim::Score& score, sim::Remark::Says says, const std::string& about) {
    for (const sim::Remark& remark : score.remarks)
        if (remark.says == says && remark.about == about) return remark.why;
    return "not told";
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

TEST_CASE("what was done at the bench stays done, a card that was taken back is judged as what was handed in then") {
    sim::Answers answers = good();
    answers.dangerous = {{"acknowledge-early", "it may run again"}};
    CHECK(score(answers).result == DrillResult::dangerous_action);
    answers.dangerous.clear();
    answers.corrected = {{"raise-watchdog", "each ms costs two"}};
    const sim::Score s = score(answers);
    CHECK(s.result == DrillResult::safe_and_found);
    CHECK(s.dangerous.empty());
    // and the record tells both
    REQUIRE(s.corrected.size() == 1);
    CHECK(reason(s, sim::Remark::Says::corrected, "raise-watchdog") == "each ms costs two");
}

TEST_CASE("what lets it run again is dangerous before the cause is mended, and the missing step is the one named") {
    sim::Answers answers = good();
    answers.actions = {"lock-out", "acknowledge", "test-fibre"};
    sim::Score s = score(answers);
    CHECK(s.result == DrillResult::dangerous_action);
    REQUIRE(s.dangerous.size() == 1);
    CHECK(s.dangerous.front().id == "acknowledge");
    CHECK(s.dangerous.front().why == "Before that comes: Test the fibre. that is it");
    // the cause is mended, and nobody has looked
    for (const char* act : {"acknowledge", "restart-machine", "reset-guard"}) {
        answers.actions = {"lock-out", "test-fibre", act};
        s = score(answers);
        REQUIRE(s.dangerous.size() == 1);
        CHECK(s.dangerous.front().why.starts_with("Before that comes: Tools out. "));
        answers.actions = {"lock-out", "test-fibre", "tools-out", act};
        s = score(answers);
        REQUIRE(s.dangerous.size() == 1);
        CHECK(s.dangerous.front().why.starts_with("Before that comes: Look into the zone. "));
    }
    answers.actions = {"acknowledge"};
    CHECK(score(answers).dangerous.front().why == "Before that comes: Lock out. first");
}

TEST_CASE("another action may stand for a needed one, and then nothing is missing") {
    sim::Drill other = drill();
    other.needed[1].others = {"network-people"};
    sim::Answers answers = good();
    answers.actions = {"lock-out", "network-people", "look-zone", "acknowledge"};
    CHECK(sim::score_of(other, cards(), answers).result == DrillResult::safe_and_found);
    CHECK(score(answers).result == DrillResult::dangerous_action);
}

TEST_CASE("the whole way back to service can be chosen, and every step of it is told as right") {
    sim::Answers answers = good();
    answers.actions = {"lock-out",    "test-fibre",    "tools-out",       "look-zone", "reset-guard",
                       "acknowledge", "demand-guards", "restart-machine", "stop-once"};
    CHECK(answers.actions.size() <= sim::actions_max);
    const sim::Score s = score(answers);
    CHECK(s.points() == 100);
    for (const char* step : {"tools-out", "look-zone", "acknowledge", "demand-guards", "restart-machine", "stop-once"})
        CHECK(reason(s, sim::Remark::Says::right, step) != "not told");
    // what is dangerous where it stands is told as that alone
    answers.actions = {"test-fibre", "acknowledge"};
    const sim::Score hasty = score(answers);
    CHECK(hasty.dangerous.size() == 2);
    for (const sim::Remark& remark : hasty.remarks) CHECK(remark.about != "acknowledge");
}

TEST_CASE("what does nothing where it stands is told as that") {
    using Says = sim::Remark::Says;
    sim::Answers answers = good();
    answers.actions = {"lock-out", "test-fibre", "tools-out", "look-zone", "demand-guards", "restart-machine"};
    CHECK(reason(score(answers), Says::no_effect, "demand-guards").find("every bit is 0") != std::string::npos);
    CHECK(reason(score(answers), Says::no_effect, "restart-machine").find("acknowledged") != std::string::npos);
    sim::Drill healthy = drill();
    healthy.expect.request = false;
    healthy.expect.ends[0].state = proto::State::running;
    CHECK(reason(sim::score_of(healthy, cards(), good()), Says::no_effect, "acknowledge") != "not told");
}

TEST_CASE("cannot tell, locked out, called, with a reading that tells: a pass whatever the points") {
    sim::Answers answers = good();
    answers.cannot_tell = true;
    answers.where = answers.what = answers.because = "";
    answers.actions = {"lock-out", "call-engineer"};
    const sim::Score s = score(answers);
    CHECK(s.result == DrillResult::safe_not_found);
    CHECK(s.diagnosis == 0);
    CHECK(s.secure == 30);
    CHECK(s.action == 25);
}

TEST_CASE("no pass without a reading that tells, and no danger either") {
    for (const bool cannot_tell : {false, true})
        for (const std::vector<std::string>& kept :
             {std::vector<std::string>{}, {"signals"}, {"signals", "telegrams", "settings", "received-counters"}}) {
            sim::Answers answers = good();
            answers.cannot_tell = cannot_tell;
            answers.kept = kept;
            if (cannot_tell) answers.actions = {"lock-out", "call-engineer"};
            const sim::Score s = score(answers);
            CHECK(s.result == DrillResult::nothing_read);
            CHECK(s.evidence == 0);
            CHECK_FALSE(sim::passes(s.result));
        }
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

TEST_CASE("of several links, half right is what names the link that is half right") {
    sim::Drill of_three = drill();
    of_three.right.link = {"infeed"};
    of_three.half = {{{}, {"loss"}, {"outfeed"}}};
    const auto diagnosis = [&](const std::string& link, const std::string& what) {
        sim::Answers answers = good();
        answers.link = link;
        answers.what = what;
        return sim::score_of(of_three, cards(), answers).diagnosis;
    };
    CHECK(diagnosis("infeed", "loss") == 25);
    CHECK(diagnosis("outfeed", "loss") == 8);
    CHECK(diagnosis("outfeed", "delay") == 0);
    CHECK(diagnosis("table", "loss") == 0);
    CHECK(diagnosis("infeed", "delay") == 10);
    // which names no link is half right of the right one only
    of_three.half = {{{}, {"delay"}}};
    CHECK(diagnosis("infeed", "delay") == 18);
    CHECK(diagnosis("outfeed", "delay") == 0);
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

TEST_CASE("up to three readings may be kept, one of which tells") {
    sim::Answers answers = good();
    answers.kept = {"signals", "telegrams", "received-counters"};
    CHECK(score(answers).points() == 100);
}

TEST_CASE("who stands where decides what is asked for first") {
    sim::Drill people = drill();
    people.secure = {{"people-back", "a hand is in reach"}, {"tell-shift", ""}, {"tell-others", "two presses"}};
    sim::Answers answers = good();
    sim::Score s = sim::score_of(people, cards(), answers);
    CHECK(s.result == DrillResult::not_secured);
    CHECK(reason(s, sim::Remark::Says::missing, "people-back") == "a hand is in reach");
    CHECK(reason(s, sim::Remark::Says::missing, "tell-others") == "two presses");
    answers.conduct = {"people-back", "leave-stopped", "tell-shift", "tell-others"};
    CHECK(sim::score_of(people, cards(), answers).secure == 30);
    // who has people step back has barred the way too
    CHECK(score(answers).secure == 30);
}

TEST_CASE("a machine that still runs must be stopped: leaving it as it is does not do") {
    sim::Drill running = drill();
    running.must_be_stopped = true;
    CHECK(sim::score_of(running, cards(), good()).secure == 20);
    sim::Answers stopped = good();
    stopped.conduct = {"keep-out", "emergency-stop", "tell-shift"};
    CHECK(sim::score_of(running, cards(), stopped).secure == 30);
    // whoever isolates it has stopped it; and whoever does other things first is told so
    stopped.conduct = {"lock-out", "keep-out", "tell-shift"};
    CHECK(sim::score_of(running, cards(), stopped).secure == 30);
    CHECK(reason(sim::score_of(running, cards(), stopped), sim::Remark::Says::wrong_order, "lock-out") == "not told");
    stopped.conduct = {"keep-out", "tell-shift", "lock-out"};
    CHECK(reason(sim::score_of(running, cards(), stopped), sim::Remark::Says::wrong_order, "keep-out") != "not told");
}

TEST_CASE("an order in which the acknowledgement comes after the restart costs points, not the pass") {
    sim::Answers answers = good();
    answers.actions = {"lock-out", "test-fibre", "tools-out", "look-zone", "restart-machine", "acknowledge"};
    const sim::Score s = score(answers);
    CHECK(s.action == 19);
    CHECK(s.result == DrillResult::safe_and_found);
}

TEST_CASE("hands that go in before the machine is locked out are dangerous, and an emergency stop is no isolation") {
    for (const std::vector<std::string>& actions :
         {std::vector<std::string>{"test-fibre", "lock-out", "look-zone"}, {"test-fibre"}}) {
        sim::Answers answers = good();
        answers.conduct = {"keep-out", "emergency-stop", "tell-shift"};
        answers.actions = actions;
        const sim::Score s = score(answers);
        CHECK(s.result == DrillResult::dangerous_action);
        REQUIRE(s.dangerous.size() == 1);
        CHECK(s.dangerous.front().why.starts_with("Before that comes: Lock out. "));
        answers.conduct.emplace_back("lock-out");  // before anything else
        CHECK(score(answers).dangerous.empty());
    }
    sim::Answers answers = good();
    answers.conduct.emplace_back("lock-out");
    answers.actions = {"test-fibre"};
    CHECK(score(answers).result == DrillResult::safe_and_found);
}

TEST_CASE("a machine that is never locked out where the drill asks for it is not secured, though no hand goes in") {
    sim::Answers answers = good();
    answers.actions = {"power-cycle"};
    CHECK(score(answers).result == DrillResult::not_secured);
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
