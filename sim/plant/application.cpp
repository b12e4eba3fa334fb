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

SignalRule::SignalRule(const Scenario& scenario, std::size_t signal)
    : signal_(signal), asks_for_any_(!scenario.signals[signal].any_of.empty()) {
    const auto add = [&scenario](const std::string& source, Inputs& to) {
        const std::size_t safeguard = index_of(scenario.safeguards, source);
        const std::size_t other = index_of(scenario.signals, source);
        const std::size_t mode = index_of(scenario.modes, source);
        if (safeguard < scenario.safeguards.size()) {
            to.safeguards |= bit(safeguard);
        } else if (other < scenario.signals.size()) {
            to.received |= bit(other);
        } else {
            proto::require(mode < scenario.modes.size(), "a signal from an unknown source");
            to.modes |= bit(mode);
        }
    };
    for (const std::string& source : scenario.signals[signal].all_of) add(source, all_);
    for (const std::string& source : scenario.signals[signal].any_of) add(source, any_);
    for (const std::string& mode : scenario.signals[signal].in_mode) in_mode_ |= bit(index_of(scenario.modes, mode));
}

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
    // a second bit of a pair follows its first, see Pairs
    for (const Bit& out : out_)
        if (scenario.signals[out.signal].inverse_of.empty()) rules_.emplace_back(scenario, out.signal);
    for (std::size_t i = 0; i < scenario.signals.size() && end == End::controller; ++i)
        if (scenario.signals[i].elsewhere && scenario.signals[i].inverse_of.empty())
            elsewhere_.emplace_back(scenario, i);
}

std::uint64_t Application::read(std::span<const std::uint8_t> input) const {
    std::uint64_t word = 0;
    for (const Bit& in : in_)
        if ((input[in.place.byte] >> in.place.bit & 1) != 0) word |= bit(in.signal);
    return word;
}

std::uint64_t Application::evaluate(const Inputs& inputs) const {
    std::uint64_t word = 0;
    for (const SignalRule& rule : rules_)
        if (rule.value(inputs)) word |= bit(rule.signal());
    return word;
}

std::uint64_t Application::elsewhere(Inputs inputs) const {
    std::uint64_t word = 0;
    // each pass settles signals one step further away
    for (std::size_t pass = 0; pass < elsewhere_.size(); ++pass) {
        std::uint64_t now = 0;
        for (const SignalRule& rule : elsewhere_)
            if (rule.value(inputs)) now |= bit(rule.signal());
        inputs.received = (inputs.received & ~word) | now;
        if (now == word) break;
        word = now;
    }
    return word;
}

void Application::write(std::uint64_t sent, std::span<std::uint8_t> output) const {
    for (const Bit& out : out_) {
        std::uint8_t& byte = output[out.place.byte];
        const auto mask = static_cast<std::uint8_t>(1U << out.place.bit);
        byte = static_cast<std::uint8_t>((sent & bit(out.signal)) != 0 ? byte | mask : byte & ~mask);
    }
}

namespace {

/// All signals as they come to stand; those of `zero` are 0 whatever they are made of.
std::uint64_t settled(const Scenario& scenario, Inputs inputs, std::uint64_t zero) {
    std::vector<SignalRule> rules;
    for (std::size_t i = 0; i < scenario.signals.size(); ++i) rules.emplace_back(scenario, i);
    inputs.received = ~zero;
    // each pass settles signals one step further away; no chain is longer than the number of signals
    for (std::size_t pass = 0; pass < scenario.signals.size(); ++pass)
        for (const SignalRule& rule : rules) {
            const bool one = rule.value(inputs) && (zero >> rule.signal() & 1) == 0;
            inputs.received = one ? inputs.received | bit(rule.signal()) : inputs.received & ~bit(rule.signal());
        }
    return inputs.received;
}

Inputs in_mode(const Scenario& scenario, std::size_t mode, std::uint64_t safeguards, std::uint64_t muted) {
    return {~std::uint64_t{0}, safeguards, scenario.modes.empty() ? 0 : bit(mode), muted};
}

}  // namespace

std::uint64_t signals_falling_with(const Scenario& scenario, std::uint64_t zero, std::size_t mode) {
    const Inputs inputs = in_mode(scenario, mode, ~std::uint64_t{0}, 0);
    return settled(scenario, inputs, 0) & ~settled(scenario, inputs, zero);
}

std::uint64_t signals_depending_on(const Scenario& scenario, std::size_t safeguard, std::size_t mode,
                                   std::uint64_t muted) {
    return settled(scenario, in_mode(scenario, mode, ~std::uint64_t{0}, muted), 0) &
           ~settled(scenario, in_mode(scenario, mode, ~bit(safeguard), muted), 0);
}

}  // namespace sim
