#pragma once
// Settings mistyped at the device on purpose, as the acceptance test does it: what both ends then show.
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"

namespace sim {

struct MistypedAddress {
    std::uint32_t address;  ///< the device's own
};
struct MistypedWatchdog {
    Duration watchdog;
};
/// Places of two signals of one way, each typed for the other.
struct ExchangedBits {
    std::string first, second;
};
/// A signal's bit typed where none is in use.
struct MovedBit {
    std::string signal;
    BitPlace to;
};

using MistypedSetting = std::variant<MistypedAddress, MistypedWatchdog, ExchangedBits, MovedBit>;

struct Mistyped {
    MistypedSetting what;
    std::optional<Difference> difference;  ///< the first that the ends meet; nothing where nothing differs
    /// At least one end shows something else than a running link.
    [[nodiscard]] bool seen_by_link() const;
};

/// An address, a watchdog, and the bits of two signals, or one moved where no two can be exchanged. No bits where none
/// is typed or no other is free. Requires a scenario as read_scenario() gives it.
std::vector<Mistyped> mistyped_settings(const Scenario& scenario);
/// The scenario with that typed at its device. Signals that it does not have change nothing.
Scenario mistyped_at_device(const Scenario& scenario, const MistypedSetting& what);

}  // namespace sim
