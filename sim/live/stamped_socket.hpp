#pragma once
// A UDP socket whose datagrams come with the time at which the computer received them, not that at which somebody got
// round to reading them.
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "proto/time.hpp"
#include "sim/capture/datagram.hpp"
#include "sim/live/live.hpp"

namespace sim {

/// Nothing if its host is no address.
std::optional<SocketAddress> socket_address(const Address& address);

class StampedSocket {
  public:
    /// What came in. `bytes` are good until the next call of next().
    struct Arrival {
        SocketAddress from;
        std::span<const std::uint8_t> bytes;  ///< of a longer one than was ever sent here the first 2048
        proto::Instant at;
    };

    StampedSocket();
    StampedSocket(const StampedSocket&) = delete;
    StampedSocket& operator=(const StampedSocket&) = delete;
    ~StampedSocket();

    /// Opens it at an address of this computer; port 0 picks a free one. Or why not.
    std::optional<LiveError> open(const Address& at);
    /// Opens it at that address of this computer from which `peer` is reached, at a free port.
    std::optional<LiveError> open_towards(const Address& peer);
    [[nodiscard]] SocketAddress local() const;

    /// Since the socket was made, by a clock that nobody sets.
    [[nodiscard]] proto::Instant now() const;
    /// The next datagram, waiting for it until `until` at most. Nothing: the time is up, or about to be.
    std::optional<Arrival> next(proto::Instant until);
    /// Nothing, or why it did not leave.
    std::optional<LiveError> send(std::span<const std::uint8_t> bytes, const SocketAddress& to);

    /// False: the system gives no stamps, and each time is that of reading.
    [[nodiscard]] bool stamped() const;
    /// Datagrams that came in but found no more room, since nobody read them.
    [[nodiscard]] std::uint64_t dropped() const;
    /// How often the time of day was set meanwhile: a stamp of that moment counts as the time of reading.
    [[nodiscard]] std::uint64_t clock_set() const;

  private:
    class Inside;
    std::unique_ptr<Inside> inside_;
};

}  // namespace sim
