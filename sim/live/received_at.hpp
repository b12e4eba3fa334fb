#pragma once
// How long a datagram lay in its socket before anybody took it: the kernel notes when it came.
#include <cstdint>
#include <optional>

#include "proto/time.hpp"

namespace sim {

class SocketWait {
  public:
    /// Of the datagram that was taken from `socket` last. Nothing where the system does not tell, or while the time of
    /// day, by which the kernel notes it, was set since the last time that was asked.
    std::optional<proto::Duration> of_last(int socket);

  private:
    std::optional<std::int64_t> ahead_ns_;  ///< the time of day less the steady clock
};

}  // namespace sim
