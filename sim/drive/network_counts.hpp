#pragma once
// What the network did to the datagrams of a live run: counted by comparing what each part sent with what the next one
// took from its socket.
#include <array>
#include <cstdint>
#include <vector>

#include "sim/drive/join.hpp"
#include "sim/judge/result.hpp"

namespace sim {

/// All four legs, in the order of a telegram's way: out to the device, then back. `offset_ns`: by Part, channel time
/// less own time. What was sent up to `end`, by the channel's clock, counts; what was sent to a part that was away does
/// not. Telegrams of the same bytes cannot be told apart: of two of them in the wrong order nothing is seen.
std::vector<NetworkLeg> network_counts(const PartRecords& parts, const std::array<std::int64_t, part_count>& offset_ns,
                                       Instant end);

}  // namespace sim
