// What a run makes of the safety functions of the log debarker that ships: each line of the rules with a plant in which
// one thing is broken.
#include "sim/drive/function_verdict.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <utility>

#include "sim/drive/rehearsal.hpp"
#include "sim/plant/off_delays.hpp"
#include "sim/plant/reached.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace {

using proto::milliseconds;
using proto::seconds;
using sim::Met;
using sim::RunVerdict;
using sim::StopCategory;

sim::Scenario shipped(const std::string& name) {
    auto read = sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/log_debarker/" + name);
    REQUIRE(read.ok());
    return std::move(read).value();
}
sim::Scenario debarker() { return shipped("guards.toml"); }

/// One demand at 2 s, the machine started 0.2 s after the link runs, no faults.
sim::Scenario one_demand(const std::string& safeguard) {
    sim::Scenario s = debarker();
    s.faults.clear();
    s.demands = {{safeguard, seconds(2), seconds(1), {}}};
    s.operator_acts.erase(
        std::remove_if(s.operator_acts.begin(), s.operator_acts.end(),
                       [](const sim::OperatorAct& act) { return act.event == sim::OperatorAct::Event::time; }),
        s.operator_acts.end());
    s.duration = seconds(6);
    return s;
}

sim::Signal& signal(sim::Scenario& s, const std::string& name) {
    const auto found =
        std::find_if(s.signals.begin(), s.signals.end(), [&](const sim::Signal& one) { return one.name == name; });
    REQUIRE(found != s.signals.end());
    return *found;
}

bool any_has(const std::vector<std::string>& all, const std::string& words) {
    return std::any_of(all.begin(), all.end(),
                       [&](const std::string& one) { return one.find(words) != std::string::npos; });
}

TEST_CASE("each guard, alone, from free and moving: every function is met") {
    const auto result = sim::rehearse(debarker(), 11);
    CHECK(result.verdict == RunVerdict::pass);
    REQUIRE(result.functions.size() == 3);
    for (const sim::FunctionResult& function : result.functions) {
        CHECK(function.met == Met::yes);
        CHECK(function.never_demanded.empty());
        CHECK(function.worst < function.within);
    }
    REQUIRE(result.function_rows.size() == 4);
    // flap: 12 ms sensor, at most 52 ms link seen, 420 ms stop
    CHECK(*result.functions[0].worst > milliseconds(432));
    CHECK(*result.functions[0].worst < milliseconds(500));
}

TEST_CASE("the way of a demand over the link is told step by step") {
    const auto result = sim::rehearse(one_demand("flap"), 11);
    REQUIRE(result.demands.size() == 1);
    const sim::DemandResult& demand = result.demands[0];
    CHECK(demand.reaches_output);
    CHECK(demand.link_ran);
    CHECK(demand.moved);
    REQUIRE(demand.hops.size() == 1);
    const sim::DemandHop& hop = demand.hops[0];
    REQUIRE(hop.computed);
    REQUIRE(hop.sent);
    REQUIRE(hop.received);
    CHECK(*hop.computed <= *hop.sent);
    CHECK(*hop.sent < *hop.received);
    CHECK(demand.response == hop.received);
    CHECK(demand.command == hop.received);
    // 20 ms drive and 400 ms of braking from 800 mm/s; under 120 mm/s the last 60 ms of it
    CHECK(*demand.standstill == *demand.command + milliseconds(420));
    CHECK(*demand.reduced == *demand.command + milliseconds(20 + 340));
}

TEST_CASE("a guard that nothing obeys is dangerous when it is demanded, with or without a function") {
    sim::Scenario s = one_demand("pit_door");
    signal(s, "closed").all_of = {"flap"};
    auto result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::dangerous);
    REQUIRE(!result.demands.empty());
    CHECK_FALSE(result.demands[0].reaches_output);
    CHECK_FALSE(result.demands[0].standstill);
    CHECK(result.functions[0].met == Met::no);
    s.functions.clear();
    result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::dangerous);
    REQUIRE(!result.dangerous.empty());
    CHECK(result.dangerous[0].why.find("reached no output") != std::string::npos);
    // unless the scenario says why nothing must obey it
    for (sim::Safeguard& guard : s.safeguards)
        if (guard.name == "pit_door") guard.no_function = "only a lamp";
    CHECK(sim::rehearse(s, 11).verdict == RunVerdict::pass);
}

TEST_CASE(
    "another reaction than is asked is dangerous when the guard is demanded, a stop in time for a slowdown is not") {
    for (const StopCategory does :
         {StopCategory::category_0, StopCategory::category_1, StopCategory::category_2, StopCategory::reduced_speed})
        for (const StopCategory must : {StopCategory::category_0, StopCategory::category_1, StopCategory::category_2,
                                        StopCategory::reduced_speed}) {
            sim::Scenario s = one_demand("flap");
            for (sim::MachineReaction& reaction : s.machine->reactions)
                if (reaction.signal == "closed") reaction.stop = does;
            s.functions[0].must[0].must = must;
            const auto result = sim::rehearse(s, 11);
            const bool kept = does == must || must == StopCategory::reduced_speed;
            CAPTURE(static_cast<int>(does));
            CAPTURE(static_cast<int>(must));
            CHECK((result.function_rows[0].met == Met::yes) == kept);
            CHECK((result.verdict == RunVerdict::pass) == kept);
            CHECK(sim::just_as_asked(does, must) == (does == must));
        }
}

TEST_CASE("a function that is kept too late is dangerous, and the smaller of its two limits counts") {
    sim::Scenario s = one_demand("flap");
    s.functions[0].must[0].within = milliseconds(440);
    auto result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::dangerous);
    CHECK(result.function_rows[0].met == Met::no);
    CHECK(*result.function_rows[0].allowed == milliseconds(440 - 12));
    // 600 ms are allowed, but the guard stands too near: (600 - 60) mm / 1600 mm/s are 337.5 ms
    s = one_demand("flap");
    s.functions[0].distance->there_um = 600'000;
    result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::dangerous);
    CHECK(*result.function_rows[0].allowed < milliseconds(340));
}

TEST_CASE(
    "a stop that somebody's start cut short is not shown if the guard was free again, and not met if it was not") {
    // the flap is shut again after 50 ms, and the machine started before it stands
    sim::Scenario s = one_demand("flap");
    s.demands = {{"flap", seconds(2), milliseconds(50), {}}};
    s.operator_acts.push_back(
        {sim::OperatorAct::Event::time, sim::OperatorAct::Act::start_machine, milliseconds(2250), {}});
    auto result = sim::rehearse(s, 11);
    REQUIRE(result.function_rows.size() == 1);
    CHECK(result.function_rows[0].met == Met::not_shown);
    CHECK(result.function_rows[0].why.find("was started once more, its guard free again") != std::string::npos);
    CHECK(result.verdict != RunVerdict::dangerous);
    // nobody starts it: it stands, and that is seen
    s.operator_acts.pop_back();
    result = sim::rehearse(s, 11);
    CHECK(result.function_rows[0].met == Met::yes);
    // later than is allowed before the start comes, or to be later: not kept, as it is where nobody starts it
    for (const auto start : {milliseconds(2250), milliseconds(2400)}) {
        sim::Scenario late = s;
        late.functions[0].must[0].within = milliseconds(200);
        late.operator_acts.push_back({sim::OperatorAct::Event::time, sim::OperatorAct::Act::start_machine, start, {}});
        result = sim::rehearse(late, 11);
        CHECK((result.function_rows[0].met == Met::no && result.verdict == RunVerdict::dangerous));
    }
    // demanded once more before the start: the guard is not free, and the second demand is judged by itself
    sim::Scenario twice = s;
    twice.demands.push_back({"flap", milliseconds(2300), milliseconds(500), {}});
    twice.operator_acts.push_back(
        {sim::OperatorAct::Event::time, sim::OperatorAct::Act::start_machine, milliseconds(2318), {}});
    result = sim::rehearse(twice, 11);
    REQUIRE(result.function_rows.size() == 2);
    CHECK(result.function_rows[0].met == Met::no);
    CHECK(result.function_rows[1].met == Met::yes);
    // who starts it while the flap is open is told so, and it goes on to stand
    s.operator_acts.push_back(
        {sim::OperatorAct::Event::time, sim::OperatorAct::Act::start_machine, milliseconds(2250), {}});
    s.demands.front().lasting = seconds(1);
    result = sim::rehearse(s, 11);
    CHECK(result.function_rows[0].met == Met::yes);
}

TEST_CASE("a demand shows nothing of a machine that stands, or of a signal that is 0 already") {
    sim::Scenario s = one_demand("flap");
    s.operator_acts.clear();
    auto result = sim::rehearse(s, 11);
    CHECK(result.function_rows[0].met == Met::not_shown);
    CHECK(result.functions[0].met == Met::not_shown);
    CHECK(result.verdict == RunVerdict::pass);
    CHECK(any_has(result.remarks, "never started"));
    // the pit door is open when the flap is opened
    s = one_demand("flap");
    s.demands = {{"pit_door", milliseconds(1990), seconds(2), {}}, {"flap", seconds(2), seconds(1), {}}};
    result = sim::rehearse(s, 11);
    REQUIRE(result.function_rows.size() == 2);
    CHECK(result.function_rows[0].met == Met::yes);  // of the door
    CHECK(result.function_rows[1].met == Met::not_shown);
    CHECK(result.functions[0].met == Met::not_shown);
}

TEST_CASE("a demand at reduced speed is judged") {
    sim::Scenario s = one_demand("speed_selector");
    s.demands.push_back({"pull_cord", seconds(4), seconds(1), {}});
    const auto result = sim::rehearse(s, 11);
    REQUIRE(result.demands.size() == 2);
    CHECK_FALSE(result.demands[0].standstill);
    CHECK(result.demands[0].reduced);
    REQUIRE(result.demands[1].standstill);
    CHECK(*result.demands[1].reduced == proto::Duration{});  // it was so already
    // 20 ms drive, then 120 mm/s at 3200 mm/s2
    CHECK(*result.demands[1].standstill == *result.demands[1].command + proto::microseconds(57'500));
    CHECK(result.function_rows[1].met == Met::yes);
}

TEST_CASE("without a limit a guard may take what the settings promise: the stop of a failing link, if that is longer") {
    sim::Scenario s = one_demand("pull_cord");
    s.functions[1].must[0].within.reset();
    const auto result = sim::rehearse(s, 11);
    REQUIRE(result.function_rows.size() == 1);
    // 105 ms required of the link; category 0, to which a failing link leads, takes 420 ms, the cord's category 2 270
    // ms
    CHECK(result.function_rows[0].allowed == milliseconds(105 + 420));
    CHECK(result.function_rows[0].met == Met::yes);
}

TEST_CASE("a link that fails over a reduced speed only is no safe state unless somebody says so") {
    sim::Scenario s = shipped("reduced_speed_only.toml");
    auto result = sim::rehearse(s, 11);
    REQUIRE(result.injections.size() == 1);
    CHECK(result.injections[0].ran_on);
    CHECK_FALSE(result.injections[0].within_limit);
    CHECK_FALSE(result.injections[0].standstill);
    CHECK(result.injections[0].reduced);
    CHECK(result.verdict == RunVerdict::fail);
    CHECK(result.as_expected);
    // only a reduced speed that is monitored ends a hazard
    s.functions[0].reduced_speed_ends_hazard = true;
    const auto monitor = std::exchange(s.machine->reduced_speed_monitor, std::nullopt);
    CHECK(sim::rehearse(s, 11).injections[0].ran_on);
    s.machine->reduced_speed_monitor = monitor;
    result = sim::rehearse(s, 11);
    CHECK_FALSE(result.injections[0].ran_on);
    CHECK(result.injections[0].within_limit);
    CHECK(result.verdict == RunVerdict::pass);
}

TEST_CASE("a stop whose hazard ends at reduced speed is met by that moment, and its row says when it stood") {
    sim::Scenario s = one_demand("flap");
    s.functions[0].reduced_speed_ends_hazard = true;
    auto result = sim::rehearse(s, 11);
    REQUIRE(result.function_rows.size() == 1);
    const sim::FunctionRow row = result.function_rows[0];
    CHECK(row.met == Met::yes);
    CHECK(row.took == result.demands[0].reduced);
    CHECK(row.why.find("down to the reduced speed, where the hazard ends, after ") == 0);
    CHECK(row.why.find("; it stood after ") != std::string::npos);
    // by standstill 432 to 440 ms would be too late for this limit, by reduced speed it is not
    s.functions[0].must[0].within = milliseconds(430);
    CHECK(sim::rehearse(s, 11).function_rows[0].met == Met::yes);
    s.functions[0].reduced_speed_ends_hazard = false;
    CHECK(sim::rehearse(s, 11).function_rows[0].met == Met::no);
    // slow in time, and then the run is over: a stop was asked, and nobody saw it stand
    s.functions[0].reduced_speed_ends_hazard = true;
    s.duration = s.demands[0].at + *result.demands[0].reduced + milliseconds(30);
    result = sim::rehearse(s, 11);
    CHECK(result.function_rows[0].met == Met::not_shown);
    CHECK(result.function_rows[0].why.find("the run ended before it could be seen to stand") != std::string::npos);
}

TEST_CASE("what was never demanded is remarked, and shows nothing") {
    const auto result = sim::rehearse(one_demand("flap"), 11);
    CHECK(any_has(result.remarks, "Never demanded: pit_door, pull_cord, speed_selector."));
    CHECK(result.functions[0].met == Met::not_shown);
    CHECK(result.functions[0].never_demanded == std::vector<std::string>{"pit_door"});
}

TEST_CASE("speed returns by the rule of its function, and never after the link failed") {
    for (const sim::Returns returns : {sim::Returns::after_start, sim::Returns::after_reset, sim::Returns::by_itself})
        for (const bool reset : {false, true})
            for (const bool link_fails : {false, true}) {
                sim::Scenario s = one_demand("speed_selector");
                s.functions[2].returns = returns;
                using Act = sim::OperatorAct;
                if (reset)
                    s.operator_acts.push_back({Act::Event::time, Act::Act::reset, seconds(4), {}, "speed_selector"});
                if (link_fails) {
                    sim::Fault cut;
                    cut.way = sim::FaultWay::drop;
                    cut.error = sim::error_of(cut.way);
                    cut.at = milliseconds(2300);
                    cut.lasting = milliseconds(200);
                    cut.to_device = cut.to_controller = true;
                    s.faults = {cut};
                    // only the selector's bit: a failing link slows down too
                    s.machine->reactions.erase(s.machine->reactions.begin(), s.machine->reactions.begin() + 2);
                    for (Act& act : s.operator_acts)
                        if (act.act == Act::Act::start_machine && act.event == Act::Event::link_running)
                            act = {Act::Event::time, Act::Act::start_machine, milliseconds(800), {}, {}};
                }
                sim::TimeLine line(s);
                sim::rehearse(s, 11, {.line = &line});
                const bool back = !link_fails && (returns == sim::Returns::by_itself ||
                                                  (returns == sim::Returns::after_reset && reset));
                CAPTURE(static_cast<int>(returns));
                CAPTURE(reset);
                CAPTURE(link_fails);
                REQUIRE(!line.speed().empty());
                CHECK(line.speed().back().um_s == (back ? 800'000 : 120'000));
            }
}

TEST_CASE("a reset counts only when every guard of its function is free") {
    sim::Scenario s = one_demand("speed_selector");
    s.functions[2].returns = sim::Returns::after_reset;
    s.functions[2].safeguards = {"speed_selector", "pull_cord"};
    s.functions[1].safeguards = {"flap"};
    s.functions.erase(s.functions.begin(), s.functions.begin() + 2);
    signal(s, "full_speed_allowed").all_of = {"speed_selector"};
    using Act = sim::OperatorAct;
    s.operator_acts.push_back({Act::Event::time, Act::Act::reset, milliseconds(3500), {}, "speed_selector"});
    for (const bool other_open : {false, true}) {
        s.demands.resize(1);
        // its own signal would stop the rollers: it stands for another guard of the same reset
        s.machine->reactions = {{"full_speed_allowed", StopCategory::reduced_speed, {}}};
        if (other_open) s.demands.push_back({"pull_cord", milliseconds(3200), seconds(2), {}});
        sim::TimeLine line(s);
        sim::rehearse(s, 11, {.line = &line});
        CHECK(line.speed().back().um_s == (other_open ? 120'000 : 800'000));
    }
}

TEST_CASE("a drive that does not slow down breaks a function unless its monitor stops it in time") {
    sim::Scenario s = one_demand("speed_selector");
    sim::Fault drive;
    drive.way = sim::FaultWay::drive_does_not_slow;
    drive.error = sim::ErrorKind::none;
    drive.at_end = sim::End::device;
    drive.at = seconds(1);
    drive.to_device = false;
    s.faults = {drive};
    auto result = sim::rehearse(s, 11);
    CHECK(result.function_rows[0].met == Met::yes);  // 800 to 120 mm/s and 233 ms more, of 600 ms
    CHECK(result.demands[0].standstill);
    s.machine->reduced_speed_monitor.reset();
    result = sim::rehearse(s, 11);
    CHECK(result.verdict == RunVerdict::dangerous);
    CHECK(result.function_rows[0].met == Met::no);
}

TEST_CASE("a delay that has begun ends with the fall, and another demand does not begin it anew") {
    sim::Scenario s = one_demand("flap");
    s.signals[0].off_delay = milliseconds(100);
    sim::OffDelays delays(s, sim::End::controller);
    const auto at = [](std::int64_t ms) { return proto::Instant{} + milliseconds(ms); };
    CHECK(delays.sent(1, at(0)) == 1);
    CHECK(delays.sent(0, at(10)) == 1);
    CHECK(delays.next(at(10)) == at(110));
    CHECK(delays.sent(1, at(50)) == 1);  // free again
    CHECK(delays.sent(0, at(60)) == 1);  // and demanded again
    CHECK(delays.next(at(60)) == at(110));
    CHECK(delays.sent(1, at(110)) == 0);
    CHECK(delays.next(at(110)) == at(110) + proto::Duration{1});
    CHECK(delays.sent(1, at(120)) == 1);
    CHECK(delays.next(at(120)) == proto::never);
}

TEST_CASE("category 1 timed by the controller: the ramp first, then the power, and a failing link takes both") {
    sim::Scenario s = one_demand("flap");
    s.functions.resize(1);
    s.functions[0].must[0].must = StopCategory::category_1;
    s.signals[0].name = "no_stop_request";
    s.signals[1].name = "power_allowed";
    s.signals[1].all_of = {"flap"};
    s.signals[1].off_delay = milliseconds(400);
    for (sim::TypedEnd* end : {&s.controller, &s.device}) {
        end->bits[0].signal = "no_stop_request";
        end->bits[1].signal = "power_allowed";
    }
    s.machine->reactions = {{"no_stop_request", StopCategory::category_1, {}},
                            {"power_allowed", StopCategory::category_0, {}}};
    auto result = sim::rehearse(s, 11);
    CHECK(result.function_rows[0].met == Met::yes);
    // the demand has arrived with the first 0: the one that follows the ramp is not waited for
    CHECK(result.verdict == RunVerdict::pass);
    CHECK(result.dangerous.empty());
    // the ramp: 20 ms and 800 mm/s over 3200 mm/s2; the power goes later and changes nothing
    CHECK(*result.demands[0].standstill == *result.demands[0].command + milliseconds(270));
    REQUIRE(result.demands[0].hops.size() == 2);
    CHECK(*result.demands[0].hops[1].computed - *result.demands[0].hops[0].computed >= milliseconds(400));
    CHECK(*result.demands[0].hops[1].computed - *result.demands[0].hops[0].computed <= milliseconds(410));
    CHECK(sim::reached_by_failure(s)->stop == StopCategory::category_0);
}

}  // namespace
