#pragma once
// Delays out of a capture of any network traffic (pcap or pcapng): the round trips of a flow of requests and responses,
// or how unevenly the telegrams of one direction came.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "proto/time.hpp"
#include "sim/reading/read.hpp"

namespace sim {

struct CaptureWish {
    enum class Use : std::uint8_t {
        round_trips,  ///< from a request to the next packet that comes back; half of it is taken for one way
        gaps,         ///< how much later than usual (the median) a packet follows the one before it
    };
    std::string path;
    Use use = Use::round_trips;
    std::optional<std::uint16_t> port;  ///< of either end; nothing: the flow with the most packets
};

/// In the order of the capture; at least two. UDP and TCP over IPv4 and IPv6; of TCP only packets that carry something.
/// The first sender of the flow is the one that asks.
proto::Result<std::vector<proto::Duration>, FileError> delays_in_capture(const CaptureWish& wish);

}  // namespace sim
