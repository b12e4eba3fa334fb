// Links of one cell as each other's neighbours: what a fault brings from one to another is judged where it arrives, and
// nothing of it depends on which link is moved first.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstddef>
#include <string>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/judge/observer.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tests/support/cells.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::milliseconds;
using proto::seconds;
using sim::FaultWay;
using tests::Ways;

/// As the reader does it: what strikes both links stands in both.
void strike(sim::WholeCell& cell, std::size_t link, std::size_t other, sim::Fault fault) {
    fault.error = sim::error_of(fault.way);
    fault.where.key = "fault[" + std::to_string(cell.links[link].alone.faults.size() + 1) + "]";
    fault.other_link = cell.links[other].name;
    cell.links[link].alone.faults.push_back(fault);
    if (fault.way == FaultWay::neighbour) return;
    fault.other_link = cell.links[link].name;
    fault.of_other_link = true;
    cell.links[other].alone.faults.push_back(fault);
}

std::uint64_t by_authentication(const sim::EndShown& end) {
    return end.counters.rejected[static_cast<unsigned>(proto::Measure::authentication)];
}

std::uint64_t digest_alone(const sim::WholeCell& cell, std::size_t link, std::uint64_t seed) {
    const sim::Scenario alone = sim::in_cell(cell, link);
    return sim::rehearse(alone, sim::seed_of_link(seed, link)).digest;
}

/// Two links that differ in nothing but their addresses, so that all their scans fall together.
sim::WholeCell two_alike() {
    sim::WholeCell cell = tests::separate_links(2, seconds(5));
    for (sim::CellLink& link : cell.links) {
        sim::Scenario& s = link.alone;
        s.device_phase = {};
        tests::both_ends(s, [](proto::LinkSettings& each) { each.cycle = milliseconds(10); });
        s.controller.link.scan = milliseconds(10);
        s.device.link.scan = milliseconds(5);
        tests::set_delay(s, milliseconds(1));
    }
    sim::complete_links(cell);
    return cell;
}

}  // namespace

TEST_CASE("a telegram of another link of the cell is inserted, refused by its addresses and counted") {
    for (const Ways way : {Ways::out, Ways::back}) {
        CAPTURE(static_cast<int>(way));
        sim::WholeCell cell = tests::separate_links(3, seconds(6));
        strike(cell, 0, 1, tests::on(tests::fault_of(FaultWay::neighbour, seconds(3)), way));
        sim::complete_links(cell);
        const sim::CellResult all = sim::rehearse_cell(cell, 77);
        const sim::InjectionResult& injection = all.links[0].injections.at(0);
        CHECK(injection.outcome == sim::Outcome::safe_state);
        CHECK(injection.telegrams == 1);
        CHECK(injection.detected_by == proto::Measure::authentication);
        CHECK(injection.detected_end == (way == Ways::out ? proto::End::device : proto::End::controller));
        CHECK(by_authentication(way == Ways::out ? all.links[0].device : all.links[0].controller) == 1);
        CHECK(all.links[0].stops == 1);
        CHECK(all.links[0].spurious_trips == 0);
        CHECK(all.recovered);
        CHECK(all.verdict == sim::RunVerdict::pass);
        // the link that was overheard, and one that has nothing to do with it, run as alone
        for (const std::size_t other : {std::size_t{1}, std::size_t{2}}) {
            CHECK(all.links[other].digest == digest_alone(cell, other, 77));
            CHECK(all.links[other].stops == 0);
        }
        CHECK(sim::rehearse_cell(cell, 77).digest == all.digest);
        CHECK(sim::rehearse_cell(cell, 78).digest != all.digest);
    }
}

TEST_CASE("a telegram that arrives at another link's end is missing here and judged there") {
    sim::WholeCell cell = tests::separate_links(3, seconds(6));
    strike(cell, 1, 0, tests::fault_of(FaultWay::misdeliver, seconds(3)));
    sim::complete_links(cell);
    const sim::CellResult all = sim::rehearse_cell(cell, 5);
    const sim::InjectionResult& here = all.links[1].injections.at(0);
    const sim::InjectionResult& there = all.links[0].injections.at(0);
    // a polled link repeats what is not answered
    CHECK(here.telegrams == 1);
    CHECK(here.outcome != sim::Outcome::safe_state);
    CHECK(here.outcome != sim::Outcome::dangerous);
    CHECK(all.links[1].stops == 0);
    CHECK(there.telegrams == 1);
    CHECK(there.outcome == sim::Outcome::safe_state);
    CHECK(there.detected_by == proto::Measure::authentication);
    CHECK(there.detected_end == proto::End::device);
    CHECK(by_authentication(all.links[0].device) == 1);
    CHECK(all.links[0].spurious_trips == 0);  // it is put down to the fault, not to nothing
    CHECK(all.links[2].digest == digest_alone(cell, 2, 5));
    CHECK(all.twin_trips == 0);
    CHECK(all.recovered);
}

TEST_CASE("a plug in the wrong socket for a while: one link stops by its watchdog, the other rejects what it gets") {
    sim::WholeCell cell = tests::separate_links(2, seconds(6));
    strike(cell, 0, 1,
           tests::lasting(tests::on(tests::fault_of(FaultWay::misdeliver, seconds(3)), Ways::both), milliseconds(300)));
    sim::complete_links(cell);
    const sim::CellResult all = sim::rehearse_cell(cell, 5);
    CHECK(all.links[0].injections[0].outcome == sim::Outcome::safe_state);
    CHECK(all.links[0].injections[0].detected_by == proto::Measure::time_expectation);
    CHECK(all.links[1].injections[0].outcome == sim::Outcome::safe_state);
    CHECK(all.links[1].injections[0].detected_by == proto::Measure::authentication);
    CHECK(by_authentication(all.links[1].device) > 1);
    CHECK(all.recovered);
    for (const sim::RunResult& link : all.links) CHECK(link.dangerous.empty());
}

TEST_CASE("telegrams of two links change places, and it is the same seen from either") {
    sim::WholeCell cell = two_alike();
    strike(cell, 0, 1, tests::fault_of(FaultWay::swap, seconds(3)));
    const sim::CellResult all = sim::rehearse_cell(cell, 9);
    for (const sim::RunResult& link : all.links) {
        const sim::InjectionResult& swapped = link.injections.at(0);
        CHECK(swapped.telegrams == 2);  // one that went, one that came
        CHECK(swapped.outcome == sim::Outcome::safe_state);
        CHECK(swapped.detected_by == proto::Measure::authentication);
        CHECK(by_authentication(link.device) == 1);
    }
    // no link is first: both see it after the same time
    CHECK(all.links[0].injections[0].detect == all.links[1].injections[0].detect);
    CHECK(all.links[0].injections[0].at == all.links[1].injections[0].at);
    CHECK(all.recovered);

    SUBCASE("for good: neither link comes back by itself, and nothing moves") {
        sim::WholeCell lasting = two_alike();
        strike(lasting, 0, 1,
               tests::lasting(tests::on(tests::fault_of(FaultWay::swap, seconds(2)), Ways::both), seconds(3)));
        const sim::CellResult end = sim::rehearse_cell(lasting, 9);
        for (const sim::RunResult& link : end.links) {
            CHECK(link.controller.state != proto::State::running);
            CHECK(link.device.state != proto::State::running);
            CHECK(link.dangerous.empty());
        }
        CHECK(end.recovered);
    }
}

TEST_CASE("what is inserted was on the wires before: from the very begin there is nothing yet") {
    sim::WholeCell cell = two_alike();
    // the first telegrams of both links leave in one instant: none of them is older than another
    sim::Fault fault = tests::fault_of(FaultWay::neighbour, milliseconds(0));
    fault.at.reset();
    fault.on_telegram = 1;
    strike(cell, 0, 1, fault);
    const sim::CellResult first = sim::rehearse_cell(cell, 3);
    CHECK(first.links[0].injections[0].outcome == sim::Outcome::not_fired);
    cell.links[0].alone.faults[0].on_telegram = 2;
    CHECK(sim::rehearse_cell(cell, 3).links[0].injections[0].telegrams == 1);
    // and which link stands first in the file makes no difference
    sim::WholeCell turned = two_alike();
    strike(turned, 1, 0, fault);
    CHECK(sim::rehearse_cell(turned, 3).links[1].injections[0].outcome == sim::Outcome::not_fired);
    turned.links[1].alone.faults[0].on_telegram = 2;
    CHECK(sim::rehearse_cell(turned, 3).links[1].injections[0].telegrams == 1);
}

TEST_CASE("without addresses a telegram of another link can be taken for one's own, and that is dangerous") {
    // every number of the other link in turn, until one fits; both ends of both links have no addresses to judge by
    sim::WholeCell cell = two_alike();
    for (sim::CellLink& link : cell.links)
        tests::both_ends(link.alone, [](proto::LinkSettings& each) {
            each.profile = tests::profile_of(tests::Carries::no_addresses);
            each.profile.sequence.bits = 2;  // so that numbers meet
        });
    sim::Fault fault = tests::times(tests::fault_of(FaultWay::neighbour, seconds(1)), 400);
    fault.every = 1;
    for (sim::CellLink& link : cell.links)
        tests::both_ends(link.alone, [](proto::LinkSettings& each) { each.reaction = proto::Reaction::discard; });
    strike(cell, 0, 1, fault);
    bool dangerous = false;
    for (std::uint64_t seed = 1; seed <= 12 && !dangerous; ++seed) {
        const sim::CellResult all = sim::rehearse_cell(cell, seed);
        dangerous = all.links[0].injections[0].outcome == sim::Outcome::dangerous;
        if (!dangerous) continue;
        CHECK(all.verdict == sim::RunVerdict::dangerous);
        CHECK(all.links[0].injections[0].why.find("a telegram of link " + cell.links[1].name) != std::string::npos);
        CHECK(all.links[1].dangerous.empty());
    }
    CHECK(dangerous);
}
