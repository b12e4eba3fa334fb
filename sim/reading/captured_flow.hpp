#pragma once
// One flow out of a capture: who asks, and each packet's time and bytes.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "sim/capture/datagram.hpp"
#include "sim/reading/packets.hpp"
#include "sim/reading/read.hpp"

namespace sim {

struct CapturedFlow {
    struct Seen {
        std::int64_t at = 0;         ///< ns since 1970
        std::uint64_t identity = 0;  ///< of what it carries, see identity_of_bytes()
        bool asks = false;
    };
    SocketAddress asks, answers;
    std::vector<Seen> seen;  ///< in order of time
};

/// The flow with the most packets (of `port`, if given, at either end). If `like` is given and there is such a flow,
/// that one, with the same side asking; else the first sender is the one that asks.
proto::Result<CapturedFlow, FileError> flow_in_capture(const CaptureSource& source, std::optional<std::uint16_t> port,
                                                       const CapturedFlow* like = nullptr);

}  // namespace sim
