// What the plant shows before an instrument was used, and the telegrams that a debrief sets in motion: only what was
// seen.
#include <doctest/doctest.h>

#include <string>
#include <variant>
#include <vector>

#include "sim/reading/read_drill.hpp"
#include "tests/support/drills.hpp"
#include "tests/support/works.hpp"
#include "tools/text/json.hpp"
#include "tools/training/exercise_readings.hpp"

namespace {

using proto::Instant;
using tools::ActFields;
using tools::ExerciseMode;

using tests::drills;
Instant at(double seconds) { return {static_cast<std::int64_t>(seconds * 1e9)}; }

tools::Exercise exercise(unsigned number) {
    return {*drills().find(number), drills().cards, ExerciseMode::practice, at(0), 0};
}
void do_it(tools::Exercise& one, const ActFields& fields) { REQUIRE_FALSE(one.act(fields)); }
bool is_null(const tools::Value& value) { return std::holds_alternative<tools::Value::Null>(value.content()); }
double number_in(const tools::Value& value) { return std::stod(tools::scalar_text(value)); }

/// What is told of that guard: "" for nothing.
std::string seen(const tools::Exercise& one, std::size_t guard) {
    const tools::Value plant = tools::plant_state(one);
    return std::string((*plant.find("guards")->list())[guard].find("seen")->text());
}

/// The debrief of a drill in which only the drill's own end was waited for.
tools::Value debrief_of(unsigned number) {
    auto one = exercise(number);
    for (int i = 0; i < 40; ++i) one.run_on(at(i * 0.1));
    tests::do_and_hand_over(one, "lock-out,call-engineer");
    if (one.warned()) do_it(one, {{"act", "understood"}});
    return tools::debrief_state(one);
}

}  // namespace

TEST_CASE("a plant tells its parts, and of ends and guards nothing that nobody saw") {
    for (const sim::Drill& drill : drills().drills) {
        CAPTURE(drill.number);
        const auto one = exercise(drill.number);
        const tools::Value plant = tools::plant_state(one);
        CHECK(plant.find("controller")->text() == one.bench().scenario().controller.name);
        CHECK(plant.find("stations")->list()->size() == one.bench().links());
        CHECK(plant.find("machines")->list()->size() == 1);
        REQUIRE_FALSE(plant.find("guards")->list()->empty());
        for (const tools::Value& guard : *plant.find("guards")->list()) CHECK(is_null(*guard.find("seen")));
        // whether a guard is latched is read with the signals
        const tools::Value state = tools::exercise_state(one, true);
        for (const tools::Value& guard : *state.find("guards")->list()) {
            CHECK(guard.find("free") == nullptr);
            CHECK_FALSE(std::get<bool>(guard.find("latched")->content()));
        }
    }
}

TEST_CASE("a guard shows what one did to it oneself, and all when it is over") {
    // somebody else has pulled the rope of this lift
    auto one = exercise(21);
    REQUIRE(one.bench().plant().safeguard(0).latched());
    CHECK(seen(one, 0).empty());
    do_it(one, {{"act", "demand"}, {"value", "0"}});
    one.run_on(at(0.5));
    CHECK(seen(one, 0) == "demanded");
    CHECK(seen(one, 1).empty());
    for (int i = 1; i < 50; ++i) one.run_on(at(0.5 + i * 0.1));
    CHECK(seen(one, 0) == "latched");
    // a strap hangs in this curtain
    auto strap = exercise(20);
    CHECK(seen(strap, 0).empty());
    tests::do_and_hand_over(strap, "lock-out,call-engineer");
    CHECK(seen(strap, 0) == "demanded");
    CHECK(seen(strap, 1) == "free");
}

TEST_CASE("telegrams around the first stop are told in the order in which things happened to them") {
    unsigned told = 0, lost = 0, rejected = 0;
    for (const sim::Drill& drill : drills().drills) {
        CAPTURE(drill.number);
        const tools::Value debrief = debrief_of(drill.number);
        const tools::Value& ways = *debrief.find("ways");
        if (is_null(ways)) continue;
        ++told;
        const double from = number_in(*ways.find("from_ms")), to = number_in(*ways.find("to_ms"));
        CHECK(number_in(*ways.find("stop_ms")) >= from);
        CHECK(number_in(*ways.find("stop_ms")) <= to);
        for (const tools::Value& fact : *ways.find("facts")->list()) {
            const auto& one = *fact.list();
            REQUIRE(one.size() == 8);
            const double made = number_in(one[3]);
            CHECK(made >= from);
            CHECK(made <= to);
            const std::string fate(one[5].text());
            CHECK(is_null(one[6]) == fate.empty());
            CHECK(is_null(one[7]) == (fate != "rejected"));
            if (!is_null(one[4])) CHECK(number_in(one[4]) >= made);
            if (!fate.empty()) CHECK(number_in(one[6]) >= (is_null(one[4]) ? made : number_in(one[4])));
            lost += fate == "lost" ? 1U : 0U;
            rejected += fate == "rejected" ? 1U : 0U;
        }
    }
    CHECK(told > 10);
    CHECK(lost > 10);
    CHECK(rejected > 0);
}
