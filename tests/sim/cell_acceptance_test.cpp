// The acceptance test of a whole cell: a plant that is right passes it, what is wrong fails the row that it is about,
// and what a row takes is the whole way.
#include <doctest/doctest.h>

#include <string>

#include "sim/reading/read_cell.hpp"
#include "sim/studies/cell_acceptance.hpp"

namespace {

using proto::milliseconds;

sim::WholeCell shipped() {
    return sim::read_cell(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/glass_line/cell.toml").value();
}

const sim::CellDemandAct& demand_of(const sim::CellAcceptance& study, const std::string& safeguard, std::size_t link) {
    for (const sim::CellDemandAct& demand : study.demands)
        if (demand.rehearsed.act.safeguard == safeguard && demand.machine_link == link) return demand;
    FAIL("no row of " << safeguard);
    return study.demands.front();
}

sim::Duration longest(const sim::CellAcceptance& study, const std::string& safeguard, std::size_t link) {
    return demand_of(study, safeguard, link).rehearsed.seen.longest.value();
}

constexpr std::size_t infeed = 0, bridge = 1, table = 2;

}  // namespace

TEST_CASE("a cell that is right passes its own acceptance test over all links") {
    const sim::WholeCell cell = shipped();
    const sim::CellAcceptance study = sim::study_acceptance(cell, cell.seed);
    REQUIRE(study.looks.size() == 3);
    for (const sim::CellLook& look : study.looks) {
        CAPTURE(look.passes.why);
        CHECK(look.passes.passes == true);
    }
    REQUIRE(study.demands.size() == 4);
    for (const sim::CellDemandAct& demand : study.demands) {
        CAPTURE(demand.rehearsed.passes.why);
        CHECK(demand.rehearsed.passes.passes == true);
        CHECK(demand.rehearsed.seen.ran == demand.rehearsed.seen.tried);
        // the bound of the settings is of the whole way, and so is what was rehearsed
        CHECK(*demand.rehearsed.seen.longest <= *demand.rehearsed.limits.by_settings);
        CHECK(*demand.rehearsed.limits.by_settings <= *demand.rehearsed.limits.machine_at_most);
    }
    // three cables, two machines; the bridge's cable leaves the table alone, and the table's the bridge
    REQUIRE(study.cuts.size() == 6);
    for (const sim::CellCutAct& cut : study.cuts) {
        CAPTURE(cut.passes.why);
        CHECK(cut.passes.passes == true);
        const bool stops = cut.link == infeed || cut.link == cut.machine_link;
        CHECK((cut.must == sim::CellCutAct::Must::stop) == stops);
        if (stops) CHECK(*cut.rehearsed <= *cut.allowed);
    }
    REQUIRE(study.function_distances.size() == 3);
    CHECK(study.function_distances[0]);
    CHECK_FALSE(study.function_distances[1]);
}

TEST_CASE("what a row takes is the whole way: a slower first link makes those slower that cross it") {
    sim::WholeCell cell = shipped();
    const sim::CellAcceptance before = sim::study_acceptance(cell, 1);
    cell.links[infeed].alone.to_controller.delay = {
        sim::DelayShape::Kind::constant, milliseconds(20), milliseconds(20), {}};
    const sim::CellAcceptance after = sim::study_acceptance(cell, 1);
    for (const std::size_t machine : {bridge, table})
        CHECK(longest(after, "rope", machine) > longest(before, "rope", machine) + milliseconds(10));
    CHECK(longest(after, "table_flap", table) == longest(before, "table_flap", table));
}

TEST_CASE("a machine that obeys nothing fails its own rows and no other's") {
    sim::WholeCell cell = shipped();
    cell.links[bridge].alone.machine->reactions.clear();
    const sim::CellAcceptance study = sim::study_acceptance(cell, 1);
    CHECK(demand_of(study, "rope", bridge).rehearsed.passes.passes == false);
    CHECK(demand_of(study, "rope", table).rehearsed.passes.passes == true);
    CHECK(demand_of(study, "table_flap", table).rehearsed.passes.passes == true);
}

TEST_CASE("what falls with a guard is told by the link that carries it, and by no other") {
    const sim::WholeCell cell = shipped();
    const std::size_t rope = cell.links.front().alone.place_of("rope");
    std::uint64_t all = 0;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const std::uint64_t falls = sim::falling_on_link(cell, i, rope);
        CHECK(falls != 0);
        CHECK((all & falls) == 0);
        all |= falls;
    }
    const std::size_t flap = cell.links.front().alone.place_of("table_flap");
    CHECK(sim::falling_on_link(cell, infeed, flap) == 0);
    CHECK(sim::falling_on_link(cell, bridge, flap) == 0);
}

TEST_CASE("a pulled cable is allowed no second watchdog, near or far") {
    sim::WholeCell cell = shipped();
    const sim::CellAcceptance study = sim::study_acceptance(cell, cell.seed);
    const auto cut = [&](std::size_t link, std::size_t machine) -> const sim::CellCutAct& {
        for (const sim::CellCutAct& one : study.cuts)
            if (one.link == link && one.machine_link == machine) return one;
        FAIL("no row");
        return study.cuts.front();
    };
    // delay 0.8 + 2 * 4 scan + 40 watchdog + 215 stop; 1.2 + 2 * 5 + 60 + 220
    CHECK(*cut(bridge, bridge).allowed == sim::Duration{263'800'000});
    CHECK(cut(bridge, bridge).reckoned.find("40 ms watchdog of bridge drive") != std::string::npos);
    CHECK(*cut(table, table).allowed == sim::Duration{291'200'000});
    // 0.8 + 2 * 10 + 40 at the controller, then the other link without a fault, 20.4, and 215
    CHECK(*cut(infeed, bridge).allowed == sim::Duration{296'200'000});
    CHECK(cut(infeed, bridge).reckoned.empty());
    // a drive with 58 ms in place of 40 would have been let through by run's limit of any fault, 299 ms
    sim::Scenario& slow = cell.links[bridge].alone;
    slow.device.link.watchdog = slow.controller.link.peer_watchdog = milliseconds(58);
    for (const sim::CellCutAct& one : sim::study_acceptance(cell, cell.seed).cuts)
        if (one.link == bridge && one.machine_link == bridge)
            CHECK(one.rehearsed.value() > *cut(bridge, bridge).allowed);
}

TEST_CASE("where something lies between a pulled cable and a machine, the limit of any fault stays") {
    sim::WholeCell cell = shipped();
    const auto far = [&] {
        for (const sim::CellCutAct& one : sim::study_acceptance(cell, cell.seed).cuts)
            if (one.link == infeed && one.machine_link == bridge) return *one.allowed;
        return sim::Duration{};
    };
    const sim::Duration calm = far();
    cell.links[bridge].alone.to_device.loss = 1e-9;
    const sim::Duration lossy = far();
    CHECK(lossy > calm + milliseconds(40));
}

TEST_CASE("no placing of a pulled cable exceeds what its row allows") {
    // delays and phases apart, so that the grids of the scans meet elsewhere
    for (const int slow : {10, 20, 40})
        for (const std::uint64_t seed : {1U, 2U, 3U}) {
            sim::WholeCell cell = shipped();
            for (sim::CellLink& link : cell.links) {
                link.alone.to_device.delay = {
                    sim::DelayShape::Kind::uniform, milliseconds(0), milliseconds(slow / 10 + 1), {}};
                link.alone.device_phase = sim::Duration{(slow * 137'000) % 4'000'000};
            }
            for (const sim::CellCutAct& cut : sim::study_acceptance(cell, seed).cuts) {
                CAPTURE(cut.passes.why);
                CHECK(cut.passes.passes == true);
                if (cut.must == sim::CellCutAct::Must::stop) CHECK(*cut.rehearsed <= *cut.allowed);
            }
        }
}

TEST_CASE("a limit that a function states is told by the function's number in the cell") {
    const sim::WholeCell cell = shipped();
    const sim::CellAcceptance study = sim::study_acceptance(cell, cell.seed);
    for (const sim::CellDemandAct& demand : study.demands) {
        REQUIRE(demand.function);
        const std::string words = "function " + std::to_string(*demand.function + 1) + ": ";
        CHECK(demand.rehearsed.limits.reckoned.find(words) == 0);
    }
    CHECK(*demand_of(study, "rope", table).function == 1);
    CHECK(*demand_of(study, "table_flap", table).function == 2);
}
