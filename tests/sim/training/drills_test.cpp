// No drill lies: each is run, and what it promises is read at both ends. Set DRILLS_TOLD=1 to see what each shows.
#include <doctest/doctest.h>

#include <cstdlib>
#include <string>

#include "sim/reading/read_drill.hpp"
#include "sim/training/drill_check.hpp"
#include "sim/training/score.hpp"
#include "tests/support/drills.hpp"

namespace {

using tests::drills;

void tell(const sim::Drill& drill, const sim::Bench& bench) {
    MESSAGE(drill.number << " " << drill.title << " " << bench.link_name());
    for (const sim::End end : {sim::End::controller, sim::End::device}) {
        const sim::Panel p = bench.panel(end);
        std::string rejected;
        for (const auto count : p.counters.rejected) rejected += " " + std::to_string(count);
        MESSAGE("  " << p.name << ": " << std::string(proto::name_of(p.state)) << ", "
                     << std::string(p.cause ? proto::name_of(*p.cause) : "none") << ", received " << p.counters.received
                     << " (" << p.received_per_second << "/s), refusal " << static_cast<int>(p.refusal)
                     << ", longest cycle " << p.longest_cycle.ns / 1000 << ", starts " << p.starts << ", accepted "
                     << p.counters.accepted << ", rejected" << rejected << ", stop at "
                     << (bench.first_stop(end) ? std::to_string(bench.first_stop(end)->ns / 1000) : "-") << " us");
    }
    const auto trip = bench.recorder().round_trip().longest;
    MESSAGE("  request " << bench.panel(sim::End::controller).asks_for_acknowledgement << ", moves "
                         << bench.machine_moves() << ", longest round trip " << (trip ? trip->ns / 1000 : 0)
                         << " us, age "
                         << (bench.recorder().age(sim::End::controller).last
                                 ? bench.recorder().age(sim::End::controller).last->ns / 1000
                                 : 0)
                         << " us");
}

}  // namespace

TEST_CASE("every drill shows what it promises, and nothing else moves") {
    REQUIRE(drills().drills.size() == 24);
    for (const sim::Drill& drill : drills().drills) {
        CAPTURE(drill.number);
        const auto bench = sim::bench_of(drill, drill.scenario.seed);
        if (std::getenv("DRILLS_TOLD") != nullptr)
            for (std::size_t i = 0; i < bench->links(); ++i) tell(drill, bench->of_link(i));
        for (const std::string& broken : sim::broken_promises(drill, *bench)) FAIL_CHECK(broken);
    }
}
