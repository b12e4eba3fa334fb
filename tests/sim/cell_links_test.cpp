// Several links at one controller: what joins them, and that nothing else does.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/drive/trial.hpp"
#include "sim/judge/observer.hpp"
#include "sim/timing/cell_ways.hpp"
#include "sim/timing/response.hpp"
#include "tests/support/cells.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::milliseconds;
using proto::seconds;

sim::Fault cut(Duration at, Duration lasting) {
    return tests::lasting(tests::on(tests::fault_of(sim::FaultWay::drop, at), tests::Ways::both), lasting);
}

const sim::FarStop* far_stop(const sim::CellResult& result, std::size_t link, std::size_t machine_link) {
    for (const sim::FarStop& stop : result.far_stops)
        if (stop.link == link && stop.machine_link == machine_link) return &stop;
    return nullptr;
}

}  // namespace

TEST_CASE("links that have nothing to do with each other run as each alone, to the last bit") {
    sim::WholeCell cell = tests::separate_links(3, seconds(6));
    tests::demand(cell, "guard 1", seconds(2), milliseconds(400));
    cell.links[0].alone.faults.push_back(cut(seconds(3), milliseconds(200)));
    cell.links[2].alone.faults.push_back(tests::fault_of(sim::FaultWay::random_bits, seconds(4)));
    sim::complete_links(cell);
    const sim::CellResult all = sim::rehearse_cell(cell, 77);
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        CAPTURE(i);
        // alone it judges every demand; in the cell only that of its own machine
        sim::Scenario alone = sim::in_cell(cell, i);
        const sim::RunResult one = sim::rehearse(alone, sim::seed_of_link(77, i));
        CHECK(one.digest == all.links[i].digest);
        CHECK(one.cycles == all.links[i].cycles);
        CHECK(one.stops == all.links[i].stops);
    }
    CHECK(all.links[0].stops == 1);
    CHECK(all.links[1].stops == 0);
    CHECK(all.links[2].stops == 1);
    CHECK(all.far_stops.empty());
}

TEST_CASE("a demand crosses two links, and each step of its way is seen in order") {
    sim::WholeCell cell = tests::chain_of({}, {}, seconds(4));
    tests::demand(cell, "guard", milliseconds(2003), milliseconds(500));
    sim::complete_links(cell);
    const sim::CellResult result = sim::rehearse_cell(cell, 5);
    REQUIRE(result.demands.size() == 1);
    const sim::CellDemand& row = result.demands[0];
    CHECK(row.machine_link == 1);
    REQUIRE(row.hops.size() == 2);
    CHECK(row.hops[0].link == 0);
    CHECK(row.hops[1].link == 1);
    Duration last{};
    for (const sim::CellDemand::Hop& hop : row.hops) {
        REQUIRE(hop.hop.computed);
        REQUIRE(hop.hop.sent);
        REQUIRE(hop.hop.received);
        CHECK(*hop.hop.computed >= last);
        CHECK(*hop.hop.sent >= *hop.hop.computed);
        CHECK(*hop.hop.received > *hop.hop.sent);
        last = *hop.hop.received;
    }
    const sim::DemandResult& demand = result.links[1].demands[row.result];
    CHECK(demand.response == last);
    REQUIRE(row.bound);
    CHECK(*demand.response < *row.bound);
    REQUIRE(demand.standstill);
    CHECK(result.links[0].demands.empty());  // judged once
}

TEST_CASE("a link that fails stops the machines that depend on it and no other, and says which link it was") {
    sim::WholeCell cell = tests::chain_of({}, {}, seconds(6));
    cell.links[0].alone.faults.push_back(cut(seconds(3), milliseconds(200)));
    sim::complete_links(cell);
    const sim::CellResult result = sim::rehearse_cell(cell, 5);
    const sim::FarStop* stop = far_stop(result, 0, 1);
    REQUIRE(stop != nullptr);
    CHECK(stop->moved);
    REQUIRE(stop->standstill);
    REQUIRE(stop->allowed);
    CHECK(*stop->standstill <= *stop->allowed);
    CHECK(result.links[1].stops == 0);  // its own link ran on
    CHECK(result.verdict == sim::RunVerdict::pass);

    SUBCASE("the machine's own link is no failure elsewhere") {
        cell.links[0].alone.faults.clear();
        cell.links[1].alone.faults.push_back(cut(seconds(3), milliseconds(200)));
        const sim::CellResult own = sim::rehearse_cell(cell, 5);
        CHECK(own.far_stops.empty());
        CHECK(own.links[0].stops == 0);
        CHECK(own.links[1].stops == 1);
    }
}

TEST_CASE("after a link failed, a machine at another link waits for its start") {
    sim::WholeCell cell = tests::chain_of({}, {}, seconds(8));
    sim::Machine& machine = *cell.links[1].alone.machine;
    machine.reduced_speed_um_s = 50'000;
    machine.reactions = {{"may_run", sim::StopCategory::reduced_speed, {}}};
    sim::SafetyFunction function;
    function.name = "the guard slows the machine down";
    function.safeguards = {"guard"};
    function.must = {{"machine", sim::StopCategory::reduced_speed, {}, {}}};
    function.returns = sim::Returns::by_itself;
    cell.links[1].alone.functions = {function};
    tests::demand(cell, "guard", seconds(2), milliseconds(500));
    cell.links[0].alone.faults.push_back(cut(seconds(4), milliseconds(200)));
    sim::complete_links(cell);
    sim::TimeLine first(cell.links[0].alone), second(cell.links[1].alone);
    sim::rehearse_cell(cell, 5, {{nullptr, &first}, {nullptr, &second}});
    const auto speed_at = [&](Duration at) {
        std::int64_t speed = 0;
        for (const sim::MachineModel::Corner& change : second.speed())
            if (change.at <= proto::Instant{} + at) speed = change.um_s;
        return speed;
    };
    CHECK(speed_at(milliseconds(2400)) == 50'000);
    CHECK(speed_at(seconds(3)) == 250'000);  // the guard alone: by itself
    CHECK(speed_at(milliseconds(4300)) == 50'000);
    CHECK(speed_at(milliseconds(7900)) == 50'000);  // the link runs again since 4.4 s: nobody started the machine
}

TEST_CASE("a start between a failure and the 0 that tells the machine of it does not bring the speed back later") {
    for (std::int64_t ms = 4'000; ms < 4'190; ms += 3) {
        CAPTURE(ms);
        tests::LinkOfChain slow;
        slow.cycle = milliseconds(30);
        slow.device_scan = milliseconds(20);
        slow.controller_watchdog = slow.device_watchdog = milliseconds(150);
        sim::WholeCell cell = tests::chain_of({}, slow, seconds(8));
        sim::Scenario& alone = cell.links[1].alone;
        alone.machine->reduced_speed_um_s = 50'000;
        alone.machine->reactions = {{"may_run", sim::StopCategory::reduced_speed, {}}};
        alone.functions = {{.name = "the guard slows the machine down",
                            .safeguards = {"guard"},
                            .must = {{"machine", sim::StopCategory::reduced_speed, {}, {}}},
                            .in_mode = {},
                            .level = {},
                            .returns = sim::Returns::by_itself,
                            .distance = {},
                            .where = {}}};
        alone.operator_acts.push_back(
            {sim::OperatorAct::Event::time, sim::OperatorAct::Act::start_machine, milliseconds(ms), {}});
        cell.links[0].alone.faults.push_back(cut(seconds(4), milliseconds(200)));
        sim::complete_links(cell);
        sim::TimeLine first(cell.links[0].alone), second(alone);
        const sim::CellResult result = sim::rehearse_cell(cell, 5, {{nullptr, &first}, {nullptr, &second}});
        REQUIRE(result.links[0].stops == 1);
        REQUIRE(!second.speed().empty());
        CHECK(second.speed().back().um_s == 50'000);
    }
}

TEST_CASE("a 0 that the controller has for one scan only is carried by the next link all the same") {
    // the first link brings a new value every 10 ms, the second takes one every 40 ms
    tests::LinkOfChain fast, slow;
    fast.device_scan = milliseconds(2);
    slow.cycle = milliseconds(40);
    slow.device_scan = milliseconds(5);
    slow.controller_watchdog = slow.device_watchdog = milliseconds(200);
    for (std::int64_t us = 0; us < 40'000; us += 1'300) {
        CAPTURE(us);
        sim::WholeCell cell = tests::chain_of(fast, slow, seconds(4));
        cell.minimum_holds[0] = milliseconds(15);  // somebody typed less than the links need
        tests::demand(cell, "guard", seconds(2) + proto::microseconds(us), milliseconds(15));
        sim::complete_links(cell);
        const sim::CellResult result = sim::rehearse_cell(cell, 9);
        REQUIRE(result.demands.size() == 1);
        const sim::DemandResult& demand = result.links[1].demands[0];
        CHECK(demand.response.has_value());
        CHECK(demand.standstill.has_value());
    }
}

TEST_CASE(
    "a link seen with the machine behind another one is reckoned and tried by itself, as that machine's link is") {
    sim::WholeCell cell = tests::chain_of({}, {}, seconds(4));
    sim::SafetyFunction function;
    function.name = "the guard stops the machine";
    function.safeguards = {"guard"};
    function.must = {{"machine", sim::StopCategory::category_1, seconds(1), {}}};
    cell.links[1].alone.functions = {function};
    cell.links[0].alone.faults = {tests::fault_of(sim::FaultWay::random_bits)};
    sim::complete_links(cell);
    const sim::Scenario over = sim::seen_over(cell, 0, 1);
    REQUIRE(over.machine);
    CHECK(over.machine->at == proto::End::controller);
    CHECK(sim::response_of(over, "guard").response == sim::response_of(cell.links[1].alone, "guard").response);
    CHECK(sim::decisive_view(cell, 0).machine.has_value());
    // every trial demands only what concerns the machine, and some of them show the function
    sim::TrialRunner trials(over, 3);
    unsigned met = 0;
    for (std::uint64_t i = 0; i < 400; ++i) {
        const sim::TrialRecord record = trials.run(i);
        CAPTURE(trials.why());
        CHECK(record.outcome != sim::Outcome::dangerous);
        CHECK(record.functions_not_met == 0);
        met += record.functions_met != 0 ? 1 : 0;
    }
    CHECK(met > 40);
}

TEST_CASE("the same cell and seed give the same, and every shipped one is as it expects") {
    const sim::WholeCell cell = tests::separate_links(2, seconds(2));
    CHECK(sim::rehearse_cell(cell, 3).digest == sim::rehearse_cell(cell, 3).digest);
    CHECK(sim::rehearse_cell(cell, 3).digest != sim::rehearse_cell(cell, 4).digest);
}
