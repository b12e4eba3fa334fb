#include "sim/scenario/functions.hpp"

#include <algorithm>

#include "sim/scenario/scenario.hpp"

namespace sim {

std::string written(const FunctionLevel& level) {
    if (level.scale == FunctionLevel::Scale::sil) return "SIL " + std::to_string(level.step);
    return std::string("PL ") + "abcde"[level.step - 1];
}

std::string_view name_of(Returns returns) {
    switch (returns) {
        case Returns::after_start: return "after-start";
        case Returns::after_reset: return "after-reset";
        case Returns::by_itself: return "by-itself";
    }
    return "?";
}

std::uint64_t made_of(const std::vector<Signal>& signals, std::uint64_t wanted) {
    for (std::size_t pass = 0; pass < signals.size(); ++pass)
        for (std::size_t i = 0; i < signals.size(); ++i) {
            if ((wanted >> i & 1) == 0) continue;
            for (std::size_t source = 0; source < signals.size(); ++source)
                if (is_made_of(signals[i], signals[source].name)) wanted |= std::uint64_t{1} << source;
        }
    return wanted;
}

bool is_on_way_of(const OutsidePart& part, std::string_view safeguard) {
    return part.safeguards.empty() ||
           std::find(part.safeguards.begin(), part.safeguards.end(), safeguard) != part.safeguards.end();
}

bool names(const SafetyFunction& function, std::string_view safeguard) {
    return std::find(function.safeguards.begin(), function.safeguards.end(), safeguard) != function.safeguards.end();
}

bool any_names(const std::vector<SafetyFunction>& functions, std::string_view safeguard) {
    return std::any_of(functions.begin(), functions.end(),
                       [&](const SafetyFunction& function) { return names(function, safeguard); });
}

bool needs_reset(const Scenario& scenario, const std::string& safeguard) {
    const auto asks = [&](const SafetyFunction& function) {
        return function.returns == Returns::after_reset && names(function, safeguard);
    };
    return std::any_of(scenario.functions.begin(), scenario.functions.end(), asks) ||
           std::any_of(scenario.functions_elsewhere.begin(), scenario.functions_elsewhere.end(), asks);
}

}  // namespace sim
