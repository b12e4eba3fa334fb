#include "sim/drive/rehearsal.hpp"

#include <cstdio>

#include "proto/contract.hpp"
#include "sim/drive/limits.hpp"
#include "sim/drive/verdict.hpp"
#include "sim/link/world.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// How long a link may take to come back once its faults are over and somebody acknowledges.
constexpr Duration recovery_at_most = proto::seconds(30);

}  // namespace

TwinResult twin_of(const Scenario& scenario, std::uint64_t seed, const Limits& limits) {
    World world(scenario, seed, WithFaults::no, limits);
    const Instant end = Instant{} + scenario.duration;
    world.run_until(end);
    RunResult seen;
    world.finish(seen, end);
    TwinResult twin;
    twin.spurious_trips = seen.spurious_trips;
    twin.cycles = world.cycles();
    return twin;
}

namespace {

/// Faults off, acknowledge what asks for it: does the link run again, and did the machine wait for its start?
void recover(World& world, TwinResult& twin) {
    world.calm_down();
    const Instant give_up = world.now() + recovery_at_most;
    while (!world.running() && world.now() < give_up) world.run_until(world.now() + proto::milliseconds(10));
    if (!world.running()) {
        twin.why_not = "with the faults gone the link did not run again within 30 s, acknowledged or not";
    } else if (world.moved_by_itself()) {
        twin.why_not = "the machine moved without having been started";
    }
    twin.recovered = twin.why_not.empty();
}

}  // namespace

RunResult rehearse(const Scenario& scenario, std::uint64_t seed, const Witnesses& witnesses) {
    char context[160];
    std::snprintf(context, sizeof context, "scenario %.100s, seed %llu", scenario.file.c_str(),
                  static_cast<unsigned long long>(seed));
    proto::set_contract_context(context);

    const ScenarioLimits limits = limits_of(scenario);
    RunResult result;
    result.scenario_title = scenario.title;
    result.scenario_file = scenario.file;
    result.plant = scenario.plant;
    result.seed = seed;

    const Instant end = Instant{} + scenario.duration;
    World world(scenario, seed, WithFaults::yes, limits.limits);
    world.tell(witnesses.trace);
    if (witnesses.line != nullptr) world.draw(*witnesses.line);
    world.run_until(end);
    world.tell(nullptr);
    if (witnesses.line != nullptr) witnesses.line->finish(end);
    world.finish(result, end);
    result.twin = twin_of(scenario, seed, limits.limits);
    recover(world, result.twin);

    conclude(scenario, limits, result);
    proto::set_contract_context(nullptr);
    return result;
}

}  // namespace sim
