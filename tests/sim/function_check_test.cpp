// What each guard must do against what the wiring makes of it: every line that check has for it.
#include "sim/studies/function_check.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "sim/drive/limits.hpp"
#include "sim/timing/function_time.hpp"
#include "sim/timing/response.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::milliseconds;
using sim::Scenario;
using sim::StopCategory;

sim::SafetyFunction function_of(const std::string& name, const std::string& safeguard,
                                StopCategory must = StopCategory::category_1) {
    sim::SafetyFunction function;
    function.name = name;
    function.safeguards = {safeguard};
    function.must = {{.machine = "tilting table", .must = must, .within = {}, .where = {}}};
    return function;
}

/// The tilting table with a function for each of its guards, each demanded once; nothing is wrong or left out.
Scenario stated() {
    Scenario s = tests::polled_link();
    s.required = {};
    s.functions = {function_of("pulling the rope stops the table", "rope_pull"),
                   function_of("reaching in stops the table", "table_curtain")};
    s.demands = {tests::demand_of("rope_pull", milliseconds(500)),
                 tests::demand_of("table_curtain", milliseconds(900))};
    return s;
}

/// The same with a reduced speed as the only reaction, which both functions ask for.
Scenario only_slows() {
    Scenario s = stated();
    s.machine->reduced_speed_um_s = 120'000;
    s.machine->reduced_speed_monitor = sim::SpeedMonitor{10'000, proto::milliseconds(20), StopCategory::category_1};
    s.machine->reactions = {{"tilting_allowed", StopCategory::reduced_speed, {}}};
    for (sim::SafetyFunction& function : s.functions) function.must.front().must = StopCategory::reduced_speed;
    return s;
}

bool has(const std::vector<std::string>& sentences, const std::string& part) {
    return std::any_of(sentences.begin(), sentences.end(),
                       [&](const std::string& sentence) { return sentence.find(part) != std::string::npos; });
}

bool problem(const Scenario& s, const std::string& part) { return has(sim::check_functions(s).problems, part); }
bool caution(const Scenario& s, const std::string& part) { return has(sim::check_functions(s).cautions, part); }

const sim::FunctionCheckRow& row_of(const sim::FunctionCheck& check, const std::string& safeguard) {
    const auto found =
        std::find_if(check.rows.begin(), check.rows.end(), [&](const auto& row) { return row.safeguard == safeguard; });
    REQUIRE(found != check.rows.end());
    return *found;
}

}  // namespace

TEST_CASE("guards that lead to what they must: a row each, no problem, nothing to say") {
    const sim::FunctionCheck check = sim::check_functions(stated());
    CHECK(check.problems.empty());
    CHECK(check.cautions.empty());
    REQUIRE(check.rows.size() == 2);
    const sim::FunctionCheckRow& row = row_of(check, "table_curtain");
    CHECK(row.function == "reaching in stops the table");
    CHECK(row.machine == "tilting table");
    CHECK(row.must == "category-1");
    CHECK(row.does == "category-1");
    CHECK(row.ok);
    CHECK(row.why.empty());
}

TEST_CASE("a guard that is in no signal reaches nothing: a problem of its function, else a caution") {
    Scenario s = stated();
    s.signals[1].all_of = {"curtain_free"};  // the rope was forgotten
    CHECK(problem(s, "rope_pull reaches no reaction of tilting table"));
    CHECK_FALSE(row_of(sim::check_functions(s), "rope_pull").ok);
    CHECK(row_of(sim::check_functions(s), "rope_pull").does == "nothing");
    CHECK(row_of(sim::check_functions(s), "table_curtain").ok);
    s.functions.clear();
    CHECK(sim::check_functions(s).problems.empty());
    CHECK(caution(s, "rope_pull reaches no reaction of tilting table"));
}

TEST_CASE("a signal that nobody takes is a caution, and so is a bit that nobody writes") {
    Scenario s = stated();
    s.signals.push_back({"table_down", sim::Direction::to_controller, {"table_curtain"}, {}});
    CHECK(caution(s, "table_down is used by nobody at table controller"));
    CHECK_FALSE(caution(s, "curtain_free is used by nobody"));
    s = stated();
    s.machine->reactions.clear();
    CHECK(caution(s, "tilting_allowed is used by nobody at table I/O"));
    s = stated();
    s.device.bits.erase(s.device.bits.begin());  // curtain_free at its sender
    CHECK(caution(s, "table controller reads curtain_free from a bit that nobody writes"));
}

TEST_CASE("the reaction is exactly what is asked: milder and more severe ones are problems that name both") {
    Scenario s = stated();
    s.machine->reactions.front().stop = StopCategory::category_0;
    CHECK(problem(s,
                  "rope_pull must lead to category-1 of tilting table, and by its wiring it leads to category-0 by "
                  "tilting_allowed"));
    s.machine->reactions.front().stop = StopCategory::category_2;
    CHECK(problem(s, "it leads to category-2 by tilting_allowed"));
    CHECK(row_of(sim::check_functions(s), "rope_pull").does == "category-2");
}

TEST_CASE("a failing link that only slows down: a caution, and a problem unless every function says it counts") {
    Scenario s = only_slows();
    CHECK(problem(s, "a failing link leads to no more than a reduced speed of tilting table"));
    s.functions[0].reduced_speed_ends_hazard = true;
    CHECK(problem(s, "a failing link leads to no more than a reduced speed"));  // the other one does not say so
    s.functions[1].reduced_speed_ends_hazard = true;
    CHECK(sim::check_functions(s).ok());
    CHECK(caution(s, "a failing link leads to no more than a reduced speed"));
    s.functions.clear();
    CHECK(sim::check_functions(s).ok());
    CHECK(caution(s, "a failing link leads to no more than a reduced speed"));
    CHECK_FALSE(caution(stated(), "a failing link leads to no more than a reduced speed"));
}

TEST_CASE("a function that only slows down ends no hazard unless it says so") {
    Scenario s = only_slows();
    CHECK(caution(s, "asks for a reduced speed, which by itself ends no hazard"));
    for (sim::SafetyFunction& function : s.functions) function.reduced_speed_ends_hazard = true;
    CHECK_FALSE(caution(s, "asks for a reduced speed"));
    // and unless something monitors it
    s.machine->reduced_speed_monitor.reset();
    CHECK(problem(s, "nothing monitors it"));
}

TEST_CASE(
    "a reduced speed that [stopping] says ends every hazard counts only with its monitor, and without is a problem") {
    for (const bool with_functions : {true, false}) {
        Scenario s = only_slows();
        if (!with_functions) s.functions.clear();
        s.stopping.ramp_monitored = s.stopping.reduced_speed_ends_hazard = true;
        CHECK(sim::check_functions(s).ok());
        CHECK(sim::response_of(s).overall);
        CHECK(sim::limits_of(s).limits.reduced_speed_counts);
        s.machine->reduced_speed_monitor.reset();
        CHECK(problem(s, "reduced_speed_ends_hazard = true in [stopping], and nothing monitors the reduced speed"));
        CHECK_FALSE(sim::response_of(s).overall);
        CHECK(has(sim::response_of(s).cautions, "write reduced_speed_monitored in [machine]"));
        CHECK_FALSE(sim::limits_of(s).limits.reduced_speed_counts);
    }
}

TEST_CASE("a guard in no function while others are in one is a problem, unless it says none and why") {
    Scenario s = stated();
    s.functions.pop_back();
    CHECK(problem(s, "table_curtain stands in no function"));
    CHECK_FALSE(row_of(sim::check_functions(s), "table_curtain").ok);
    CHECK_FALSE(row_of(sim::check_functions(s), "table_curtain").stated());
    s.safeguards[0].no_function = "only warns";
    const sim::FunctionCheck check = sim::check_functions(s);
    CHECK(check.ok());
    CHECK(check.cautions.empty());
    CHECK(row_of(check, "table_curtain").why == "only warns");
    CHECK(row_of(check, "table_curtain").ok);
}

TEST_CASE("nothing stated at all is a caution, unless there is nothing to state") {
    Scenario s = stated();
    s.functions.clear();
    CHECK(caution(s, "nothing states what the guards must do"));
    CHECK(row_of(sim::check_functions(s), "rope_pull").does == "category-1");
    for (sim::Safeguard& safeguard : s.safeguards) safeguard.no_function = "only warns";
    CHECK_FALSE(caution(s, "nothing states"));
    CHECK_FALSE(caution(stated(), "nothing states"));
}

TEST_CASE("what the scenario never demands and never starts is said") {
    Scenario s = stated();
    s.demands.pop_back();
    CHECK(caution(s, "never demanded in this scenario: table_curtain"));
    s.demands.clear();
    CHECK(caution(s, "never demanded in this scenario: table_curtain, rope_pull"));
    s = stated();
    s.operator_acts.pop_back();
    CHECK(caution(s, "tilting table is never started in this scenario"));
}

TEST_CASE("from standstill nothing returns by itself, from a reduced speed it is a caution") {
    Scenario s = stated();
    s.functions[0].returns = sim::Returns::by_itself;
    CHECK(problem(s, "from standstill only a deliberate start may follow"));
    s.functions[0].returns = sim::Returns::after_reset;
    CHECK(sim::check_functions(s).ok());
    s = only_slows();
    for (sim::SafetyFunction& function : s.functions) {
        function.reduced_speed_ends_hazard = true;
        function.returns = sim::Returns::by_itself;
    }
    CHECK(sim::check_functions(s).ok());
    CHECK(caution(s, "only for guards that sense presence all the time"));
}

TEST_CASE("a function over the claim of either end is a problem, with SIL and PL side by side") {
    using Scale = sim::FunctionLevel::Scale;
    Scenario s = stated();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.claimed_level = 2; });
    for (const unsigned fine : {1U, 2U}) {
        s.functions[0].level = {Scale::sil, fine};
        CHECK(sim::check_functions(s).ok());
    }
    s.functions[0].level = {Scale::sil, 3};
    CHECK(problem(s, "asks for SIL 3, that is PL e (typed: SIL 3), but the link claims SIL 2 at table controller"));
    s.functions[0].level = {Scale::pl, 4};
    CHECK(sim::check_functions(s).ok());
    s.functions[0].level = {Scale::pl, 5};
    CHECK(problem(s, "asks for SIL 3, that is PL e (typed: PL e)"));
    CHECK(row_of(sim::check_functions(s), "rope_pull").level == "PL e");
    s.functions[0].level = {Scale::pl, 1};
    s.device.link.claimed_level = 0;
    CHECK(sim::check_functions(s).ok());  // PL a asks for no SIL
    s.functions[0].level = {Scale::sil, 2};
    s.device.link.claimed_level = 1;
    CHECK(problem(s, "SIL 1 at table I/O"));
}

// Without a fault nothing but the link counts: 2 * 45 + 10 ms of it, and a stop of 10 + 125 ms, not monitored, and then
// 10 + 250 ms from full speed: 495 ms in all, 395 ms without the link.
TEST_CASE("a within that the settings do not keep: what would have to change") {
    Scenario s = stated();
    s.functions[0].must[0].within = milliseconds(495);
    CHECK(sim::check_functions(s).ok());
    s.functions[0].must[0].within = milliseconds(450);
    CHECK(problem(s, "rope_pull takes 495 ms from the demand to the end of the hazard, over within = 450 ms"));
    CHECK(problem(s, "write a watchdog of \"22.5 ms\" or less at both ends, or a machine that stops by 45 ms sooner"));
    s.functions[0].must[0].within = milliseconds(400);
    CHECK(problem(s, "no watchdog helps; write a machine that stops by 95 ms sooner"));
}

TEST_CASE("a guard that reaches nothing hides no other that is too late") {
    Scenario s = stated();
    s.functions[0].safeguards = {"rope_pull", "table_curtain"};
    s.functions.pop_back();
    s.functions[0].must[0].within = milliseconds(450);
    s.signals[1].all_of = {"curtain_free"};
    CHECK(problem(s, "rope_pull reaches no reaction"));
    CHECK(problem(s, "table_curtain takes 495 ms"));
}

TEST_CASE("a within of no more than sensor and stop: no watchdog helps") {
    Scenario s = stated();
    s.safeguards[1].delay = milliseconds(20);
    s.functions[0].must[0].within = milliseconds(415);
    CHECK(problem(s, "take 415 ms: no watchdog helps"));
    s.functions[0].must[0].within = milliseconds(416);
    CHECK_FALSE(problem(s, "take 415 ms"));
}

TEST_CASE("the smaller of within and distance counts and is named, a within over the distance is a problem") {
    Scenario s = stated();
    s.functions[0].distance = sim::GuardDistance{.safeguard = "",
                                                 .how = {.edition = sim::Edition::iso_13855_2010,
                                                         .approach = sim::Approach::interlocked_guard,
                                                         .reaching_through_um = 60'000},
                                                 .there_um = 1'100'000,  // (1100 - 60) / 1600 = 650 ms
                                                 .where = {}};
    s.functions[0].must[0].within = milliseconds(600);
    CHECK(sim::check_functions(s).ok());
    s.functions[0].must[0].within = milliseconds(651);
    CHECK(problem(s, "within = 651 ms is longer than the distance allows: the guard at 1100 mm leaves 650 ms"));
    s.functions[0].distance->there_um = 800'000;
    s.functions[0].must[0].within = milliseconds(500);
    CHECK(problem(s, "over the 462.5 ms that the distance of 800 mm leaves"));
    CHECK(problem(s, "there = \"852 mm\" or more"));
}

TEST_CASE("a function with a limit over a stream without a bound is a problem, not a blank") {
    Scenario s = tests::streaming_link();
    s.required = {};
    s.functions = stated().functions;
    s.functions[0].must[0].within = milliseconds(900);
    CHECK(problem(s, "the link has no bound, so nothing keeps within = 900 ms"));
    s.declared_delay = milliseconds(1);
    CHECK(sim::check_functions(s).ok());
}

TEST_CASE("a stop that may not be counted keeps no limit") {
    Scenario s = stated();
    s.machine->reactions.front().stop = StopCategory::category_2;
    for (sim::SafetyFunction& function : s.functions) function.must.front().must = StopCategory::category_2;
    CHECK(sim::check_functions(s).ok());
    s.functions[0].must[0].within = milliseconds(900);
    CHECK(problem(s, "the machine's stop may not be counted"));
    s.stopping.standstill_monitored = true;
    CHECK(sim::check_functions(s).ok());
}

TEST_CASE("power that goes before the ramp of category 1 has ended is a problem") {
    Scenario s = stated();
    s.stopping.power_off_after = milliseconds(134);
    CHECK(problem(s, "power_off_after = 134 ms, but the stop of category 1 by tilting_allowed takes 135 ms"));
    s.stopping.power_off_after = milliseconds(135);
    CHECK(sim::check_functions(s).ok());
}

TEST_CASE("the check has a problem exactly where the function's time is not kept") {
    for (int within = 380; within <= 520; within += 7) {
        Scenario s = stated();
        s.functions[1].must[0].within = milliseconds(within);
        const std::vector<sim::FunctionTime> times = sim::function_times(s);
        REQUIRE(times.size() == 2);
        CHECK(times[1].kept == sim::check_functions(s).ok());
    }
}
