#pragma once
// After how long the exchange of a link can repeat, and what its channel makes of the telegrams of that time.
#include <cstdint>
#include <optional>

#include "sim/channel/quiet_telegrams.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

inline constexpr std::int64_t cycles_per_period_most = 64;
/// Periods of the scans that a period of the exchange may take (an answer that misses a scan makes it two).
inline constexpr std::size_t exchange_periods_most = 16;

/// After how long the scans of both ends, and with them the steps of time stamps, repeat; nothing if that is too long.
std::optional<Duration> period_of(const Scenario& scenario);

/// Which telegrams of that direction are ordinary; nothing if they may change places in every cycle.
std::optional<QuietTelegrams> quiet_of(const Scenario& scenario, Direction direction, Duration period,
                                       std::uint64_t seed);

}  // namespace sim
