#include "sim/live/part_run.hpp"

#include <algorithm>
#include <array>
#include <asio.hpp>
#include <utility>

#include "sim/live/received_at.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using asio::ip::udp;

/// Before a part has heard of its peers its run has not begun: its clock then stands far before zero.
constexpr Duration before_contact = proto::seconds(1'000'000);
constexpr Duration look_at_least = proto::milliseconds(50);

std::optional<udp::endpoint> endpoint_of(const Address& address) {
    std::error_code failed;
    const auto host = asio::ip::make_address(address.host, failed);
    if (failed) return std::nullopt;
    return udp::endpoint(host, address.port);
}

Address address_at(const udp::endpoint& endpoint) { return {endpoint.address().to_string(), endpoint.port()}; }

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

}  // namespace

struct PartLoop::Inside {
    asio::io_context io{1};
};
PartLoop::PartLoop() : inside_(std::make_unique<Inside>()) {}
PartLoop::~PartLoop() = default;
void PartLoop::run() { inside_->io.run(); }

struct PartRun::Socket {
    explicit Socket(asio::io_context& io) : udp(io), timer(io) {}
    asio::ip::udp::socket udp;
    asio::steady_timer timer;
    std::vector<asio::ip::udp::endpoint> peers;
    asio::ip::udp::endpoint from;
    std::array<std::uint8_t, 2048> received{};
    SocketWait wait;
};

/// It looks after a tenth of the shorter watchdog at the latest.
RunTimes run_times(const Scenario& s) {
    const Duration tenth{std::min(s.controller.link.watchdog, s.device.link.watchdog).ns / 10};
    return {s.duration, goes_on_after(s), lateness_allowed(s),
            std::clamp(tenth, proto::milliseconds(1), look_at_least)};
}

PartRun::PartRun(PartLoop& loop, const LiveOptions& options, const RunTimes& times)
    : options_(options),
      times_(times),
      socket_(std::make_unique<Socket>(loop.inside_->io)),
      base_(Clock::now()),
      notes_(times.duration, times.lateness_allowed),
      tells_missing_(Clock::now() + missed_after) {}

PartRun::~PartRun() = default;

std::optional<LiveError> PartRun::bind(const Address& address) {
    const auto at = endpoint_of(address);
    if (!at) return LiveError{address.host + ": is no address; write for example 127.0.0.1:4701"};
    std::error_code failed;
    socket_->udp.open(at->protocol(), failed);
    if (!failed) socket_->udp.bind(*at, failed);
    if (failed == asio::error::address_in_use)
        return LiveError{address.written() + ": port in use; choose another, or port 0 for any free one"};
    if (failed) return LiveError{address.written() + ": " + failed.message() + "; choose an address of this computer"};
    return std::nullopt;
}

Address PartRun::address() const { return address_at(socket_->udp.local_endpoint()); }

std::optional<LiveError> PartRun::add_peer(const Address& address) {
    const auto peer = endpoint_of(address);
    if (!peer) return LiveError{"a peer's address is none"};
    socket_->peers.push_back(*peer);
    return std::nullopt;
}

Address PartRun::address_of(std::size_t peer) const { return address_at(socket_->peers[peer]); }

Instant PartRun::now() const {
    const auto since = std::chrono::duration_cast<std::chrono::nanoseconds>(Clock::now() - base_).count();
    return Instant{since} - (contact_ ? Duration{} : before_contact);
}

void PartRun::begin() {
    contact_ = true;
    just_begun_ = true;
    base_ = Clock::now();
    lateness_ns().clear();
    notes_ = {times_.duration, times_.lateness_allowed};
    looks_at_ = now();
}

void PartRun::go_on_since(Clock::time_point begun) {
    contact_ = true;
    base_ = begun;
    looks_at_ = now();
}

void PartRun::note_begin(PartRecord& record, std::size_t controller, std::size_t device) const {
    using Wall = std::chrono::system_clock;
    record.begun_ns = std::chrono::duration_cast<std::chrono::nanoseconds>(Wall::now().time_since_epoch()).count();
    record.clock_ns = std::chrono::duration_cast<std::chrono::nanoseconds>(base_.time_since_epoch()).count();
    record.channel = socket_address(socket_->udp.local_endpoint());
    record.controller = socket_address(socket_->peers[controller]);
    record.device = socket_address(socket_->peers[device]);
}

void PartRun::send(std::span<const std::uint8_t> bytes, std::size_t peer) {
    outbox_.push_back({peer, bytes.size()});
    outbox_bytes_.insert(outbox_bytes_.end(), bytes.begin(), bytes.end());
}

void PartRun::listen() {
    Socket& socket = *socket_;
    socket.udp.async_receive_from(
        asio::buffer(socket.received), socket.from, [this, &socket](std::error_code failed, std::size_t size) {
            if (failed == asio::error::operation_aborted) return;
            if (!failed) note_waiting();
            // the timer is set anew below: how late it is by now would be forgotten
            if (!failed && contact_ && now() > looks_at_) notes_.note_itself(now() - looks_at_, now(), lateness_ns());
            const auto peer = std::find(socket.peers.begin(), socket.peers.end(), socket.from);
            if (!failed && peer != socket.peers.end())
                hear({socket.received.data(), size}, static_cast<std::size_t>(peer - socket.peers.begin()));
            if (!over_) listen();
        });
}

void PartRun::arm() {
    if (over_) return;
    const Instant at_now = now();
    const Instant next = std::min(next_event(), at_now + times_.looks_every);
    const Duration wait = std::max(next - at_now, Duration{});
    looks_at_ = at_now + wait;
    socket_->timer.expires_after(std::chrono::nanoseconds(wait.ns));
    socket_->timer.async_wait([this](std::error_code failed) {
        if (!failed) run();
    });
}

void PartRun::run() {
    if (contact_) notes_.note_itself(now() - looks_at_, now(), lateness_ns());
    while (next_event() <= now()) {
        const Duration late = do_due(now());
        // as the run began the clock was set: nothing was late
        if (contact_ && !std::exchange(just_begun_, false)) notes_.note(late, now(), lateness_ns());
    }
    settle();
    tell_who_is_missing();
    const bool whole = contact_ && now() >= Instant{} + times_.duration + times_.goes_on;
    stopped_ = !whole && options_.stop && options_.stop();
    if (whole || stopped_ || unkept_) return end();
    arm();
}

/// Whoever ends the part at any moment must not make it one that said what it never wrote down.
void PartRun::settle() {
    if (contact_) unkept_ = !keep() || unkept_;
    std::size_t from = 0;
    for (const Datagram& datagram : outbox_) {
        std::error_code ignored;  // a peer that is not there yet is no reason to stop
        if (!unkept_)
            socket_->udp.send_to(asio::buffer(&outbox_bytes_[from], datagram.bytes), socket_->peers[datagram.peer], 0,
                                 ignored);
        from += datagram.bytes;
    }
    outbox_.clear();
    outbox_bytes_.clear();
}

void PartRun::end() {
    over_ = true;
    std::error_code ignored;
    socket_->udp.close(ignored);
}

/// What was received last may have waited in the system while the part stood still: it was late by that.
void PartRun::note_waiting() {
    const std::optional<Duration> waited = socket_->wait.of_last(socket_->udp.native_handle());
    if (waited && contact_) notes_.note_itself(*waited, now(), lateness_ns());
}

void PartRun::tell_who_is_missing() {
    const auto clock = Clock::now();
    if (!tells_waiting_ || !options_.tell || clock < tells_missing_) return;
    tells_missing_ = clock + missed_after;
    if (contact_ && now() >= Instant{} + times_.duration) return;
    if (const std::string line = waits_for(clock); !line.empty()) options_.tell(line);
}

MissingPeer PartRun::missing(std::string name, std::size_t peer, bool heard, Clock::duration silent_for) const {
    const auto silent = std::chrono::duration_cast<std::chrono::nanoseconds>(silent_for).count();
    return {std::move(name), address_of(peer).written(), heard ? std::optional(Duration{silent}) : std::nullopt};
}

}  // namespace sim
