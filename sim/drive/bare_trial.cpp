#include "sim/drive/bare_trial.hpp"

#include <algorithm>

#include "sim/plant/machine.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

bool starts_machine(const Scenario& scenario) {
    return scenario.machine &&
           std::any_of(scenario.operator_acts.begin(), scenario.operator_acts.end(),
                       [](const OperatorAct& act) { return act.act == OperatorAct::Act::start_machine; });
}

Scenario bare_trial(const Scenario& scenario) {
    Duration stands{};
    if (scenario.machine)
        for (const MachineReaction& reaction : scenario.machine->reactions)
            stands = std::max(stands, MachineModel::stopping_time(*scenario.machine, reaction.stop));
    stands = stands + scenario.controller.link.cycle * 2;
    Scenario trial = scenario;
    trial.faults.assign(1, Fault{});
    trial.faults.front().at = Duration{};
    trial.demands.clear();
    trial.operator_acts.clear();
    for (const OperatorAct& act : scenario.operator_acts) {
        if (act.act == OperatorAct::Act::start_machine || act.event == OperatorAct::Event::time) continue;
        trial.operator_acts.push_back(act);
        if (act.event == OperatorAct::Event::acknowledgement_requested)
            trial.operator_acts.back().after = std::min(act.after, stands);
    }
    // after a recovery; at first the trial itself starts it
    if (starts_machine(scenario))
        trial.operator_acts.push_back({OperatorAct::Event::link_running,
                                       OperatorAct::Act::start_machine,
                                       scenario.controller.link.cycle * trial_start_cycles,
                                       {}});
    return trial;
}

bool acknowledges(const Scenario& scenario) {
    return std::any_of(scenario.operator_acts.begin(), scenario.operator_acts.end(), [](const OperatorAct& act) {
        return act.event == OperatorAct::Event::acknowledgement_requested && act.act == OperatorAct::Act::acknowledge;
    });
}

Duration ridden_through(const Fault& fault, Duration acts_for) {
    const bool many = fault.lasting || fault.times.value_or(1) > 1;
    if (!many || (fault.way != FaultWay::hold && fault.way != FaultWay::step)) return {};
    return acts_for + fault.extra;
}

}  // namespace sim
