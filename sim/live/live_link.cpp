#include <algorithm>
#include <array>
#include <asio.hpp>
#include <chrono>
#include <memory>

#include "sim/live/live.hpp"
#include "sim/live/live_part.hpp"
#include "sim/live/real_time.hpp"
#include "sim/live/received_at.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using asio::ip::udp;
using Clock = std::chrono::steady_clock;

/// Before a part has heard of its peers its run has not begun: its clock then stands far before zero.
constexpr Duration before_contact = proto::seconds(1'000'000);
constexpr Duration look_at_least = proto::milliseconds(50);
/// What is late for no scan and no delivery is told once in so long: at most so many lines more a second.
constexpr Duration told_every = proto::milliseconds(200);

/// How often a part looks at least, so that it notices when it is itself held up: a tenth of the shorter watchdog.
Duration looks_every(const Scenario& s) {
    const Duration tenth{std::min(s.controller.link.watchdog, s.device.link.watchdog).ns / 10};
    return std::clamp(tenth, proto::milliseconds(1), look_at_least);
}

/// How long a part goes on after its run, so that its peers do not see it vanish while theirs still last.
Duration grace(const Scenario& s) {
    return std::max(s.controller.link.watchdog, s.device.link.watchdog) * 2 + proto::milliseconds(300);
}

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

/// One part on a socket of its own.
class PartRun final {
  public:
    PartRun(asio::io_context& io, const Scenario& scenario, std::uint64_t seed, Part part, const LiveOptions& options)
        : scenario_(scenario), part_(part), options_(options), socket_(io), timer_(io), base_(Clock::now()) {
        if (part == Part::channel)
            live_ = live_channel(scenario, seed, [this](End to, std::span<const std::uint8_t> bytes) {
                send(bytes, peers_[to == End::controller ? 0 : 1]);
            });
        else
            live_ = live_end(scenario, seed, part == Part::controller ? End::controller : End::device,
                             [this](End, std::span<const std::uint8_t> bytes) { send(bytes, peers_[0]); });
    }
    PartRun(const PartRun&) = delete;
    PartRun& operator=(const PartRun&) = delete;
    ~PartRun() = default;

    /// Nothing, or why the socket could not be had.
    std::optional<LiveError> bind(const Address& address) {
        std::error_code failed;
        const auto host = asio::ip::make_address(address.host, failed);
        if (failed) return LiveError{address.host + ": is no address; write for example 127.0.0.1:4701"};
        const udp::endpoint at(host, address.port);
        socket_.open(at.protocol(), failed);
        if (!failed) socket_.bind(at, failed);
        if (failed == asio::error::address_in_use)
            return LiveError{address.written() + ": port in use; choose another, or port 0 for any free one"};
        if (failed)
            return LiveError{address.written() + ": " + failed.message() + "; choose an address of this computer"};
        return std::nullopt;
    }
    [[nodiscard]] udp::endpoint endpoint() const { return socket_.local_endpoint(); }
    void set_peers(const udp::endpoint& first, const udp::endpoint& second) { peers_ = {first, second}; }

    void start() {
        // whoever starts anew must not be taken for whoever was there before
        const auto tick = static_cast<std::uint64_t>(base_.time_since_epoch().count());
        live_->start(scramble(options_.entropy + static_cast<std::uint64_t>(part_)) ^ tick, now());
        listen();
        arm();
    }

    PartRecord finish() {
        live_->finish(record_);
        return std::move(record_);
    }

  private:
    [[nodiscard]] Instant now() const {
        const auto since = std::chrono::duration_cast<std::chrono::nanoseconds>(Clock::now() - base_).count();
        return Instant{since} - (contact_ ? Duration{} : before_contact);
    }

    void send(std::span<const std::uint8_t> bytes, const udp::endpoint& to) {
        std::error_code ignored;  // a peer that is not there yet is no reason to stop
        socket_.send_to(asio::buffer(bytes.data(), bytes.size()), to, 0, ignored);
    }

    void listen() {
        socket_.async_receive_from(asio::buffer(received_), from_, [this](std::error_code failed, std::size_t size) {
            if (failed == asio::error::operation_aborted) return;
            if (!failed) note_waiting();
            if (!failed) hear({received_.data(), size});
            if (!over_) listen();
        });
    }

    void hear(std::span<const std::uint8_t> bytes) {
        // a channel forwards between its two peers only; an end listens to its channel only
        const bool first = from_ == peers_[0], second = part_ == Part::channel && from_ == peers_[1];
        if (!first && !second) return;
        (first ? heard_first_ : heard_second_) = true;
        if (!contact_ && heard_first_ && (part_ != Part::channel || heard_second_)) begin();
        live_->arrive(first ? Direction::to_device : Direction::to_controller, bytes, now());
        arm();
    }

    void begin() {
        contact_ = true;
        just_begun_ = true;
        base_ = Clock::now();
        live_->forget();
        using Wall = std::chrono::system_clock;
        record_.begun_ns = std::chrono::duration_cast<std::chrono::nanoseconds>(Wall::now().time_since_epoch()).count();
        record_.channel = socket_address(endpoint());
        record_.controller = socket_address(peers_[0]);
        record_.device = socket_address(peers_[1]);
        record_.lateness_ns.clear();
        latest_ = {};
        tells_latest_ = {};
        looks_at_ = now();
    }

    void arm() {
        if (over_) return;
        const Instant at_now = now();
        const Instant next = std::min(live_->next_event(), at_now + looks_every(scenario_));
        const Duration wait = std::max(next - at_now, Duration{});
        looks_at_ = at_now + wait;
        timer_.expires_after(std::chrono::nanoseconds(wait.ns));
        timer_.async_wait([this](std::error_code failed) {
            if (!failed) run();
        });
    }

    void run() {
        note_itself(now() - looks_at_);
        while (live_->next_event() <= now()) note(live_->do_due(now()));
        const bool stopped = options_.stop != nullptr && options_.stop->load();
        if (stopped || (contact_ && now() >= Instant{} + scenario_.duration + grace(scenario_))) {
            over_ = true;
            std::error_code ignored;
            socket_.close(ignored);
            return;
        }
        arm();
    }

    void note(Duration late) {
        if (just_begun_) {  // the clock was set: nothing was late
            just_begun_ = false;
            return;
        }
        if (was_due_in_run(late)) record_.lateness_ns.push_back(late.ns);
    }

    /// Whether what is so late now was due while the run lasted, whenever it is noticed: a computer that stood still
    /// across the end was late for the run.
    [[nodiscard]] bool was_due_in_run(Duration late) const {
        const Instant due = now() - late;
        return contact_ && due >= Instant{} && due < Instant{} + scenario_.duration;
    }

    /// The part itself was so late, for whatever it would have done: a channel with nothing to deliver too.
    void note_itself(Duration late) {
        if (!was_due_in_run(late)) return;
        latest_ = std::max(latest_, late);
        if (now() < tells_latest_ && latest_ <= lateness_allowed(scenario_)) return;
        record_.lateness_ns.push_back(latest_.ns);
        latest_ = {};
        tells_latest_ = now() + told_every;
    }

    /// What was received last may have waited in the system while the part stood still: it was late by that.
    void note_waiting() {
        const std::optional<Duration> waited = waited_in_socket(socket_.native_handle());
        if (waited) note_itself(*waited);
    }

    const Scenario& scenario_;
    Part part_;
    const LiveOptions& options_;
    std::unique_ptr<LivePart> live_;
    PartRecord record_;
    udp::socket socket_;
    asio::steady_timer timer_;
    Clock::time_point base_;
    std::array<udp::endpoint, 2> peers_;  ///< an end's channel; or the channel's controller and device
    udp::endpoint from_;
    std::array<std::uint8_t, 2048> received_{};
    Instant looks_at_{};      ///< the timer is set to
    Duration latest_{};       ///< of the part itself, not told yet
    Instant tells_latest_{};  ///< not before that
    bool contact_ = false, heard_first_ = false, heard_second_ = false, just_begun_ = false, over_ = false;
};

std::optional<udp::endpoint> endpoint_of(const Address& address) {
    std::error_code failed;
    const auto host = asio::ip::make_address(address.host, failed);
    if (failed) return std::nullopt;
    return udp::endpoint(host, address.port);
}

}  // namespace

bool Address::loopback() const {
    std::error_code failed;
    const auto address = asio::ip::make_address(host, failed);
    return !failed && address.is_loopback();
}

bool Address::of_one_computer() const {
    std::error_code failed;
    const auto address = asio::ip::make_address(host, failed);
    const bool all_there = address.is_v4() && address.to_v4() == asio::ip::address_v4::broadcast();
    return !failed && !address.is_multicast() && !address.is_unspecified() && !all_there;
}

bool Address::every() const {
    std::error_code failed;
    const auto address = asio::ip::make_address(host, failed);
    return !failed && address.is_unspecified();
}

std::string Address::written() const {
    const bool six = host.find(':') != std::string::npos;
    return (six ? "[" + host + "]" : host) + ":" + std::to_string(port);
}

std::optional<Address> address_from(const std::string& text) {
    const std::size_t colon = text.rfind(':');
    if (colon == std::string::npos || colon + 1 == text.size()) return std::nullopt;
    std::string host = text.substr(0, colon);
    if (host.size() > 2 && host.front() == '[' && host.back() == ']') host = host.substr(1, host.size() - 2);
    std::uint32_t port = 0;
    for (const char digit : text.substr(colon + 1)) {
        if (digit < '0' || digit > '9') return std::nullopt;
        port = port * 10 + static_cast<std::uint32_t>(digit - '0');
        if (port > 65535) return std::nullopt;
    }
    std::error_code failed;
    asio::ip::make_address(host, failed);
    if (failed) return std::nullopt;
    return Address{host, static_cast<std::uint16_t>(port)};
}

proto::Result<PartRecords, LiveError> run_live(const Scenario& scenario, std::uint64_t seed,
                                               const LiveOptions& options) {
    if (options.real_time) ask_for_real_time(options.tell);
    asio::io_context io(1);
    std::array<std::unique_ptr<PartRun>, part_count> parts;
    for (unsigned p = 0; p < part_count; ++p) {
        parts[p] = std::make_unique<PartRun>(io, scenario, seed, static_cast<Part>(p), options);
        if (const auto failed = parts[p]->bind({"127.0.0.1", 0})) return *failed;
    }
    const auto at = [&](Part part) { return parts[static_cast<std::size_t>(part)]->endpoint(); };
    parts[0]->set_peers(at(Part::channel), {});
    parts[1]->set_peers(at(Part::controller), at(Part::device));
    parts[2]->set_peers(at(Part::channel), {});
    for (const auto& part : parts) part->start();
    io.run();
    PartRecords records;
    for (unsigned p = 0; p < part_count; ++p) records[p] = parts[p]->finish();
    return records;
}

proto::Result<PartRecord, LiveError> run_part(const Scenario& scenario, std::uint64_t seed, const PartOptions& part,
                                              const LiveOptions& options) {
    if (options.real_time) ask_for_real_time(options.tell);
    asio::io_context io(1);
    PartRun run(io, scenario, seed, part.part, options);
    if (const auto failed = run.bind(part.listen)) return *failed;
    const auto first = endpoint_of(part.peer), second = endpoint_of(part.second_peer);
    if (!first || !second) return LiveError{"a peer's address is none"};
    run.set_peers(*first, *second);
    if (options.tell)
        options.tell("listens on " + Address{run.endpoint().address().to_string(), run.endpoint().port()}.written());
    run.start();
    io.run();
    return run.finish();
}

}  // namespace sim
