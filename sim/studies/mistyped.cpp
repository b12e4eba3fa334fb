#include "sim/studies/mistyped.hpp"

#include <algorithm>
#include <utility>

namespace sim {
namespace {

/// The place of a signal's bit at the device; nullptr where it has none.
BitPlace* place_at_device(Scenario& scenario, const std::string& signal) {
    for (TypedBit& bit : scenario.device.bits)
        if (bit.signal == signal) return &bit.place;
    return nullptr;
}

/// The bits in use of the byte, by the way of the signal; they are under the parameter signature.
proto::BitUse& bits_used(Scenario& scenario, Direction direction) {
    proto::LinkSettings& link = scenario.device.link;
    return direction == Direction::to_device ? link.bits_received : link.bits_sent;
}

std::uint8_t mask_of(unsigned bit) { return static_cast<std::uint8_t>(1U << bit); }

struct TypeIt {
    Scenario& scenario;

    void operator()(const MistypedAddress& typed) const { scenario.device.link.own_address = typed.address; }
    void operator()(const MistypedWatchdog& typed) const { scenario.device.link.watchdog = typed.watchdog; }
    void operator()(const ExchangedBits& typed) const {
        BitPlace* first = place_at_device(scenario, typed.first);
        BitPlace* second = place_at_device(scenario, typed.second);
        if (first != nullptr && second != nullptr) std::swap(*first, *second);
    }
    void operator()(const MovedBit& typed) const {
        BitPlace* place = place_at_device(scenario, typed.signal);
        if (place == nullptr) return;
        for (const Signal& signal : scenario.signals) {
            if (signal.name != typed.signal) continue;
            proto::BitUse& used = bits_used(scenario, signal.direction);
            used[place->byte] = static_cast<std::uint8_t>(used[place->byte] & ~mask_of(place->bit));
            used[typed.to.byte] = static_cast<std::uint8_t>(used[typed.to.byte] | mask_of(typed.to.bit));
        }
        *place = typed.to;
    }
};

/// What the comparison of the ends says of a copy in which that is typed.
Mistyped typed_in(const Scenario& scenario, MistypedSetting what) {
    CrossCheck check = cross_check(mistyped_at_device(scenario, what));
    Mistyped found{std::move(what), {}};
    if (!check.differences.empty()) found.difference = std::move(check.differences.front());
    return found;
}

Mistyped address(const Scenario& scenario) {
    const proto::LinkSettings& device = scenario.device.link;
    const std::uint32_t wrong = device.own_address ^ 1U;
    const bool taken = wrong == device.peer_address || wrong == 0;
    return typed_in(scenario, MistypedAddress{taken ? device.own_address ^ 2U : wrong});
}

Mistyped watchdog(const Scenario& scenario) {
    const proto::LinkSettings& device = scenario.device.link;
    return typed_in(scenario, MistypedWatchdog{device.watchdog + device.cycle});
}

bool is_typed(const Scenario& scenario, const std::string& signal) {
    return std::any_of(scenario.device.bits.begin(), scenario.device.bits.end(),
                       [&](const TypedBit& bit) { return bit.signal == signal; });
}

/// Two bits of one way, both in use at both ends.
std::optional<Mistyped> exchanged_bits(const Scenario& scenario) {
    const std::vector<Signal>& signals = scenario.signals;
    for (std::size_t a = 0; a < signals.size(); ++a)
        for (std::size_t b = a + 1; b < signals.size(); ++b) {
            if (signals[a].direction != signals[b].direction) continue;
            if (!is_typed(scenario, signals[a].name) || !is_typed(scenario, signals[b].name)) continue;
            return typed_in(scenario, ExchangedBits{signals[a].name, signals[b].name});
        }
    return std::nullopt;
}

/// To a bit that is not in use.
std::optional<Mistyped> moved_bit(const Scenario& scenario) {
    if (scenario.signals.empty()) return std::nullopt;
    Scenario changed = scenario;
    const Signal& signal = scenario.signals.front();
    const BitPlace* place = place_at_device(changed, signal.name);
    if (place == nullptr) return std::nullopt;
    BitPlace to = *place;
    to.bit = (place->bit + 1) % 8;
    if ((bits_used(changed, signal.direction)[place->byte] & mask_of(to.bit)) != 0) return std::nullopt;
    return typed_in(scenario, MovedBit{signal.name, to});
}

}  // namespace

bool Mistyped::seen_by_link() const {
    constexpr const char* running = "Running";
    return difference && (difference->seen_at_controller != running || difference->seen_at_device != running);
}

Scenario mistyped_at_device(const Scenario& scenario, const MistypedSetting& what) {
    Scenario changed = scenario;
    std::visit(TypeIt{changed}, what);
    return changed;
}

std::vector<Mistyped> mistyped_settings(const Scenario& scenario) {
    std::vector<Mistyped> found{address(scenario), watchdog(scenario)};
    std::optional<Mistyped> bits = exchanged_bits(scenario);
    if (!bits) bits = moved_bit(scenario);
    if (bits) found.push_back(std::move(*bits));
    return found;
}

}  // namespace sim
