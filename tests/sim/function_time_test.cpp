// The time of a safety function, its two limits, and the longest watchdog that keeps them.
#include "sim/timing/function_time.hpp"

#include <doctest/doctest.h>

#include "sim/scenario/scenario.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::milliseconds;
using sim::Scenario;
using sim::StopCategory;
using Binds = sim::FunctionTime::Binds;

/// Both guards of the tilting table in one function; the curtain's sensor takes 30 ms, the rope's 5 ms. A monitored
/// ramp: the stop takes 10 + 125 ms. The link takes 2 * 45 + 10 ms.
Scenario table() {
    Scenario s = tests::polled_link();
    s.required = {};
    s.safeguards[0].delay = milliseconds(30);
    s.safeguards[1].delay = milliseconds(5);
    s.stopping.ramp_monitored = true;
    sim::SafetyFunction function;
    function.name = "both";
    function.safeguards = {"rope_pull", "table_curtain"};
    function.must = {{.machine = "tilting table", .must = StopCategory::category_1, .within = {}, .where = {}}};
    s.functions = {function};
    return s;
}

sim::GuardDistance guard_at(std::int64_t there_mm) {
    return {.safeguard = "",
            .how = {.edition = sim::Edition::iso_13855_2010,
                    .approach = sim::Approach::interlocked_guard,
                    .reaching_through_um = 60'000},
            .there_um = there_mm * 1000,
            .where = {}};
}

}  // namespace

TEST_CASE("a function takes as long as its slowest safeguard: sensor, link with a fault, stop") {
    const Scenario s = table();
    const std::vector<sim::FunctionTime> times = sim::function_times(s);
    REQUIRE(times.size() == 1);
    CHECK(times[0].safeguard == "table_curtain");
    CHECK(times[0].link == milliseconds(100));
    CHECK(times[0].others == milliseconds(30 + 135));
    CHECK(times[0].response.overall == milliseconds(30 + 100 + 135));
    CHECK(times[0].binds == Binds::nothing);
    CHECK_FALSE(times[0].limit());
    CHECK(times[0].kept);
    CHECK(sim::time_of(s, 0, 0, "rope_pull").response.overall == milliseconds(5 + 100 + 135));
}

TEST_CASE("parts outside the link count, one fault at a time") {
    Scenario s = table();
    s.outside_parts = {{"relay", sim::OutsidePart::Place::before_link, milliseconds(15), milliseconds(40), "sheet"}};
    const sim::FunctionTime time = sim::function_times(s).front();
    CHECK(time.response.overall == milliseconds(30 + 15 + 100 + 135));  // the link's excess is the larger one
    CHECK(time.others == milliseconds(30 + 40 + 135));
}

TEST_CASE("the smaller of within and distance binds") {
    Scenario s = table();
    s.functions[0].must[0].within = milliseconds(300);
    CHECK(sim::function_times(s).front().binds == Binds::within);
    s.functions[0].distance = guard_at(700);  // (700 - 60) / 1600 = 400 ms
    sim::FunctionTime time = sim::function_times(s).front();
    CHECK(time.by_distance == milliseconds(400));
    CHECK(time.binds == Binds::within);
    CHECK(time.limit() == milliseconds(300));
    CHECK(time.spare() == milliseconds(35));
    CHECK(time.left_for_link() == milliseconds(300 - 165));
    CHECK(time.kept);
    s.functions[0].distance = guard_at(460);  // 250 ms
    time = sim::function_times(s).front();
    CHECK(time.binds == Binds::distance);
    CHECK(time.limit() == milliseconds(250));
    CHECK_FALSE(time.kept);
    CHECK(time.why ==
          "265 ms from the demand to the end of the hazard, over the 250 ms that the distance of 460 mm leaves, the "
          "smaller limit (within = 300 ms is longer than the distance allows)");
}

TEST_CASE("a distance of one safeguard binds that one only, [required] and [distance] stand in for the function") {
    Scenario s = table();
    s.functions[0].distance = guard_at(460);
    s.functions[0].distance->safeguard = "rope_pull";  // 240 of 250 ms
    sim::FunctionTime time = sim::function_times(s).front();
    CHECK(time.safeguard == "rope_pull");
    CHECK(time.spare() == milliseconds(10));
    CHECK_FALSE(sim::time_of(s, 0, 0, "table_curtain").limit());
    s.functions[0].distance.reset();
    s.distance = guard_at(460);
    s.distance->safeguard = "table_curtain";
    CHECK(sim::has_limit(s, s.functions[0]));
    CHECK_FALSE(sim::function_times(s).front().kept);
    s.distance.reset();
    CHECK_FALSE(sim::has_limit(s, s.functions[0]));
    s.required.overall = milliseconds(264);
    time = sim::function_times(s).front();
    CHECK_FALSE(time.kept);
    CHECK(sim::limit_in_words(time) == "required.overall = 264 ms");
}

TEST_CASE("the longest watchdog of a function keeps it, and a microsecond more does not") {
    Scenario s = table();
    for (const int within : {230, 265, 301, 999}) {
        s.functions[0].must[0].within = milliseconds(within);
        const auto longest = sim::longest_watchdog_for(s, 0);
        REQUIRE(longest);
        CHECK(longest == Duration{(milliseconds(within - 165 - 10).ns / 2) / 1000 * 1000});
        CHECK(sim::longest_watchdog(s).by_function == longest);
        CHECK(sim::longest_watchdog(s).longest() == longest);
        for (const bool over : {false, true}) {
            const Scenario at = sim::with_watchdog(s, *longest + Duration{over ? 1000 : 0});
            CHECK(sim::function_times(at).front().kept == !over);
            CHECK(sim::requirements_kept(at, sim::response_of(at)).kept == !over);
        }
    }
    s.functions[0].must[0].within = milliseconds(190);  // 2 * 11 + 10 ms do not fit into 25
    CHECK_FALSE(sim::longest_watchdog_for(s, 0));
    CHECK(sim::longest_watchdog(s).none);
}

TEST_CASE("of several functions the tightest decides") {
    Scenario s = table();
    s.functions.push_back(s.functions[0]);
    s.functions[0].must[0].within = milliseconds(400);
    s.functions[1].must[0].within = milliseconds(300);
    const std::vector<sim::FunctionTime> times = sim::function_times(s);
    REQUIRE(sim::tightest(times) != nullptr);
    CHECK(sim::tightest(times)->function == 1);
    CHECK(sim::longest_watchdog(s).function == 1);
    REQUIRE(sim::least_left_for_link(times));
    CHECK(sim::least_left_for_link(times)->function == 1);
    CHECK(sim::least_left_for_link(times)->time == milliseconds(135));
    CHECK(sim::tightest({}) == nullptr);
}

TEST_CASE("reduced speed counts by the function for its demand, and by all of them for a failing link") {
    Scenario s = table();
    s.machine->reduced_speed_um_s = 50'000;
    s.machine->reduced_speed_monitor = sim::SpeedMonitor{10'000, milliseconds(20), StopCategory::category_1};
    s.signals.push_back({"slow", sim::Direction::to_device, {"rope_pull"}, {}});
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->bits.push_back({"slow", {0, 2}, {}});
    s.signals[1].all_of = {"curtain_free"};
    s.machine->reactions.push_back({"slow", StopCategory::reduced_speed, {}});
    s.functions[0].safeguards = {"table_curtain"};
    s.functions.push_back(s.functions[0]);
    s.functions[1].safeguards = {"rope_pull"};
    s.functions[1].must[0] = {
        .machine = "tilting table", .must = StopCategory::reduced_speed, .within = milliseconds(900), .where = {}};
    CHECK_FALSE(sim::time_of(s, 1, 0, "rope_pull").kept);  // it never ends the hazard
    CHECK(sim::time_of(s, 0, 0, "table_curtain").kept);
    s.functions[1].reduced_speed_ends_hazard = true;
    // 10 + 100 ms to 50 mm/s; a failing link still leads to category 1, 135 ms
    CHECK(sim::time_of(s, 1, 0, "rope_pull").response.stopping == milliseconds(135));
    CHECK(sim::time_of(s, 1, 0, "rope_pull").kept);
    CHECK_FALSE(sim::failure_only_slows(s));
    s.machine->reactions.erase(s.machine->reactions.begin());
    CHECK(sim::failure_only_slows(s));  // the other function wants standstill
    CHECK_FALSE(sim::time_of(s, 1, 0, "rope_pull").kept);
    s.functions[0].reduced_speed_ends_hazard = true;
    CHECK_FALSE(sim::failure_only_slows(s));
    CHECK(sim::time_of(s, 1, 0, "rope_pull").response.stopping == milliseconds(110));
}

TEST_CASE("a demand that reaches no reaction is not kept, whatever its limit") {
    Scenario s = table();
    s.signals[1].all_of = {"curtain_free"};
    const sim::FunctionTime time = sim::function_times(s).front();
    CHECK(time.safeguard == "rope_pull");
    CHECK_FALSE(time.reaches());
    CHECK_FALSE(time.kept);
    CHECK(time.why == "rope_pull reaches no reaction of the machine");
}

TEST_CASE("seen by a function: its guard, demand and limits stand in the tables") {
    Scenario s = table();
    s.functions[0].must[0].within = milliseconds(300);
    s.functions[0].distance = guard_at(700);
    const sim::FunctionTime time = sim::function_times(s).front();
    const Scenario seen = sim::seen_by(s, time);
    CHECK(sim::response_of(seen).safeguard == "table_curtain");
    CHECK(sim::response_of(seen).overall == time.response.overall);
    CHECK(seen.required.overall == milliseconds(300));
    CHECK(sim::tables_kept(seen, time.response).kept);
    REQUIRE(sim::distance_of(seen, time.response));
    CHECK(sim::distance_of(seen, time.response)->needed == time.needed->needed);
}
