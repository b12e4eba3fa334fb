// A drill as an exam shows it: the same task with other numbers, and it still keeps what it promises.
#include <doctest/doctest.h>

#include <cstdint>
#include <set>
#include <string>

#include "sim/reading/read_drill.hpp"
#include "sim/training/drawn.hpp"
#include "sim/training/drill_check.hpp"
#include "tests/support/drills.hpp"

namespace {

using tests::drills;

}  // namespace

TEST_CASE("every variant of a drill shows what it promises, as the drill does") {
    std::size_t variants = 0;
    for (const sim::Drill& drill : drills().drills)
        for (const sim::Drill& variant : drill.variants) {
            CAPTURE(drill.number);
            ++variants;
            CHECK(variant.number == drill.number);
            CHECK(variant.variants.empty());
            CHECK(variant.cause != "");
            const auto bench = sim::bench_of(variant, variant.scenario.seed);
            for (const std::string& broken : sim::broken_promises(variant, *bench)) FAIL_CHECK(broken);
        }
    CHECK(variants >= 8);
}

TEST_CASE("drawn for an exam a drill has other addresses, numbers, hours and moments, and keeps its promises") {
    for (const sim::Drill& drill : drills().drills) {
        CAPTURE(drill.number);
        std::set<std::uint32_t> addresses;
        std::set<std::int64_t> moments;
        std::set<std::string> hours, causes;
        for (std::uint64_t seed = 1; seed <= 6; ++seed) {
            const auto [drawn, bench] = sim::drawn_for_exam(drill, seed);
            CHECK(drawn.scenario.seed != drill.scenario.seed);
            CHECK(bench->now() == proto::Instant{} + drawn.comes_after);
            for (const std::string& broken : sim::broken_promises(drawn, *bench)) FAIL_CHECK(broken);
            addresses.insert(drawn.scenario.controller.link.own_address);
            moments.insert(drawn.comes_after.ns);
            hours.insert(drawn.clock);
            causes.insert(drawn.cause);
            // whole digits before the low two: what was typed with two digits exchanged still is
            CHECK((drawn.scenario.controller.link.own_address - drill.scenario.controller.link.own_address) % 0x100 ==
                  0);
            // the sheet moves with the ends, and what was typed wrong stays as wrong
            CHECK(drawn.link_sheet.device.link.own_address - drill.link_sheet.device.link.own_address ==
                  drawn.scenario.controller.link.own_address - drill.scenario.controller.link.own_address);
        }
        CHECK(addresses.size() >= 3);
        const std::set<unsigned> stories_with_times{4, 6, 18, 19};
        const std::size_t differ = stories_with_times.contains(drill.number) ? 1 : 4;
        CHECK(moments.size() >= differ);
        CHECK(hours.size() >= (drill.clock == sim::clock_by_default ? differ : 1));
        CHECK(causes.size() == 1 + (drill.variants.empty() ? 0U : 1U));
    }
}

TEST_CASE("the same draw gives the same drill") {
    const sim::Drill& drill = *drills().find(7);
    const sim::Drill one = sim::drawn_for_exam(drill, 42).drill, other = sim::drawn_for_exam(drill, 42).drill;
    CHECK(one.scenario.seed == other.scenario.seed);
    CHECK(one.cause == other.cause);
    CHECK(one.clock == other.clock);
    CHECK(one.comes_after == other.comes_after);
}
