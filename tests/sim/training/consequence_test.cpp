// What a dangerous act leads to is played on the drill's own plant, and told no milder than it came out.
#include <doctest/doctest.h>

#include <string>

#include "sim/reading/read_drill.hpp"
#include "sim/training/consequence.hpp"
#include "tests/support/drills.hpp"

using sim::Consequence;
using sim::ConsequenceKind;
using sim::ConsequenceStep;
using tests::drills;

namespace {

Consequence played(unsigned number, const std::string& id) {
    const auto consequence = sim::consequence_of(*drills().find(number), drills().cards, id);
    REQUIRE(consequence);
    return *consequence;
}

bool has(const Consequence& one, ConsequenceStep::What what) {
    for (const ConsequenceStep& step : one.steps)
        if (step.what == what) return true;
    return false;
}

}  // namespace

TEST_CASE("acknowledged with the cause still there it comes again after three minutes") {
    for (const unsigned number : {4U, 5U, 6U, 7U, 11U, 12U}) {
        CAPTURE(number);
        const Consequence one = played(number, "acknowledge-early");
        CHECK(one.kind == ConsequenceKind::returned);
        CHECK(one.steps.back().what == ConsequenceStep::What::fell);
        CHECK(one.steps.back().at >= proto::seconds(180));
        CHECK(one.steps.back().at <= proto::seconds(183));
    }
}

TEST_CASE("a cable that is cut lets nothing start, and a link that is not what it says stops nobody") {
    CHECK(played(1, "acknowledge-early").kind == ConsequenceKind::stands);
    const Consequence frozen = played(15, "carry-on");
    CHECK(frozen.kind == ConsequenceKind::unguarded);
    CHECK_FALSE(frozen.stood);
    CHECK(*frozen.went_on_um > 0);
    const Consequence late = played(17, "carry-on");
    CHECK(late.kind == ConsequenceKind::late);
    REQUIRE(late.stood);
    REQUIRE(late.should);
    CHECK(late.stood->ns > 2 * late.should->ns);
}

TEST_CASE("a bridged guard stops nothing, in every drill whose machine starts") {
    std::size_t seen = 0;
    for (const sim::Drill& drill : drills().drills) {
        CAPTURE(drill.number);
        const auto one = sim::consequence_of(drill, drills().cards, "bridge-guard");
        if (!one || one->kind == ConsequenceKind::stands) continue;
        CHECK(one->kind == ConsequenceKind::unguarded);
        CHECK(has(*one, ConsequenceStep::What::reached_in));
        CHECK_FALSE(has(*one, ConsequenceStep::What::stood));
        ++seen;
    }
    CHECK(seen >= 22);
}

TEST_CASE("twice the watchdog is told by the worst that was seen and by the worst that is reckoned") {
    const Consequence one = played(4, "raise-watchdog");
    CHECK(one.tries == 12);
    REQUIRE(one.hand);
    REQUIRE(one.reckoned);
    REQUIRE(one.stood);
    CHECK(*one.stood <= *one.reckoned);
    CHECK(*one.reckoned > *one.hand);
    CHECK(one.kind == (*one.stood > *one.hand ? ConsequenceKind::late : ConsequenceKind::too_near));
}

TEST_CASE("what outlasts the cause does its harm once that is gone, and an acknowledgement does not") {
    const Consequence bridged = played(1, "bridge-guard");
    CHECK(bridged.kind == ConsequenceKind::unguarded);
    CHECK(has(bridged, ConsequenceStep::What::cause_gone));
    const Consequence hands = played(24, "reach-in");
    CHECK(hands.kind == ConsequenceKind::hands);
    CHECK(has(hands, ConsequenceStep::What::cause_gone));
    const Consequence early = played(1, "acknowledge-early");
    CHECK_FALSE(has(early, ConsequenceStep::What::cause_gone));
    REQUIRE(early.refusal);
    CHECK(*early.refusal == sim::StartRefusal::link_stopped);
    // mended already, it is played on what was mended
    const auto mended = sim::consequence_of(*drills().find(20), drills().cards, "restart-machine", true);
    REQUIRE(mended);
    CHECK(mended->kind == ConsequenceKind::hands);
}

TEST_CASE("hands in a machine that somebody else starts are moved with it") {
    const Consequence one = played(4, "reach-in");
    CHECK(one.kind == ConsequenceKind::hands);
    CHECK(*one.went_on_um > 50'000);
}

TEST_CASE("the same act is played the same every time, and nothing is played of what is no danger") {
    for (const char* id : {"acknowledge-early", "raise-watchdog"}) {
        const Consequence a = played(4, id), b = played(4, id);
        CHECK(a.kind == b.kind);
        CHECK(a.stood == b.stood);
        REQUIRE(a.steps.size() == b.steps.size());
        for (std::size_t i = 0; i < a.steps.size(); ++i) CHECK(a.steps[i].at == b.steps[i].at);
    }
    for (const char* id : {"lock-out", "look-zone", "call-engineer", "network-people", "acknowledge", "no-such-card"})
        CHECK_FALSE(sim::consequence_of(*drills().find(4), drills().cards, id));
    // nothing differs that could be typed over
    CHECK_FALSE(sim::consequence_of(*drills().find(4), drills().cards, "type-at-controller"));
    CHECK(sim::consequence_of(*drills().find(23), drills().cards, "type-at-controller"));
}
