#include "sim/live/received_at.hpp"

#include <sys/ioctl.h>
#include <sys/types.h>

#include <chrono>

#include <linux/sockios.h>

namespace sim {
namespace {

constexpr std::int64_t ns_per_s = 1'000'000'000;
constexpr std::int64_t longest_ns = 60 * ns_per_s;  ///< beyond that the time of day was set, not a datagram left lying

}  // namespace

std::optional<proto::Duration> waited_in_socket(int socket) {
    timespec stamp{};
    // asks the kernel for stamps from now on as well: the first datagram may have none
    if (ioctl(socket, SIOCGSTAMPNS, &stamp) != 0) return std::nullopt;
    using Wall = std::chrono::system_clock;
    const std::int64_t now =
        std::chrono::duration_cast<std::chrono::nanoseconds>(Wall::now().time_since_epoch()).count();
    const std::int64_t waited = now - (std::int64_t{stamp.tv_sec} * ns_per_s + stamp.tv_nsec);
    if (waited < 0 || waited > longest_ns) return std::nullopt;
    return proto::Duration{waited};
}

}  // namespace sim
