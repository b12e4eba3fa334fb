// The parts of a live cell without sockets and clock: moved step by step, their records must join into what the whole
// cell shows in virtual time.
#include <algorithm>
#include <string>

#include <doctest/doctest.h>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/join_cell.hpp"
#include "sim/live/cell_live.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tests/support/cells.hpp"
#include "tests/support/live_cell_table.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::milliseconds;
using proto::seconds;
using sim::Together;

sim::WholeCell shipped() {
    auto read = sim::read_cell(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/glass_line/cell.toml");
    REQUIRE(read.ok());
    return std::move(read).value();
}

/// Within a cycle: how the scans of the parts lie to each other is nobody's choice live.
constexpr Duration near_enough = milliseconds(20);

void check_near(const std::optional<Duration>& a, const std::optional<Duration>& b) {
    REQUIRE(a.has_value() == b.has_value());
    if (a) CHECK(std::abs((*a - *b).ns) <= near_enough.ns);
}

void check_same(const sim::WholeCell& cell, const sim::CellResult& live, const sim::CellResult& alone) {
    CHECK(live.live);
    CHECK(live.verdict == alone.verdict);
    CHECK(live.as_expected == alone.as_expected);
    CHECK(live.twin_trips == alone.twin_trips);
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        CAPTURE(i);
        const sim::RunResult &a = live.links[i], &b = alone.links[i];
        CHECK(a.stops == b.stops);
        CHECK(a.spurious_trips == b.spurious_trips);
        CHECK(a.acknowledgements == b.acknowledgements);
        CHECK(a.machine_started == b.machine_started);
        REQUIRE(a.injections.size() == b.injections.size());
        for (std::size_t k = 0; k < a.injections.size(); ++k) {
            CAPTURE(k);
            CHECK(a.injections[k].outcome == b.injections[k].outcome);
            CHECK(a.injections[k].detected_by == b.injections[k].detected_by);
            CHECK(a.injections[k].as_expected == b.injections[k].as_expected);
            check_near(a.injections[k].standstill, b.injections[k].standstill);
        }
    }
    REQUIRE(live.demands.size() == alone.demands.size());
    for (std::size_t d = 0; d < live.demands.size(); ++d) {
        CAPTURE(d);
        const sim::CellDemand &a = live.demands[d], &b = alone.demands[d];
        CHECK(a.machine_link == b.machine_link);
        REQUIRE(a.hops.size() == b.hops.size());
        for (std::size_t h = 0; h < a.hops.size(); ++h) {
            CHECK(a.hops[h].link == b.hops[h].link);
            check_near(a.hops[h].hop.received, b.hops[h].hop.received);
        }
        const sim::DemandResult& row = live.links[a.machine_link].demands[a.result];
        check_near(row.standstill, alone.links[b.machine_link].demands[b.result].standstill);
    }
    REQUIRE(live.functions.size() == alone.functions.size());
    for (std::size_t f = 0; f < live.functions.size(); ++f) {
        CHECK(live.functions[f].met == alone.functions[f].met);
        check_near(live.functions[f].worst, alone.functions[f].worst);
    }
    REQUIRE(live.far_stops.size() == alone.far_stops.size());
    for (std::size_t s = 0; s < live.far_stops.size(); ++s) {
        CHECK(live.far_stops[s].machine_link == alone.far_stops[s].machine_link);
        CHECK(live.far_stops[s].moved == alone.far_stops[s].moved);
        CHECK(live.far_stops[s].within_limit == alone.far_stops[s].within_limit);
        check_near(live.far_stops[s].standstill, alone.far_stops[s].standstill);
    }
}

sim::WholeCell chain(Duration duration) {
    sim::WholeCell cell = tests::chain_of({}, {}, duration);
    tests::demand(cell, "guard", milliseconds(2003), milliseconds(500));
    sim::complete_links(cell);
    return cell;
}

}  // namespace

TEST_CASE("a live cell's parts moved step by step join into what the cell shows in virtual time") {
    const sim::WholeCell cell = shipped();
    const auto live =
        sim::join_cell(cell, cell.seed, tests::LiveCellTable(cell, cell.seed).run(), Together::if_they_match);
    REQUIRE(live);
    check_same(cell, *live, sim::rehearse_cell(cell, cell.seed));
    for (const sim::RunResult& link : live->links) CHECK(link.away.empty());
}

TEST_CASE("a live cell slower by a factor has the verdict of the cell, and its bounds grow alike") {
    const sim::WholeCell cell = shipped(), slow = sim::slowed(cell, 3);
    CHECK(slow.duration == cell.duration * 3);
    CHECK(sim::lateness_allowed(slow) == sim::lateness_allowed(cell) * 3);
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const sim::Scenario &a = slow.links[i].alone, &b = cell.links[i].alone;
        REQUIRE(a.outside_parts.size() == b.outside_parts.size());
        for (std::size_t p = 0; p < a.outside_parts.size(); ++p)
            CHECK(a.outside_parts[p].with_fault == b.outside_parts[p].with_fault * 3);
        for (std::size_t s = 0; s < a.safeguards.size(); ++s)
            CHECK(a.safeguards[s].minimum_hold == b.safeguards[s].minimum_hold * 3);
    }
    const sim::CellResult result = sim::rehearse_cell(slow, cell.seed),
                          as_written = sim::rehearse_cell(cell, cell.seed);
    CHECK(result.verdict == as_written.verdict);
    for (std::size_t f = 0; f < result.functions.size(); ++f)
        CHECK(result.functions[f].met == as_written.functions[f].met);
}

TEST_CASE("when a guard's contact opened is known by its station, whatever the clocks of the others say") {
    sim::WholeCell cell = chain(seconds(4));
    cell.links[1].alone.operator_acts.push_back(
        {sim::OperatorAct::Event::time, sim::OperatorAct::Act::start_machine, seconds(1), {}});
    // the station with the guard begins 60 ms after the others: its contact opens by so much later
    const Duration late = milliseconds(60);
    const auto together = sim::join_cell(cell, 5, tests::LiveCellTable(cell, 5).run(), Together::if_they_match);
    const auto apart =
        sim::join_cell(cell, 5, tests::LiveCellTable(cell, 5, {{}, {}, late}).run(), Together::if_they_match);
    REQUIRE(together);
    REQUIRE(apart);
    REQUIRE(together->demands.size() == 1);
    REQUIRE(apart->demands.size() == 1);
    const auto demand_of = [](const sim::CellResult& result) {
        return result.links[result.demands.front().machine_link].demands[result.demands.front().result];
    };
    const sim::DemandResult a = demand_of(*together), b = demand_of(*apart);
    // clocks are known to a scan and the delays
    CHECK(b.at >= a.at + late - milliseconds(12));
    CHECK(b.at <= a.at + late + milliseconds(12));
    REQUIRE(a.standstill);
    REQUIRE(b.standstill);
    // from the contact, not from when the controller's clock says that it should have opened
    CHECK(std::abs((*b.standstill - *a.standstill).ns) <= near_enough.ns);
    CHECK(apart->verdict == together->verdict);
}

TEST_CASE("a demand over a link that does not run at that moment is one whose way did not run") {
    sim::WholeCell cell = chain(seconds(4));
    sim::Fault cut = tests::lasting(
        tests::on(tests::fault_of(sim::FaultWay::drop, milliseconds(1900)), tests::Ways::both), milliseconds(600));
    cell.links[0].alone.faults.push_back(cut);
    sim::complete_links(cell);
    const auto live = sim::join_cell(cell, 5, tests::LiveCellTable(cell, 5).run(), Together::if_they_match);
    REQUIRE(live);
    check_same(cell, *live, sim::rehearse_cell(cell, 5));
    REQUIRE(live->demands.size() == 1);
    const sim::CellDemand& row = live->demands.front();
    CHECK_FALSE(live->links[row.machine_link].demands[row.result].link_ran);
}

TEST_CASE("a live cell's part whose record of the begin is lost is told, and a foreign one belongs to no run") {
    const sim::WholeCell cell = chain(seconds(4));
    const sim::CellRecords whole = tests::LiveCellTable(cell, 5).run();
    sim::CellRecords lost = whole;
    auto& events = lost[1][static_cast<std::size_t>(sim::Part::device)].log.events;
    const proto::Instant begins = proto::Instant{} + milliseconds(1500);
    std::erase_if(events, [&](const auto& e) { return sim::time_of(e) < begins; });
    for (sim::Event& event : events) std::visit([](auto& e) { e.at = e.at - milliseconds(1500); }, event);
    const auto joined = sim::join_cell(cell, 5, lost, Together::if_they_match);
    REQUIRE(joined);
    CHECK(joined->links[0].away.empty());
    REQUIRE(joined->links[1].away.size() == 1);
    CHECK(joined->links[1].away.front().part == sim::Part::device);
    CHECK_FALSE(joined->links[1].away.front().recorded);

    sim::CellRecords foreign = whole;
    for (sim::Event& event : foreign[1][static_cast<std::size_t>(sim::Part::device)].log.events)
        std::visit(
            [](auto& e) {
                if constexpr (requires { e.identity; }) ++e.identity;
                if constexpr (requires { e.token; }) ++e.token.value;
            },
            event);
    CHECK_FALSE(sim::join_cell(cell, 5, foreign, Together::if_they_match));
}

TEST_CASE("a stall and a restart of the controller strike every link of a live cell at once") {
    for (const sim::FaultWay way : {sim::FaultWay::restart, sim::FaultWay::stall}) {
        sim::WholeCell cell = chain(seconds(4));
        sim::Fault fault = tests::lasting(tests::fault_of(way, milliseconds(1200)), milliseconds(300));
        fault.at_end = sim::End::controller;
        for (sim::CellLink& link : cell.links) link.alone.faults.push_back(fault);
        sim::complete_links(cell);
        const auto live = sim::join_cell(cell, 5, tests::LiveCellTable(cell, 5).run(), Together::if_they_match);
        REQUIRE(live);
        check_same(cell, *live, sim::rehearse_cell(cell, 5));
        for (const sim::RunResult& link : live->links) CHECK(link.stops == 1);
    }
}
