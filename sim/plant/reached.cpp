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

std::optional<Reached> reached_by(const Scenario& scenario, std::size_t safeguard) {
    return most_severe(scenario, signals_depending_on(scenario, safeguard));
}

std::optional<Reached> reached_by_failure(const Scenario& scenario) { return most_severe(scenario, ~std::uint64_t{0}); }

std::vector<std::size_t> falling_with(const Scenario& scenario, std::size_t safeguard) {
    const std::uint64_t falling = signals_depending_on(scenario, safeguard);
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
            const std::vector<std::string>& sources = scenario.signals[i].all_of;
            if (std::all_of(sources.begin(), sources.end(), is_in_order)) order.push_back(i);
        }
    return order;
}

bool just_as_asked(StopCategory does, StopCategory must) { return does == must; }

bool at_least_as_asked(StopCategory does, StopCategory must) {
    return does == must || must == StopCategory::reduced_speed;
}

bool reduced_speed_counts(const Scenario& scenario, const SafetyFunction& function) {
    return function.reduced_speed_ends_hazard || scenario.stopping.reduced_speed_ends_hazard;
}

bool reduced_speed_counts(const Scenario& scenario) {
    if (scenario.functions.empty()) return scenario.stopping.reduced_speed_ends_hazard;
    return std::all_of(scenario.functions.begin(), scenario.functions.end(),
                       [&](const SafetyFunction& function) { return reduced_speed_counts(scenario, function); });
}

}  // namespace sim
