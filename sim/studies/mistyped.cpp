#include "sim/studies/mistyped.hpp"

#include <utility>

namespace sim {
namespace {

/// What the comparison of the ends says of a changed copy.
Mistyped found_in(const Scenario& changed, decltype(Mistyped::what) what) {
    Mistyped found{std::move(what), {}};
    CrossCheck check = cross_check(changed);
    if (!check.differences.empty()) found.difference = std::move(check.differences.front());
    return found;
}

Mistyped address(const Scenario& scenario) {
    Scenario changed = scenario;
    proto::LinkSettings& device = changed.device.link;
    const std::uint32_t wrong = device.own_address ^ 1U;
    const bool taken = wrong == device.peer_address || wrong == 0;
    device.own_address = taken ? device.own_address ^ 2U : wrong;
    return found_in(changed, MistypedAddress{device.own_address});
}

Mistyped watchdog(const Scenario& scenario) {
    Scenario changed = scenario;
    proto::LinkSettings& device = changed.device.link;
    device.watchdog = device.watchdog + device.cycle;
    return found_in(changed, MistypedWatchdog{device.watchdog});
}

/// The place of a signal's bit at the device; nullptr where it has none.
BitPlace* place_at_device(Scenario& scenario, const std::string& signal) {
    for (TypedBit& bit : scenario.device.bits)
        if (bit.signal == signal) return &bit.place;
    return nullptr;
}

/// Two bits of one way, both in use at both ends.
std::optional<Mistyped> exchanged_bits(const Scenario& scenario) {
    const std::vector<Signal>& signals = scenario.signals;
    for (std::size_t a = 0; a < signals.size(); ++a)
        for (std::size_t b = a + 1; b < signals.size(); ++b) {
            if (signals[a].direction != signals[b].direction) continue;
            Scenario changed = scenario;
            BitPlace* first = place_at_device(changed, signals[a].name);
            BitPlace* second = place_at_device(changed, signals[b].name);
            if (first == nullptr || second == nullptr) continue;
            std::swap(*first, *second);
            return found_in(changed, ExchangedBits{signals[a].name, signals[b].name});
        }
    return std::nullopt;
}

/// To a bit that is not in use: the bits in use are under the parameter signature.
std::optional<Mistyped> moved_bit(const Scenario& scenario) {
    if (scenario.signals.empty()) return std::nullopt;
    Scenario changed = scenario;
    const Signal& signal = scenario.signals.front();
    BitPlace* place = place_at_device(changed, signal.name);
    if (place == nullptr) return std::nullopt;
    proto::LinkSettings& link = changed.device.link;
    proto::BitUse& used = signal.direction == Direction::to_device ? link.bits_received : link.bits_sent;
    const auto mask = [](unsigned bit) { return static_cast<std::uint8_t>(1U << bit); };
    const unsigned to = (place->bit + 1) % 8;
    std::uint8_t& byte = used[place->byte];
    if ((byte & mask(to)) != 0) return std::nullopt;
    byte = static_cast<std::uint8_t>((byte & ~mask(place->bit)) | mask(to));
    place->bit = to;
    return found_in(changed, MovedBit{signal.name, *place});
}

}  // namespace

std::vector<Mistyped> mistyped_settings(const Scenario& scenario) {
    std::vector<Mistyped> found{address(scenario), watchdog(scenario)};
    std::optional<Mistyped> bits = exchanged_bits(scenario);
    if (!bits) bits = moved_bit(scenario);
    if (bits) found.push_back(std::move(*bits));
    return found;
}

}  // namespace sim
