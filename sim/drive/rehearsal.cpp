#include "sim/drive/rehearsal.hpp"

#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "sim/drive/verdict.hpp"
#include "sim/drive/watched_run.hpp"
#include "sim/judge/run_result.hpp"
#include "sim/scenario/contract_context.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// How long a link may take to come back once its faults are over and somebody acknowledges.
constexpr Duration recovery_at_most = proto::seconds(30);

}  // namespace

TwinResult twin_of(const Scenario& scenario, std::uint64_t seed, const Limits& limits) {
    JudgedRun run(scenario, seed, Faults::none, limits);
    const Instant end = Instant{} + scenario.duration;
    run.cell.run_until(end);
    RunResult seen;
    run.finish(seen, end);
    TwinResult twin;
    twin.spurious_trips = seen.spurious_trips;
    twin.cycles = run.cell.cycles();
    return twin;
}

namespace {

/// Faults off, acknowledge what asks for it: does the link run again, and did the machine wait for its start?
void recover(WatchedCell& cell, TwinResult& twin) {
    cell.calm_down();
    const Instant give_up = cell.now() + recovery_at_most;
    while (!cell.link().running() && cell.now() < give_up) cell.run_until(cell.now() + proto::milliseconds(10));
    if (!cell.link().running()) {
        twin.why_not = "with the faults gone the link did not run again within 30 s, acknowledged or not";
    } else if (cell.plant().moved_by_itself()) {
        twin.why_not = "the machine moved without having been started";
    }
    twin.recovered = twin.why_not.empty();
}

}  // namespace

RunResult rehearse(const Scenario& scenario, std::uint64_t seed, const Witnesses& witnesses) {
    const ContractContext context(scenario.file, seed);
    const ScenarioLimits limits = limits_of(scenario);
    RunResult result = result_of(scenario, seed);
    const Instant end = Instant{} + scenario.duration;
    WatchedRun run(scenario, seed, Faults::all, limits.limits, witnesses);
    run.cell.run_until(end);
    if (witnesses.line != nullptr) witnesses.line->finish(end);
    run.finish(result, end);
    result.twin = twin_of(scenario, seed, limits.limits);
    recover(run.cell, result.twin);

    conclude(scenario, limits, result);
    return result;
}

}  // namespace sim
