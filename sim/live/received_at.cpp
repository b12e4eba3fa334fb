#include "sim/live/received_at.hpp"

#include <sys/ioctl.h>
#include <sys/types.h>

#include <chrono>
#include <cstdlib>
#include <utility>

#include <linux/sockios.h>

namespace sim {
namespace {

constexpr std::int64_t ns_per_s = 1'000'000'000;
constexpr std::int64_t longest_ns = 60 * ns_per_s;  ///< beyond that the time of day was set, not a datagram left lying
/// The time of day is also slewed, by half a thousandth at most: from one telegram to the next that is less.
constexpr std::int64_t slewed_most_ns = 1'000'000;

template <class Clock>
std::int64_t now_ns() {
    return std::chrono::duration_cast<std::chrono::nanoseconds>(Clock::now().time_since_epoch()).count();
}

}  // namespace

std::optional<proto::Duration> SocketWait::of_last(int socket) {
    timespec stamp{};
    // asks the kernel for stamps from now on as well: the first datagram may have none
    if (ioctl(socket, SIOCGSTAMPNS, &stamp) != 0) return std::nullopt;
    const std::int64_t now = now_ns<std::chrono::system_clock>();
    const std::int64_t ahead = now - now_ns<std::chrono::steady_clock>();
    const auto before = std::exchange(ahead_ns_, ahead);
    if (before && std::abs(ahead - *before) > slewed_most_ns) return std::nullopt;
    const std::int64_t waited = now - (std::int64_t{stamp.tv_sec} * ns_per_s + stamp.tv_nsec);
    if (waited < 0 || waited > longest_ns) return std::nullopt;
    return proto::Duration{waited};
}

}  // namespace sim
