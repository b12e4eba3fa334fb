// The plant to be drawn: what stands there, and what somebody at that place sees without an instrument. Whether a guard
// is free only its signal tells; how the ends stand is told with their panels.
#include <algorithm>

#include "sim/scenario/scenario.hpp"
#include "tools/training/exercise_readings.hpp"

namespace tools {
namespace {

/// Somebody at the bench has demanded that guard, or still holds the demand: no demand of the story.
struct OwnDemand {
    bool ever = false, now = false;
};

OwnDemand own_demand(const Exercise& exercise, std::size_t guard) {
    const std::string& name = exercise.bench().scenario().safeguards[guard].name;
    OwnDemand own;
    for (const sim::Bench* const link : benches_of(exercise))
        for (const sim::BenchEvent& event : link->events()) {
            const bool begins = event.kind == sim::BenchEvent::Kind::demanded;
            if (!begins && event.kind != sim::BenchEvent::Kind::released) continue;
            if (link->scenario().safeguards[event.detail].name != name) continue;
            own.ever = own.ever || begins;
            own.now = begins && event.at + sim::Bench::test_lasting > exercise.bench().now();
        }
    return own;
}

/// What is seen of a guard: what one did to it oneself; all once it is over. Else nothing, since what stands in a
/// guard, or who latched it, is to be found out.
Value seen_of(const Exercise& exercise, std::size_t guard) {
    const sim::SafeguardModel& model = exercise.bench().plant().safeguard(guard);
    const OwnDemand own = own_demand(exercise, guard);
    const bool all = exercise.over();
    if (model.demanded() && (all || own.now)) return "demanded";
    if (model.latched() && (all || own.ever)) return "latched";
    return all && model.free() ? Value("free") : Value();
}

std::string station_of(const Exercise& exercise, std::size_t guard) {
    if (const auto& cell = exercise.drill().cell) return cell->station_of_safeguard(guard);
    const sim::Scenario& scenario = exercise.bench().scenario();
    return scenario.end(scenario.safeguards[guard].at).name;
}

}  // namespace

Value plant_state(const Exercise& exercise) {
    Value::List stations, guards, machines;
    for (const sim::Bench* const link : benches_of(exercise)) {
        const sim::Scenario& scenario = link->scenario();
        stations.push_back(Value::Object{{"name", scenario.device.name}, {"link", link->link_name()}});
        if (!scenario.machine) continue;
        const sim::Machine& machine = *scenario.machine;
        machines.push_back(Value::Object{{"name", machine.name},
                                         {"at", scenario.end(machine.at).name},
                                         {"link", link->link_name()},
                                         {"travel_mm", machine.travel_um / 1000},
                                         {"travel_degrees", machine.travel_angle_mdeg / 1000}});
    }
    const std::vector<sim::Safeguard>& all = exercise.bench().scenario().safeguards;
    for (std::size_t i = 0; i < all.size(); ++i)
        guards.push_back(Value::Object{{"name", spoken(all[i].name)},
                                       {"kind", kind_of(all[i])},
                                       {"at", station_of(exercise, i)},
                                       {"seen", seen_of(exercise, i)}});
    return Value::Object{{"controller", exercise.bench().scenario().controller.name},
                         {"stations", std::move(stations)},
                         {"guards", std::move(guards)},
                         {"machines", std::move(machines)}};
}

}  // namespace tools
