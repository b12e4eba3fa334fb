#include "sim/live/waiting.hpp"

#include <array>
#include <cstdio>

#include "sim/drive/by_hand.hpp"

namespace sim {
namespace {

std::string seconds_of(Duration time) {
    std::array<char, 32> text{};
    std::snprintf(text.data(), text.size(), "%.1f s", static_cast<double>(time.ns) / 1e9);
    return text.data();
}

/// The bits of that direction, in the order of the scenario's signals.
std::string bits_of(const Scenario& scenario, Direction way, std::uint64_t signals) {
    std::string bits;
    for (std::size_t i = 0; i < scenario.signals.size(); ++i)
        if (!scenario.signals[i].elsewhere && scenario.signals[i].direction == way)
            bits += (signals >> i & 1) != 0 ? '1' : '0';
    return bits.empty() ? "none" : bits;
}

}  // namespace

std::string waiting_line(const std::vector<MissingPeer>& missing, std::optional<Instant> now) {
    std::string line = now ? "at " + seconds_of(*now - Instant{}) + " " : "";
    line += "waits for";
    for (std::size_t i = 0; i < missing.size(); ++i) {
        const MissingPeer& peer = missing[i];
        line += i == 0 ? " the " : " and the ";
        line += peer.name + " at " + peer.address;
        line += peer.silent_for ? ", silent for " + seconds_of(*peer.silent_for) : ", not heard yet";
    }
    return line;
}

std::string shown_in_words(const Scenario& scenario, Part part, const PartShown& shown, std::optional<Instant> now) {
    const auto end = end_of(part);
    if (!end || !shown.end) return {};
    const Direction out = *end == End::controller ? Direction::to_device : Direction::to_controller;
    const Direction in = *end == End::controller ? Direction::to_controller : Direction::to_device;
    std::string line = "; " + std::string(proto::name_of(shown.end->state)) + ", uses " +
                       bits_of(scenario, in, shown.used) + ", sends " + bits_of(scenario, out, shown.sent);
    line += !shown.last_good ? ", no good telegram yet"
            : now            ? ", last good telegram " + seconds_of(*now - *shown.last_good) + " ago"
                             : "";
    return line;
}

}  // namespace sim
