#include "sim/scenario/scenario.hpp"

#include <algorithm>

namespace sim {

std::size_t Scenario::place_of(std::string_view safeguard) const {
    const auto found =
        std::find_if(safeguards.begin(), safeguards.end(), [&](const Safeguard& one) { return one.name == safeguard; });
    return static_cast<std::size_t>(found - safeguards.begin());
}

std::vector<std::string> sources_of(const Signal& signal) {
    std::vector<std::string> sources = signal.all_of;
    sources.insert(sources.end(), signal.any_of.begin(), signal.any_of.end());
    return sources;
}

bool is_made_of(const Signal& signal, std::string_view source) {
    const auto in = [&](const std::vector<std::string>& names) {
        return std::find(names.begin(), names.end(), source) != names.end();
    };
    return in(signal.all_of) || in(signal.any_of);
}

const Signal* second_of(const std::vector<Signal>& signals, std::string_view first) {
    const auto found =
        std::find_if(signals.begin(), signals.end(), [&](const Signal& one) { return one.inverse_of == first; });
    return found == signals.end() || first.empty() ? nullptr : &*found;
}

bool feeds_a_pair(const std::vector<Signal>& signals, std::string_view source) {
    // there are no circles
    return std::any_of(signals.begin(), signals.end(), [&](const Signal& signal) {
        return is_made_of(signal, source) &&
               (second_of(signals, signal.name) != nullptr || feeds_a_pair(signals, signal.name));
    });
}

}  // namespace sim
