#include "sim/plant/reached.hpp"

#include <algorithm>

#include "sim/plant/application.hpp"
#include "sim/plant/machine.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

std::size_t signal_of(const Scenario& scenario, const MachineReaction& reaction) {
    const auto found = std::find_if(scenario.signals.begin(), scenario.signals.end(),
                                    [&](const Signal& signal) { return signal.name == reaction.signal; });
    return static_cast<std::size_t>(found - scenario.signals.begin());
}

/// Of the reactions to signals of `zero`.
std::optional<Reached> most_severe(const Scenario& scenario, std::uint64_t zero) {
    std::optional<Reached> most;
    if (!scenario.machine) return most;
    for (const MachineReaction& reaction : scenario.machine->reactions) {
        const std::size_t signal = signal_of(scenario, reaction);
        if (signal >= scenario.signals.size() || (zero >> signal & 1) == 0) continue;
        if (!most || command_of(reaction.stop) > command_of(most->stop)) most = Reached{signal, reaction.stop};
    }
    return most;
}

}  // namespace

std::uint64_t obeyed_by_machine(const Scenario& scenario) {
    std::uint64_t word = 0;
    if (!scenario.machine) return word;
    for (const MachineReaction& reaction : scenario.machine->reactions)
        if (const std::size_t signal = signal_of(scenario, reaction); signal < scenario.signals.size())
            word |= std::uint64_t{1} << signal;
    return word;
}

End output_end(const Scenario& scenario) {
    if (scenario.machine) return scenario.machine->at;
    const auto goes_out = [](const Signal& signal) { return signal.received_at(End::device); };
    const bool to_controller_only =
        scenario.segment != 0 && std::none_of(scenario.signals.begin(), scenario.signals.end(), goes_out);
    return to_controller_only ? End::controller : End::device;
}

std::uint64_t at_once(const Scenario& scenario, std::uint64_t signals) {
    std::uint64_t delayed = 0;
    for (std::size_t i = 0; i < scenario.signals.size(); ++i)
        if (scenario.signals[i].off_delay != Duration{}) delayed |= std::uint64_t{1} << i;
    return (signals & ~delayed) != 0 ? signals & ~delayed : signals;
}

std::optional<Reached> reached_by(const Scenario& scenario, std::size_t safeguard, std::size_t mode) {
    const std::uint64_t falling = signals_depending_on(scenario, safeguard, mode);
    return most_severe(scenario, at_once(scenario, falling & obeyed_by_machine(scenario)));
}

std::vector<std::size_t> modes_of(const Scenario& scenario, const SafetyFunction& function) {
    std::vector<std::size_t> modes;
    for (std::size_t i = 0; i < scenario.modes.size(); ++i) {
        const auto& in = function.in_mode;
        if (in.empty() || std::find(in.begin(), in.end(), scenario.modes[i].name) != in.end()) modes.push_back(i);
    }
    if (scenario.modes.empty()) modes.push_back(0);
    return modes;
}

bool reaches_in_some_mode(const Scenario& scenario, std::size_t safeguard) {
    for (std::size_t mode = 0; mode < scenario.mode_count(); ++mode)
        if (reached_by(scenario, safeguard, mode)) return true;
    return false;
}

std::optional<Reached> reached_by_failure(const Scenario& scenario) { return most_severe(scenario, ~std::uint64_t{0}); }

std::vector<std::size_t> falling_with(const Scenario& scenario, std::size_t safeguard) {
    std::uint64_t falling = 0;
    for (std::size_t mode = 0; mode < scenario.mode_count(); ++mode)
        falling |= signals_depending_on(scenario, safeguard, mode);
    std::vector<std::size_t> order;
    const auto is_in_order = [&](const std::string& source) {
        for (std::size_t i = 0; i < scenario.signals.size(); ++i)
            if (scenario.signals[i].name == source && (falling >> i & 1) != 0)
                return std::find(order.begin(), order.end(), i) != order.end();
        return true;  // a safeguard, or a signal that does not fall
    };
    // each pass adds what is fed by what stands there already; there are no circles
    for (std::size_t pass = 0; pass < scenario.signals.size(); ++pass)
        for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
            if ((falling >> i & 1) == 0 || std::find(order.begin(), order.end(), i) != order.end()) continue;
            const std::vector<std::string> sources = sources_of(scenario.signals[i]);
            if (std::all_of(sources.begin(), sources.end(), is_in_order)) order.push_back(i);
        }
    return order;
}

bool just_as_asked(StopCategory does, StopCategory must) { return does == must; }

bool at_least_as_asked(StopCategory does, StopCategory must) {
    return does == must || must == StopCategory::reduced_speed;
}

bool reduced_speed_monitored(const Scenario& scenario) {
    return scenario.machine && scenario.machine->reduced_speed_monitor;
}

bool reduced_speed_counts(const Scenario& scenario, const SafetyFunction& function) {
    return reduced_speed_monitored(scenario) &&
           (function.reduced_speed_ends_hazard || scenario.stopping.reduced_speed_ends_hazard);
}

bool reduced_speed_counts(const Scenario& scenario) {
    if (scenario.functions.empty())
        return reduced_speed_monitored(scenario) && scenario.stopping.reduced_speed_ends_hazard;
    return std::all_of(scenario.functions.begin(), scenario.functions.end(),
                       [&](const SafetyFunction& function) { return reduced_speed_counts(scenario, function); });
}

}  // namespace sim
