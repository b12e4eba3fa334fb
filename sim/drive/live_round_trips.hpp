#pragma once
// What of an exchange of a live link its telegrams were on the line, and what they waited at the ends.
#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include "sim/drive/join.hpp"

namespace sim {

/// By place of a LoggedDelivery in the channel's log, the place of its Concluded in the log of the end that it went to.
using Conclusions = std::vector<std::optional<std::size_t>>;

/// The exchanges of a polled link that were completed before `until`, an instant of the controller's clock. Every span
/// is taken between two records of one clock. The line has an exchange's whole time but for what is known to be
/// waiting: of the telegrams that were accepted at each end, from arrival to scan, and from when they were first said
/// to when they were said again. It is never less than what the channel alone took for them. `oldest`: see
/// matches().
std::vector<LiveRoundTrip> live_round_trips(const PartRecords& parts, const std::array<Conclusions, part_count>& joined,
                                            Instant until, Duration oldest);

}  // namespace sim
