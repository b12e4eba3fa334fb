#pragma once
// What of a round trip lies at the device: found in a second capture there, by what the packets carry.
#include <cstdint>
#include <optional>
#include <vector>

#include "proto/time.hpp"
#include "sim/reading/captured_flow.hpp"

namespace sim {

/// A request and the next packet that came back, as captured at the controller.
struct CapturedExchange {
    std::int64_t asked_at = 0;  ///< ns since 1970, by the controller's capture
    std::uint64_t request = 0, answer = 0;
    proto::Duration whole;
};
std::vector<CapturedExchange> exchanges_of(const CapturedFlow& flow);

/// For each exchange how long it lay at the device: from its request to the answer there. Nothing: not found, or not
/// possible, since it would be longer than the whole exchange. The clocks of the captures need not agree: right is the
/// difference by which most requests are found.
std::vector<std::optional<proto::Duration>> waits_at_device(const std::vector<CapturedExchange>& exchanges,
                                                            const CapturedFlow& at_device);

/// True if most requests carry just what the one before them does, so that nobody can tell exchanges by them.
bool all_alike(const CapturedFlow& flow);

}  // namespace sim
