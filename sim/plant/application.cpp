#include "sim/plant/application.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

template <class T>
std::size_t index_of(const std::vector<T>& things, const std::string& name) {
    const auto found = std::find_if(things.begin(), things.end(), [&](const T& thing) { return thing.name == name; });
    return static_cast<std::size_t>(found - things.begin());
}

constexpr std::uint64_t bit(std::size_t i) { return std::uint64_t{1} << i; }

}  // namespace

Application::Application(const Scenario& scenario, End end) {
    proto::require(scenario.signals.size() <= signals_max && scenario.safeguards.size() <= safeguards_max,
                   "too many signals or safeguards");
    for (const TypedBit& typed : scenario.end(end).bits) {
        const std::size_t signal = index_of(scenario.signals, typed.signal);
        proto::require(signal < scenario.signals.size(), "a bit of an unknown signal");
        const bool sent = sender(scenario.signals[signal].direction) == end;
        (sent ? out_ : in_).push_back({static_cast<unsigned>(signal), typed.place});
        (sent ? sends_ : receives_) |= bit(signal);
    }
    for (const Bit& out : out_) {
        Rule rule{out.signal, 0, 0};
        for (const std::string& source : scenario.signals[out.signal].all_of) {
            const std::size_t safeguard = index_of(scenario.safeguards, source);
            if (safeguard < scenario.safeguards.size()) {
                rule.safeguards |= bit(safeguard);
            } else {
                const std::size_t signal = index_of(scenario.signals, source);
                proto::require(signal < scenario.signals.size(), "a signal from an unknown source");
                rule.signals |= bit(signal);
            }
        }
        rules_.push_back(rule);
    }
}

std::uint64_t Application::read(std::span<const std::uint8_t> input) const {
    std::uint64_t word = 0;
    for (const Bit& in : in_)
        if ((input[in.place.byte] >> in.place.bit & 1) != 0) word |= bit(in.signal);
    return word;
}

std::uint64_t Application::evaluate(std::uint64_t received, std::uint64_t safeguards) const {
    std::uint64_t word = 0;
    for (const Rule& rule : rules_)
        if ((rule.safeguards & ~safeguards) == 0 && (rule.signals & ~received) == 0) word |= bit(rule.signal);
    return word;
}

void Application::write(std::uint64_t sent, std::span<std::uint8_t> output) const {
    for (const Bit& out : out_) {
        std::uint8_t& byte = output[out.place.byte];
        const auto mask = static_cast<std::uint8_t>(1U << out.place.bit);
        byte = static_cast<std::uint8_t>((sent & bit(out.signal)) != 0 ? byte | mask : byte & ~mask);
    }
}

std::uint64_t signals_depending_on(const Scenario& scenario, std::size_t safeguard) {
    std::uint64_t depending = 0;
    // each pass adds signals one step further away; no chain is longer than the number of signals
    for (std::size_t pass = 0; pass < scenario.signals.size(); ++pass) {
        for (std::size_t i = 0; i < scenario.signals.size(); ++i) {
            for (const std::string& source : scenario.signals[i].all_of) {
                const std::size_t signal = index_of(scenario.signals, source);
                const bool fed = source == scenario.safeguards[safeguard].name ||
                                 (signal < scenario.signals.size() && (depending & bit(signal)) != 0);
                if (fed) depending |= bit(i);
            }
        }
    }
    return depending;
}

}  // namespace sim
