#include "sim/live/stamped_socket.hpp"

#include <sys/socket.h>
#include <sys/time.h>

#include <algorithm>
#include <array>
#include <asio.hpp>
#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <system_error>

namespace sim {
namespace {

using asio::ip::udp;
using Clock = std::chrono::steady_clock;

/// A jump of the time of day against the clock that nobody sets. Slewing makes up 0.05 ms between two looks at most.
constexpr std::int64_t jump_ns = 200'000;
constexpr std::int64_t moment_ns = 20'000;
constexpr int room_for_arrivals = 1 << 20;  ///< bytes; the system may grant less

SocketAddress socket_address(const udp::endpoint& endpoint) {
    SocketAddress address;
    address.port = endpoint.port();
    address.six = endpoint.address().is_v6();
    if (address.six) {
        address.host = endpoint.address().to_v6().to_bytes();
    } else {
        const auto host = endpoint.address().to_v4().to_bytes();
        std::copy(host.begin(), host.end(), address.host.begin());
    }
    return address;
}

udp::endpoint endpoint_of(const SocketAddress& address) {
    if (address.six) return {asio::ip::address_v6(address.host), address.port};
    asio::ip::address_v4::bytes_type host{};
    std::copy_n(address.host.begin(), host.size(), host.begin());
    return {asio::ip::address_v4(host), address.port};
}

std::int64_t time_of_day_ns() {
    using Wall = std::chrono::system_clock;
    return std::chrono::duration_cast<std::chrono::nanoseconds>(Wall::now().time_since_epoch()).count();
}

LiveError trouble(const std::string& where, const std::string& what, const char* mend) {
    return {where + ": " + what + "; " + mend};
}

}  // namespace

class StampedSocket::Inside {
  public:
    std::optional<LiveError> open(const Address& at) {
        std::error_code failed;
        const auto host = asio::ip::make_address(at.host, failed);
        if (failed) return trouble(at.host, "is no address", "write for example 127.0.0.1:4701");
        const udp::endpoint here(host, at.port);
        socket_.open(here.protocol(), failed);
        if (!failed) socket_.bind(here, failed);
        if (failed == asio::error::address_in_use)
            return trouble(at.written(), "port in use", "choose another, or port 0 for any free one");
        if (failed) return trouble(at.written(), failed.message(), "choose an address and port that are open to you");
        socket_.non_blocking(true, failed);
        if (failed) return trouble(at.written(), failed.message(), "choose another port");
        const int on = 1;
        stamped_ = set(SO_TIMESTAMPNS, on);
        set(SO_RXQ_OVFL, on);
        set(SO_RCVBUF, room_for_arrivals);
        look_at_clocks();
        return std::nullopt;
    }

    std::optional<LiveError> open_towards(const Address& peer) {
        std::error_code failed;
        const udp::endpoint there(asio::ip::make_address(peer.host, failed), peer.port);
        udp::socket asks(io_);  // connecting one sends nothing: it is how the system tells the way
        if (!failed) asks.open(there.protocol(), failed);
        if (!failed) asks.connect(there, failed);
        udp::endpoint here;
        if (!failed) here = asks.local_endpoint(failed);
        if (failed) return trouble(peer.written(), failed.message(), "is there a network, and a way to it?");
        return open({here.address().to_string(), 0});
    }

    [[nodiscard]] SocketAddress local() const { return socket_address(socket_.local_endpoint()); }
    [[nodiscard]] proto::Instant now() const {
        return {std::chrono::duration_cast<std::chrono::nanoseconds>(Clock::now() - base_).count()};
    }

    std::optional<Arrival> next(proto::Instant until) {
        for (;;) {
            if (auto arrival = read()) return arrival;
            if (now() >= until) return std::nullopt;
            if (!waits_) {
                waits_ = true;
                socket_.async_wait(udp::socket::wait_read, [this](std::error_code) { waits_ = false; });
            }
            up_ = false;
            timer_.expires_at(base_ + std::chrono::nanoseconds(until.ns));  // gives up what it was set to before
            timer_.async_wait([this](std::error_code given_up) { up_ = up_ || !given_up; });
            while (waits_ && !up_ && io_.run_one() > 0) {
            }
        }
    }

    std::optional<LiveError> send(std::span<const std::uint8_t> bytes, const SocketAddress& to) {
        std::error_code failed;
        socket_.send_to(asio::buffer(bytes.data(), bytes.size()), endpoint_of(to), 0, failed);
        if (failed) return LiveError{failed.message()};
        return std::nullopt;
    }

    bool stamped_ = false;
    std::uint64_t dropped_ = 0, clock_set_ = 0;

  private:
    bool set(int option, int value) {
        return ::setsockopt(socket_.native_handle(), SOL_SOCKET, option, &value, sizeof value) == 0;
    }

    /// True if the time of day was set since the last look. Both clocks are read within a moment, or the difference
    /// known from before stays: what comes between two readings is no jump.
    bool look_at_clocks() {
        constexpr int tries = 8;
        for (int i = 0; i < tries; ++i) {
            const proto::Instant before = now();
            const std::int64_t day = time_of_day_ns();
            now_ = now();
            if ((now_ - before).ns > moment_ns) continue;
            const std::int64_t apart = day - now_.ns;
            const bool jumped = std::abs(apart - apart_) > jump_ns;
            apart_ = apart;
            return jumped;
        }
        return false;
    }

    std::optional<Arrival> read() {
        sockaddr_storage from{};
        iovec into{received_.data(), received_.size()};
        alignas(cmsghdr) std::array<char, 256> beside{};
        msghdr message{};
        message.msg_name = &from;
        message.msg_namelen = sizeof from;
        message.msg_iov = &into;
        message.msg_iovlen = 1;
        message.msg_control = beside.data();
        message.msg_controllen = beside.size();
        const proto::Instant before = now();
        ssize_t size = 0;
        do size = ::recvmsg(socket_.native_handle(), &message, MSG_DONTWAIT);
        while (size < 0 && errno == EINTR);
        const bool jumped = look_at_clocks();
        if (size < 0) {
            if (errno != EAGAIN) return std::nullopt;
            if (jumped) ++clock_set_;
            empty_at_ = before;
            return std::nullopt;
        }
        Arrival arrival{
            address_of(from, message.msg_namelen), {received_.data(), static_cast<std::size_t>(size)}, now_};
        for (cmsghdr* each = CMSG_FIRSTHDR(&message); each != nullptr; each = CMSG_NXTHDR(&message, each)) {
            if (each->cmsg_level != SOL_SOCKET) continue;
            if (each->cmsg_type == SCM_TIMESTAMPNS && !jumped) {
                timespec stamp{};
                std::memcpy(&stamp, CMSG_DATA(each), sizeof stamp);
                const proto::Instant at{std::int64_t{stamp.tv_sec} * 1'000'000'000 + stamp.tv_nsec - apart_};
                arrival.at = std::clamp(at, std::min(empty_at_, now_), now_);
            } else if (each->cmsg_type == SO_RXQ_OVFL) {
                std::uint32_t dropped = 0;
                std::memcpy(&dropped, CMSG_DATA(each), sizeof dropped);
                dropped_ = dropped;
            }
        }
        if (jumped) ++clock_set_;
        return arrival;
    }

    static SocketAddress address_of(const sockaddr_storage& from, socklen_t size) {
        udp::endpoint endpoint;
        if (size > endpoint.capacity()) return {};
        std::memcpy(endpoint.data(), &from, size);
        endpoint.resize(size);
        return socket_address(endpoint);
    }

    asio::io_context io_{1};
    udp::socket socket_{io_};
    asio::steady_timer timer_{io_};
    Clock::time_point base_ = Clock::now();
    proto::Instant now_{}, empty_at_{};  ///< the last look at the clocks; when nothing was waiting to be read
    std::int64_t apart_ = 0;             ///< time of day less now()
    bool waits_ = false, up_ = false;    ///< for a datagram; the time is up
    std::array<std::uint8_t, 2048> received_{};
};

std::optional<SocketAddress> socket_address(const Address& address) {
    std::error_code failed;
    const auto host = asio::ip::make_address(address.host, failed);
    if (failed) return std::nullopt;
    return socket_address(udp::endpoint(host, address.port));
}

StampedSocket::StampedSocket() : inside_(std::make_unique<Inside>()) {}
StampedSocket::~StampedSocket() = default;
std::optional<LiveError> StampedSocket::open(const Address& at) { return inside_->open(at); }
std::optional<LiveError> StampedSocket::open_towards(const Address& peer) { return inside_->open_towards(peer); }
SocketAddress StampedSocket::local() const { return inside_->local(); }
proto::Instant StampedSocket::now() const { return inside_->now(); }
std::optional<StampedSocket::Arrival> StampedSocket::next(proto::Instant until) { return inside_->next(until); }
std::optional<LiveError> StampedSocket::send(std::span<const std::uint8_t> bytes, const SocketAddress& to) {
    return inside_->send(bytes, to);
}
bool StampedSocket::stamped() const { return inside_->stamped_; }
std::uint64_t StampedSocket::dropped() const { return inside_->dropped_; }
std::uint64_t StampedSocket::clock_set() const { return inside_->clock_set_; }

}  // namespace sim
