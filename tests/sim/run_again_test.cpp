// A run that begins again is a new one: nothing of what happened in it before may show.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "sim/reading/read.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using sim::Faults;
using sim::JudgedRun;
using sim::RunResult;
using sim::Scenario;

RunResult end_of(JudgedRun& run, proto::Instant end) {
    run.cell.run_until(end);
    RunResult result;
    run.finish(result, end);
    return result;
}

void same(const RunResult& a, const RunResult& b) {
    CHECK(a.digest == b.digest);
    CHECK(a.cycles == b.cycles);
    CHECK(a.exchanges == b.exchanges);
    CHECK(a.stops == b.stops);
    CHECK(a.acknowledgements == b.acknowledgements);
    CHECK(a.spurious_trips == b.spurious_trips);
    CHECK(a.worst_seen == b.worst_seen);
    CHECK(a.dangerous.size() == b.dangerous.size());
    CHECK(a.controller.counters.received == b.controller.counters.received);
    REQUIRE(a.injections.size() == b.injections.size());
    for (std::size_t i = 0; i < a.injections.size(); ++i) {
        CHECK(a.injections[i].outcome == b.injections[i].outcome);
        CHECK(a.injections[i].detect == b.injections[i].detect);
        CHECK(a.injections[i].standstill == b.injections[i].standstill);
        CHECK(a.injections[i].travelled_um == b.injections[i].travelled_um);
        CHECK(a.injections[i].why == b.injections[i].why);
    }
    REQUIRE(a.safeguards.size() == b.safeguards.size());
    for (std::size_t i = 0; i < a.safeguards.size(); ++i) CHECK(a.safeguards[i].state == b.safeguards[i].state);
}

}  // namespace

TEST_CASE("cell: begun again in the middle of anything it is a new one, in every scenario that ships") {
    for (const std::string& file : tests::shipped_scenarios(LINKDRILL_SOURCE_DIR)) {
        CAPTURE(file);
        const auto read = sim::read_scenario(file);
        REQUIRE(read.ok());
        const Scenario& scenario = read.value();
        const sim::Limits limits = sim::limits_of(scenario).limits;
        const proto::Instant end = proto::Instant{} + std::min(scenario.duration, proto::seconds(15));
        JudgedRun fresh(scenario, 77, Faults::all, limits);
        const RunResult expected = end_of(fresh, end);
        JudgedRun used(scenario, 12, Faults::all, limits);
        for (const std::int64_t ms : {0, 333, 2'017, 9'999}) {
            used.cell.run_until(proto::Instant{} + proto::milliseconds(ms));
            used.begin_again(77, Faults::all, limits);
            same(end_of(used, end), expected);
            used.begin_again(78, Faults::all, limits);
        }
    }
}

TEST_CASE("cell: faults put in while it runs act as those that were there from the beginning") {
    Scenario scenario = tests::polled_link();
    scenario.faults = {tests::fault_of(sim::FaultWay::beside, proto::milliseconds(700))};
    const sim::Limits limits = sim::limits_of(scenario).limits;
    const proto::Instant end = proto::Instant{} + scenario.duration;
    JudgedRun fresh(scenario, 5, Faults::all, limits);
    const RunResult expected = end_of(fresh, end);
    JudgedRun later(scenario, 5, Faults::later, limits);
    later.cell.run_until(proto::Instant{} + proto::milliseconds(400));
    later.cell.put_in_faults_and_demands();
    same(end_of(later, end), expected);
    CHECK(expected.injections.front().outcome == sim::Outcome::safe_state);
}
