#include "sim/studies/acceptance_study.hpp"

#include "sim/scenario/contract_context.hpp"
#include "sim/studies/cross_check.hpp"

namespace sim {
namespace {

using Kind = AcceptanceAct::Kind;
using Speed = AcceptanceAct::Speed;

RehearsedAct rehearsed(const Scenario& scenario, const AcceptanceAct& act, std::uint64_t seed) {
    return {act, limits_of_act(scenario, act), rehearse_act(scenario, act, seed)};
}

std::vector<RehearsedAct> rehearsed_demands(const Scenario& scenario, std::uint64_t seed) {
    std::vector<RehearsedAct> demands;
    for (AcceptanceAct act : {AcceptanceAct{.kind = Kind::demand, .speed = Speed::reduced},
                              AcceptanceAct{.kind = Kind::demand}, AcceptanceAct{.kind = Kind::demand_in_cut}}) {
        for (const Safeguard& guard : scenario.safeguards) {
            if (hops_of(scenario, guard.name).empty()) continue;  // reaches no output: nothing stops
            act.safeguard = guard.name;
            demands.push_back(rehearsed(scenario, act, seed));
        }
    }
    return demands;
}

}  // namespace

AcceptanceStudy study_acceptance(const Scenario& scenario, std::uint64_t seed) {
    const ContractContext context(scenario.file, seed);
    AcceptanceStudy study;
    study.seed = seed;
    study.signature = cross_check(scenario).signature;
    study.demands = rehearsed_demands(scenario, seed);
    study.cut = rehearsed(scenario, {.kind = Kind::cut}, seed);
    for (const End end : {End::controller, End::device})
        study.power_off[static_cast<std::size_t>(end) & 1] =
            rehearsed(scenario, {.kind = Kind::power_off, .end = end}, seed);
    study.acknowledgement = rehearse_acknowledgement(scenario, seed);
    study.mistyped = mistyped_settings(scenario);
    study.response = response_of(scenario);
    study.distance = distance_of(scenario, study.response);
    return study;
}

}  // namespace sim
