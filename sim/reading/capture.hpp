#pragma once
// Delays out of a capture of any network traffic (pcap or pcapng): the round trips of a flow of requests and responses,
// or how unevenly the telegrams of one direction came.
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "proto/time.hpp"
#include "sim/reading/packets.hpp"
#include "sim/reading/read.hpp"

namespace sim {

struct CaptureWish {
    enum class Use : std::uint8_t {
        round_trips,  ///< from a request to the next packet that comes back
        gaps,         ///< how much later than usual (the median) a packet follows the one before it
    };
    std::string path;
    Use use = Use::round_trips;
    std::optional<std::uint16_t> port;  ///< of either end; nothing: the flow with the most packets
    /// Of round trips, one of these at most. A capture at the device's port, of the same exchanges at the same time:
    /// from each round trip what lies there between request and answer is taken off.
    std::string at_device = {};
    /// What the device takes at least: taken off each round trip, which does not become less than 0.
    std::optional<proto::Duration> subtract = {};
    CaptureSource::Held held = {};            ///< the bytes of `path`, where they are in memory
    CaptureSource::Held held_at_device = {};  ///< the same of `at_device`
};

struct CapturedDelays {
    std::vector<proto::Duration> times;  ///< round trips or gaps, in the order of the capture; at least two
    /// How many of them still hold what the device takes: all without at_device and subtract, and with at_device those
    /// that are not found there.
    std::uint64_t with_device = 0;
    std::uint64_t under =
        0;  ///< round trips shorter than `subtract`, so that this is more than the device takes at least
};

/// UDP and TCP over IPv4 and IPv6; of TCP only packets that carry something. The first sender of the flow is the one
/// that asks.
proto::Result<CapturedDelays, FileError> delays_in_capture(const CaptureWish& wish);

}  // namespace sim
