#include "sim/timing/way_of_demand.hpp"

#include <algorithm>
#include <utility>

#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

std::size_t index_of(const std::vector<Signal>& signals, const std::string& name) {
    const auto found = std::find_if(signals.begin(), signals.end(), [&](const Signal& s) { return s.name == name; });
    return static_cast<std::size_t>(found - signals.begin());
}

/// Signals at which a way to the output may end: those that the machine obeys, or without one all that are received.
std::uint64_t outputs_of(const Scenario& scenario) {
    std::uint64_t word = 0;
    for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
        const Signal& signal = scenario.signals[i];
        const auto obeyed = [&](const MachineReaction& reaction) { return reaction.signal == signal.name; };
        const bool is_output = scenario.machine ? std::any_of(scenario.machine->reactions.begin(),
                                                              scenario.machine->reactions.end(), obeyed)
                                                : signal.received_at(output_end(scenario));
        if (is_output) word |= std::uint64_t{1} << i;
    }
    return word;
}

/// Signals that fall with that demand alone, in some mode.
std::uint64_t falling_in_some_mode(const Scenario& scenario, const std::string& safeguard) {
    std::uint64_t word = 0;
    for (std::size_t i = 0; i < scenario.safeguards.size(); ++i) {
        if (scenario.safeguards[i].name != safeguard) continue;
        for (const std::size_t signal : falling_with(scenario, i)) word |= std::uint64_t{1} << signal;
    }
    return word;
}

/// Puts the longest way of a safeguard's demand to signal `i` in its place, by way of those that are known so far.
void lengthen(std::vector<std::vector<std::size_t>>& best, std::size_t i, const std::vector<Signal>& signals,
              const std::string& safeguard) {
    for (const std::string& source : sources_of(signals[i])) {
        const std::size_t from = index_of(signals, source);
        const bool is_signal = from < signals.size();
        if (is_signal ? best[from].empty() : source != safeguard) continue;
        std::vector<std::size_t> way = is_signal ? best[from] : std::vector<std::size_t>{};
        way.push_back(i);
        if (way.size() > best[i].size()) best[i] = std::move(way);
    }
}

}  // namespace

std::vector<std::size_t> longest_way(const Scenario& scenario, const std::string& safeguard) {
    // best[i]: the longest way that ends with signal i
    std::vector<std::vector<std::size_t>> best(scenario.signals.size());
    const std::uint64_t falling = falling_in_some_mode(scenario, safeguard);
    for (std::size_t pass = 0; pass < scenario.signals.size(); ++pass)
        for (std::size_t i = 0; i < scenario.signals.size(); ++i)
            if ((falling >> i & 1) != 0) lengthen(best, i, scenario.signals, safeguard);
    std::vector<std::size_t> longest;
    const std::uint64_t outputs = at_once(scenario, outputs_of(scenario) & falling);
    for (std::size_t i = 0; i < best.size(); ++i)
        if ((outputs >> i & 1) != 0 && best[i].size() > longest.size()) longest = best[i];
    return longest;
}

std::uint64_t stopping_signals(const Scenario& scenario, const std::string& safeguard) {
    const std::uint64_t falling = falling_in_some_mode(scenario, safeguard);
    return at_once(scenario, falling & outputs_of(scenario));
}

}  // namespace sim
