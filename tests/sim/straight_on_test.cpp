// Links of a cell that are moved from one scan of the controller to the next by themselves, as those who only judge
// have it, beside the same links moved all together, as those who hear of telegrams have it.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

#include "sim/drive/joined_run.hpp"
#include "sim/drive/judged_links.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tests/support/cells.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::Instant;
using proto::milliseconds;
using proto::seconds;

struct Seen {
    std::uint64_t digest = 0, exchanges = 0, cycles = 0, spurious = 0;
    bool operator==(const Seen&) const = default;
};

template <class Links>
std::vector<Seen> seen_by(const Links& run) {
    std::vector<Seen> seen;
    for (const auto& link : run.links)
        seen.push_back({link->observer.digest(), link->observer.exchanges(), link->cell.cycles(),
                        link->observer.spurious_trips(sim::End::controller).all() +
                            link->observer.spurious_trips(sim::End::device).all()});
    return seen;
}

/// Stops on the way at times that are no scan's, since a driver may.
template <class Links>
void move(const Links& run, Duration duration, Duration step) {
    const Instant end = Instant{} + duration;
    for (Instant now{}; now < end;) {
        now = std::min(end, now + step);
        run.joined->run_until(now);
    }
}

std::vector<Seen> check_same(const sim::WholeCell& cell, std::uint64_t seed, sim::Faults faults) {
    const sim::JoinedRun all_together(cell, seed, faults, {});
    move(all_together, cell.duration, cell.duration);
    const std::vector<Seen> expected = seen_by(all_together);
    for (const Duration step : {cell.duration, Duration{7'777'777}, Duration{333'333}}) {
        CAPTURE(step.ns);
        const sim::JudgedLinks by_themselves(cell, seed, faults);
        move(by_themselves, cell.duration, step);
        const std::vector<Seen> seen = seen_by(by_themselves);
        for (std::size_t i = 0; i < expected.size(); ++i) {
            CAPTURE(i);
            CHECK(seen[i].digest == expected[i].digest);
            CHECK(seen[i] == expected[i]);
            CHECK(expected[i].exchanges > 100);
        }
    }
    return expected;
}

void lose(sim::WholeCell& cell, double loss) {
    for (sim::CellLink& link : cell.links)
        for (sim::ChannelSettings* way : {&link.alone.to_device, &link.alone.to_controller}) way->loss = loss;
}

}  // namespace

TEST_CASE("links moved by themselves from scan to scan come to what they come to all together, to the last bit") {
    for (const std::uint64_t seed : {1U, 2U, 3U}) {
        CAPTURE(seed);
        sim::WholeCell cell = tests::chain_of({}, {}, seconds(30));
        tests::demand(cell, "guard", milliseconds(2003), milliseconds(500));
        sim::complete_links(cell);
        check_same(cell, seed, sim::Faults::none);
        lose(cell, 0.1);
        const std::vector<Seen> seen = check_same(cell, seed, sim::Faults::none);
        // else nothing passed from one link to another in such a scan but what began with it
        CHECK(seen[0].spurious + seen[1].spurious > 0);
    }
}

TEST_CASE("faults of the way, begun by a time or by a telegram, are the same with links moved by themselves") {
    sim::WholeCell cell = tests::chain_of({}, {}, seconds(12));
    const sim::Fault cut = tests::lasting(
        tests::on(tests::fault_of(sim::FaultWay::drop, seconds(3)), tests::Ways::both), milliseconds(200));
    sim::Fault bend = tests::fault_of(sim::FaultWay::random_bits, {});
    bend.at.reset();
    bend.on_telegram = 1'000;
    cell.links[0].alone.faults.push_back(cut);
    cell.links[1].alone.faults.push_back(bend);
    sim::complete_links(cell);
    for (const std::uint64_t seed : {1U, 2U, 3U}) check_same(cell, seed, sim::Faults::all);
}
