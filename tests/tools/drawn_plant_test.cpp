// The plant as data for its drawing: settings are told at the end where they are mended, and no other.
#include <doctest/doctest.h>

#include "samples.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check.hpp"
#include "tools/plant/drawn_plant.hpp"
#include "tools/text/look_up.hpp"

using tools::count_of;
using tools::look_up;
using tools::look_up_list;
using tools::look_up_number;
using tools::look_up_text;

TEST_CASE("what differs is counted at the end where it is mended, and at the link all of it") {
    const sim::Scenario scenario = samples::guarded().scenario;
    sim::CrossCheck check;
    for (const sim::MendAt at :
         {sim::MendAt::device, sim::MendAt::device, sim::MendAt::controller, sim::MendAt::both, sim::MendAt::design}) {
        sim::Difference one;
        one.mend_at = at;
        check.differences.push_back(one);
    }
    sim::FunctionCheck functions;
    sim::FunctionCheckRow wrong;
    wrong.safeguard = scenario.safeguards.front().name;
    wrong.ok = false;
    functions.rows = {wrong};
    const std::vector<std::string> stations = tools::stations_of_guards(scenario);
    REQUIRE(stations.size() == scenario.safeguards.size());
    const tools::Value drawn =
        tools::drawn_plant({.links = {{"", &scenario, &check}}, .guard_stations = stations, .functions = &functions});

    CHECK(look_up_text(drawn, "controller") == scenario.controller.name);
    CHECK(count_of(look_up_number(drawn, "controller_differs")) == 2);
    const tools::Value &station = look_up_list(drawn, "stations").at(0), &link = look_up_list(drawn, "links").at(0);
    CHECK(look_up_text(station, "name") == scenario.device.name);
    CHECK(count_of(look_up_number(station, "differs")) == 3);
    CHECK(count_of(look_up_number(link, "differs")) == 5);
    CHECK_FALSE(look_up(link, "apart").is_true());
    check.apart.emplace();
    const tools::Value apart =
        tools::drawn_plant({.links = {{"", &scenario, &check}}, .guard_stations = stations, .functions = &functions});
    CHECK(count_of(look_up_number(look_up_list(apart, "links").at(0), "differs")) == 6);

    const tools::Value::List& guards = look_up_list(drawn, "safeguards");
    REQUIRE(guards.size() == scenario.safeguards.size());
    for (std::size_t i = 0; i < guards.size(); ++i) {
        CHECK(look_up_text(guards[i], "at") == scenario.end(scenario.safeguards[i].at).name);
        CHECK(count_of(look_up_number(guards[i], "warns")) == (i == 0 ? 1U : 0U));
    }
    CHECK(look_up_list(drawn, "machines").size() == 1);
}
