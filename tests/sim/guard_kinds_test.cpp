#include "sim/studies/guard_kinds.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace {

using proto::milliseconds;
using sim::GuardKind;
using sim::StopCategory;

sim::Scenario debarker() {
    auto read = sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/log_debarker/guards.toml");
    REQUIRE(read.ok());
    return std::move(read).value();
}

bool has(const std::vector<std::string>& all, const std::string& words) {
    return std::any_of(all.begin(), all.end(),
                       [&](const std::string& one) { return one.find(words) != std::string::npos; });
}

TEST_CASE("a plant without kinds has nothing to be said about them") {
    const auto found = sim::check_guard_kinds(debarker());
    CHECK(found.problems.empty());
    CHECK(found.cautions.empty());
}

TEST_CASE("an emergency stop latches, stops by category 0 or 1, in every mode, and has no distance") {
    sim::Scenario s = debarker();
    s.safeguards[2].kind = GuardKind::emergency_stop;  // the cord, category 2 and not latched
    auto found = sim::check_guard_kinds(s);
    CHECK(has(found.problems, "does not latch"));
    CHECK(has(found.problems, "does category-2"));
    s.safeguards[2].latched = true;
    s.machine->reactions[1].stop = StopCategory::category_1;
    CHECK(sim::check_guard_kinds(s).problems.empty());
    s.modes = {{"producing", {}, {}}, {"clearing", {}, {}}};
    s.signals[1].in_mode = {"producing"};
    CHECK(has(sim::check_guard_kinds(s).problems, "stops nothing in the mode clearing"));
    s = debarker();
    s.safeguards[0].kind = GuardKind::emergency_stop;
    CHECK(has(sim::check_guard_kinds(s).problems, "keeps nobody at a distance"));
}

TEST_CASE("the rule of a distance is that of the kind") {
    sim::Scenario s = debarker();
    s.safeguards[0].kind = GuardKind::interlocked_guard;
    CHECK(sim::check_guard_kinds(s).problems.empty());
    s.safeguards[0].kind = GuardKind::curtain;
    CHECK(has(sim::check_guard_kinds(s).problems, "write the case of its kind"));
}

TEST_CASE("a two-hand control has two channels") {
    sim::Scenario s = debarker();
    s.safeguards[2].kind = GuardKind::two_hand;
    CHECK(has(sim::check_guard_kinds(s).cautions, "letting go of either hand"));
    s.safeguards[2].channels = 2;
    CHECK(sim::check_guard_kinds(s).cautions.empty());
}

TEST_CASE("a stop that the controller times: the power outlasts the ramp, and a failing link does not wait") {
    sim::Scenario s = debarker();
    s.signals[0].off_delay = milliseconds(200);  // 20 ms and 250 ms of ramp
    auto found = sim::check_guard_kinds(s);
    CHECK(has(found.problems, "write a longer off_delay"));
    s.signals[0].off_delay = milliseconds(300);
    found = sim::check_guard_kinds(s);
    CHECK(found.problems.empty());
    CHECK(has(found.cautions, "category 0"));
    s.functions[0].must[0].must = StopCategory::category_1;
    CHECK(has(sim::check_guard_kinds(s).problems, "loses its power at once"));
    s.functions[0].must[0].must = StopCategory::category_0;
    s.machine->brake = sim::Brake{milliseconds(50), true};
    CHECK(has(sim::check_guard_kinds(s).problems, "a load that drops"));
}

}  // namespace
