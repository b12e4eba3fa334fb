#include "sim/live/received_at.hpp"

#include <sys/ioctl.h>

#include <ctime>

#include <linux/sockios.h>

namespace sim {
namespace {

constexpr std::int64_t ns_per_s = 1'000'000'000;
constexpr std::int64_t longest_ns = 60 * ns_per_s;  ///< beyond that the time of day was set, not a datagram left lying

}  // namespace

std::optional<proto::Duration> waited_in_socket(int socket) {
    timespec stamp{}, now{};
    // asks the kernel for stamps from now on as well: the first datagram may have none
    if (ioctl(socket, SIOCGSTAMPNS, &stamp) != 0 || clock_gettime(CLOCK_REALTIME, &now) != 0) return std::nullopt;
    const std::int64_t waited = (now.tv_sec - stamp.tv_sec) * ns_per_s + (now.tv_nsec - stamp.tv_nsec);
    if (waited < 0 || waited > longest_ns) return std::nullopt;
    return proto::Duration{waited};
}

}  // namespace sim
