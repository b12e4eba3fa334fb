// Ways of running that are selected: a guard is asked for in its modes only, a change starts nothing, and between two
// modes the guards of both act (ISO 12100, 6.2.11.8 and .9, from memory).
#include <doctest/doctest.h>

#include <string>

#include "sim/drive/rehearsal.hpp"
#include "sim/plant/application.hpp"
#include "sim/plant/reached.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace {

using proto::milliseconds;
using proto::seconds;
using sim::Met;
using sim::RunVerdict;

constexpr std::uint64_t bit(unsigned i) { return std::uint64_t{1} << i; }

/// The log debarker with two modes: in "producing" the flap stops the rollers, in "clearing" they go slowly and the pit
/// door alone stops them.
sim::Scenario with_modes() {
    auto read = sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/log_debarker/guards.toml");
    REQUIRE(read.ok());
    sim::Scenario s = std::move(read).value();
    s.modes = {{"producing", {}, {}}, {"clearing", milliseconds(300), {}}};
    s.signals[0].all_of = {"flap"};
    s.signals[0].in_mode = {"producing"};
    s.signals[1].all_of = {"pit_door", "pull_cord"};
    s.signals[2].all_of = {"producing"};
    s.faults.clear();
    s.demands.clear();
    s.operator_acts = {
        {sim::OperatorAct::Event::link_running, sim::OperatorAct::Act::start_machine, milliseconds(200), {}}};
    s.functions.clear();
    s.duration = seconds(6);
    return s;
}

sim::OperatorAct select(const std::string& mode, proto::Duration at) {
    return {sim::OperatorAct::Event::time, sim::OperatorAct::Act::select_mode, at, {}, {}, mode};
}

std::int64_t last_speed(const sim::Scenario& s) {
    sim::TimeLine line(s);
    sim::rehearse(s, 11, {.line = &line});
    return line.speed().back().um_s;
}

TEST_CASE("a signal of a mode is 1 in the others, and a mode as a source is 1 only while it is selected alone") {
    const sim::Scenario s = with_modes();
    const sim::Application controller(s, sim::End::controller);
    const std::uint64_t free = ~std::uint64_t{0};
    CHECK(controller.evaluate({0, free, bit(0)}) == (bit(0) | bit(1) | bit(2)));
    CHECK(controller.evaluate({0, free & ~bit(0), bit(0)}) == (bit(1) | bit(2)));  // the flap
    CHECK(controller.evaluate({0, free & ~bit(0), bit(1)}) == (bit(0) | bit(1)));  // not asked while clearing
    CHECK(controller.evaluate({0, free & ~bit(0), bit(0) | bit(1)}) == bit(1));    // between: both act
    CHECK(sim::signals_depending_on(s, 0, 0) == bit(0));
    CHECK(sim::signals_depending_on(s, 0, 1) == 0);
    CHECK(sim::reached_by(s, 0, 0).has_value());
    CHECK_FALSE(sim::reached_by(s, 0, 1).has_value());
    CHECK(sim::reaches_in_some_mode(s, 0));
}

TEST_CASE("any_of: one free source is enough, so a demand of one alone reaches nothing") {
    sim::Scenario s = with_modes();
    s.modes.clear();
    s.signals[0].in_mode.clear();
    s.signals[0].all_of.clear();
    s.signals[0].any_of = {"flap", "pit_door"};
    s.signals[2].all_of = {"speed_selector"};
    const sim::Application controller(s, sim::End::controller);
    const std::uint64_t free = ~std::uint64_t{0};
    CHECK((controller.evaluate({0, free & ~bit(0), 0}) & bit(0)) != 0);
    CHECK((controller.evaluate({0, free & ~bit(1), 0}) & bit(0)) != 0);
    CHECK((controller.evaluate({0, free & ~bit(0) & ~bit(1), 0}) & bit(0)) == 0);
    CHECK(sim::signals_depending_on(s, 0) == 0);
}

TEST_CASE("selecting a mode slows down, and selecting the other one starts nothing") {
    sim::Scenario s = with_modes();
    CHECK(last_speed(s) == 800'000);
    s.operator_acts.push_back(select("clearing", seconds(2)));
    CHECK(last_speed(s) == 120'000);
    s.operator_acts.push_back(select("producing", seconds(4)));
    CHECK(last_speed(s) == 120'000);
    s.operator_acts.push_back(
        {sim::OperatorAct::Event::time, sim::OperatorAct::Act::start_machine, seconds(5), {}, {}, {}});
    CHECK(last_speed(s) == 800'000);
}

TEST_CASE("a guard out of its mode is not asked, and in its mode it is") {
    sim::Scenario s = with_modes();
    sim::SafetyFunction function;
    function.name = "opening the flap stops the rollers";
    function.safeguards = {"flap"};
    function.must = {{"rollers", sim::StopCategory::category_0, {}, {}}};
    function.in_mode = {"producing"};
    s.functions = {function};
    s.demands = {{"flap", seconds(4), seconds(1), {}}};
    auto result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::pass);
    CHECK(result.function_rows[0].met == Met::yes);
    s.operator_acts.push_back(select("clearing", seconds(2)));
    result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::pass);
    CHECK(result.function_rows[0].met == Met::not_shown);
    CHECK(result.function_rows[0].why == "not asked in the mode clearing");
    // a function that is asked in every mode is not kept there
    s.functions[0].in_mode.clear();
    result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::dangerous);
    CHECK(result.function_rows[0].met == Met::no);
}

TEST_CASE("while one mode is changed for another, the guards of both act") {
    sim::Scenario s = with_modes();
    s.operator_acts.push_back(select("clearing", seconds(2)));  // takes 300 ms
    s.demands = {{"flap", milliseconds(2100), seconds(1), {}}};
    CHECK(last_speed(s) == 0);
    s.demands[0].at = milliseconds(2400);
    CHECK(last_speed(s) == 120'000);
}

/// The flap is muted while a log is seen by both belts.
sim::Scenario with_muting() {
    sim::Scenario s = with_modes();
    s.modes.clear();
    s.signals[0].in_mode.clear();
    s.signals[1].all_of = {"pull_cord"};
    s.signals[2].all_of = {"speed_selector"};
    for (const char* belt : {"belt_in", "belt_out"}) {
        sim::Safeguard sensor;
        sensor.name = belt;
        sensor.no_function = "sees the log";
        s.safeguards.push_back(sensor);
    }
    s.signals[0].muted_by = sim::Muting{"belt_in", "belt_out", milliseconds(500), seconds(2)};
    sim::SafetyFunction function;
    function.name = "opening the flap stops the rollers";
    function.safeguards = {"flap"};
    function.must = {{"rollers", sim::StopCategory::category_0, {}, {}}};
    s.functions = {function};
    return s;
}

TEST_CASE("muting: both sensors within their time, and no longer than allowed") {  // IEC 62046, from memory
    struct Case {
        std::int64_t second_ms, flap_ms, sensors_last_ms;
        bool stops;
    };
    // the first sensor at 2 s; then the second, the flap, and how long the sensors see the log
    for (const Case c : {Case{2300, 2600, 1500, false},    // muted
                         Case{2700, 2900, 1500, true},     // the second too late
                         Case{2300, 2600, 4000, true},     // too long: at 4.3 s it ends with the flap open
                         Case{2300, 2200, 1500, true}}) {  // the flap before both saw the log
        sim::Scenario s = with_muting();
        s.demands = {{"belt_in", seconds(2), milliseconds(c.sensors_last_ms), {}},
                     {"belt_out", milliseconds(c.second_ms), milliseconds(c.sensors_last_ms), {}},
                     {"flap", milliseconds(c.flap_ms), milliseconds(c.sensors_last_ms > 2000 ? 2500 : 500), {}}};
        CAPTURE(c.second_ms);
        CAPTURE(c.flap_ms);
        CHECK((last_speed(s) == 0) == c.stops);
        const auto result = sim::rehearse(s, 11);
        CHECK(result.verdict == RunVerdict::pass);
        const bool begins_muted = c.second_ms == 2300 && c.flap_ms == 2600;
        CHECK((result.function_rows[0].met == Met::not_shown) == begins_muted);
    }
}

}  // namespace
