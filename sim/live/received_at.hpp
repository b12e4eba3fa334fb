#pragma once
// How long a datagram waited in the system before somebody read it.
#include <optional>

#include "proto/time.hpp"

namespace sim {

/// Of the one that was read last from that socket (a descriptor): from the kernel's stamp until now. Nothing if the
/// system tells no time, or the time of day was set in between.
std::optional<proto::Duration> waited_in_socket(int socket);

}  // namespace sim
