#include <algorithm>
#include <array>
#include <asio.hpp>
#include <chrono>
#include <memory>
#include <optional>
#include <utility>

#include "sim/drive/by_hand.hpp"
#include "sim/live/lateness_notes.hpp"
#include "sim/live/live.hpp"
#include "sim/live/live_part.hpp"
#include "sim/live/real_time.hpp"
#include "sim/live/received_at.hpp"
#include "sim/live/waiting.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using asio::ip::udp;

/// Before a part has heard of its peers its run has not begun: its clock then stands far before zero.
constexpr Duration before_contact = proto::seconds(1'000'000);
constexpr Duration look_at_least = proto::milliseconds(50);
/// A part that is started anew comes up after so long: by then it has gone through what it wrote down before, and is on
/// time.
Duration comes_up_after(const EarlierStart& earlier) {
    constexpr std::int64_t ns_an_event = 300;
    return proto::milliseconds(100) +
           Duration{static_cast<std::int64_t>(earlier.record.log.events.size()) * ns_an_event};
}

/// What was written down may be later than the mark beside it.
Instant last_sign_of(const EarlierStart& earlier) {
    const auto& events = earlier.record.log.events;
    return events.empty() ? earlier.alive : std::max(earlier.alive, time_of(events.back()));
}
/// A peer that says nothing for so long is missed, and that is told as often.
constexpr std::chrono::seconds missed_after{1};

/// How often a part looks at least, so that it notices when it is itself held up: a tenth of the shorter watchdog.
Duration looks_every(const Scenario& s) {
    const Duration tenth{std::min(s.controller.link.watchdog, s.device.link.watchdog).ns / 10};
    return std::clamp(tenth, proto::milliseconds(1), look_at_least);
}

SocketAddress socket_address(const asio::ip::udp::endpoint& endpoint) {
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

Scenario as_run(const Scenario& scenario, Part part, const std::vector<Absence>& absences) {
    const auto end = end_of(part);
    return end ? with_restarts(scenario, *end, absences) : scenario;
}

/// One part on a socket of its own.
class PartRun final {
  public:
    /// All that is referred to must outlive it. `journal`: nothing to keep everything in memory. `earlier`: see
    /// PartOptions.
    PartRun(asio::io_context& io, const Scenario& scenario, std::uint64_t seed, Part part, const LiveOptions& options,
            PartJournal* journal = nullptr, const EarlierStart* earlier = nullptr);
    PartRun(const PartRun&) = delete;
    PartRun& operator=(const PartRun&) = delete;
    ~PartRun() = default;

    /// Nothing, or why the socket could not be had.
    std::optional<LiveError> bind(const Address& address);
    [[nodiscard]] udp::endpoint endpoint() const { return socket_.local_endpoint(); }
    /// An end's channel; or the channel's controller and device.
    void set_peers(const udp::endpoint& first, const udp::endpoint& second) { peers_ = {first, second}; }
    /// Each second it tells whom it waits for, while it does.
    void tell_waiting() { tells_waiting_ = true; }

    void start();
    PartRecord finish();
    /// Ended before its run did.
    [[nodiscard]] bool stopped() const { return stopped_; }
    /// The journal could not keep what was seen; the part ended.
    [[nodiscard]] bool unkept() const { return unkept_; }

  private:
    using Clock = std::chrono::steady_clock;
    struct Datagram {
        udp::endpoint to;
        std::size_t bytes = 0;
    };

    [[nodiscard]] Instant now() const;
    void send(std::span<const std::uint8_t> bytes, const udp::endpoint& to);
    void listen();
    void hear(std::span<const std::uint8_t> bytes);
    void begin();
    void arm();
    void run();
    void settle();
    void end();
    void note_waiting();
    void tell_who_is_missing();

    Scenario scenario_;  ///< with the restarts by hand of this part
    std::uint64_t seed_;
    Part part_;
    const LiveOptions& options_;
    PartJournal* journal_;
    const EarlierStart* earlier_;
    std::unique_ptr<LivePart> live_;
    PartRecord record_;
    udp::socket socket_;
    asio::steady_timer timer_;
    Clock::time_point base_;
    std::array<udp::endpoint, 2> peers_;
    std::array<bool, 2> heard_{};
    std::array<Clock::time_point, 2> heard_at_{};
    udp::endpoint from_;
    std::array<std::uint8_t, 2048> received_{};
    SocketWait wait_;
    LatenessNotes notes_;
    std::vector<Datagram> outbox_;  ///< what is to be sent once what was seen is kept
    std::vector<std::uint8_t> outbox_bytes_;
    Instant looks_at_{};  ///< the timer is set to
    Clock::time_point tells_missing_{};
    bool contact_ = false, just_begun_ = false, over_ = false, stopped_ = false, unkept_ = false;
    bool tells_waiting_ = false;
};

PartRun::PartRun(asio::io_context& io, const Scenario& scenario, std::uint64_t seed, Part part,
                 const LiveOptions& options, PartJournal* journal, const EarlierStart* earlier)
    : scenario_(scenario),
      seed_(seed),
      part_(part),
      options_(options),
      journal_(journal),
      earlier_(earlier),
      socket_(io),
      timer_(io),
      base_(Clock::now()),
      notes_(scenario.duration, lateness_allowed(scenario)) {
    proto::require(earlier == nullptr || journal != nullptr, "who goes on with a run has what was kept of it");
}

std::optional<LiveError> PartRun::bind(const Address& address) {
    std::error_code failed;
    const auto host = asio::ip::make_address(address.host, failed);
    if (failed) return LiveError{address.host + ": is no address; write for example 127.0.0.1:4701"};
    const udp::endpoint at(host, address.port);
    socket_.open(at.protocol(), failed);
    if (!failed) socket_.bind(at, failed);
    if (failed == asio::error::address_in_use)
        return LiveError{address.written() + ": port in use; choose another, or port 0 for any free one"};
    if (failed) return LiveError{address.written() + ": " + failed.message() + "; choose an address of this computer"};
    return std::nullopt;
}

void PartRun::start() {
    EarlierStart again;
    if (earlier_ != nullptr) {
        again = *earlier_;
        contact_ = true;
        base_ = Clock::time_point(std::chrono::nanoseconds(earlier_->record.clock_ns));
        const Instant last = last_sign_of(again);
        again.record.absences.push_back({last, std::max(last, now()) + comes_up_after(again)});
        scenario_ = as_run(scenario_, part_, again.record.absences);
    }
    if (part_ == Part::channel)
        live_ = live_channel(
            scenario_, seed_,
            [this](End to, std::span<const std::uint8_t> bytes) { send(bytes, peers_[to == End::controller ? 0 : 1]); },
            earlier_ != nullptr ? &again.record : nullptr);
    else
        live_ = live_end(scenario_, seed_, *end_of(part_),
                         [this](End, std::span<const std::uint8_t> bytes) { send(bytes, peers_[0]); });
    heard_at_.fill(Clock::now());
    tells_missing_ = Clock::now() + missed_after;
    // whoever starts anew must not be taken for whoever was there before
    const auto tick = static_cast<std::uint64_t>(Clock::now().time_since_epoch().count());
    const std::uint64_t entropy = scramble(options_.entropy + static_cast<std::uint64_t>(part_)) ^ tick;
    if (earlier_ != nullptr) {
        heard_.fill(true);
        live_->take_up(again.record, entropy);
        record_.absences = {again.record.absences.back()};
        looks_at_ = now();
        settle();
    } else {
        live_->start(entropy, now());
    }
    listen();
    arm();
}

PartRecord PartRun::finish() {
    live_->finish(record_);
    return std::move(record_);
}

Instant PartRun::now() const {
    const auto since = std::chrono::duration_cast<std::chrono::nanoseconds>(Clock::now() - base_).count();
    return Instant{since} - (contact_ ? Duration{} : before_contact);
}

void PartRun::send(std::span<const std::uint8_t> bytes, const udp::endpoint& to) {
    outbox_.push_back({to, bytes.size()});
    outbox_bytes_.insert(outbox_bytes_.end(), bytes.begin(), bytes.end());
}

void PartRun::listen() {
    socket_.async_receive_from(asio::buffer(received_), from_, [this](std::error_code failed, std::size_t size) {
        if (failed == asio::error::operation_aborted) return;
        if (!failed) note_waiting();
        // the timer is set anew below: how late it is by now would be forgotten
        if (!failed && contact_ && now() > looks_at_) notes_.note_itself(now() - looks_at_, now(), record_.lateness_ns);
        if (!failed) hear({received_.data(), size});
        if (!over_) listen();
    });
}

void PartRun::hear(std::span<const std::uint8_t> bytes) {
    // a channel forwards between its two peers only; an end listens to its channel only
    const bool first = from_ == peers_[0], second = part_ == Part::channel && from_ == peers_[1];
    if (!first && !second) return;
    heard_[first ? 0 : 1] = true;
    heard_at_[first ? 0 : 1] = Clock::now();
    if (!contact_ && heard_[0] && (part_ != Part::channel || heard_[1])) begin();
    live_->arrive(first ? Direction::to_device : Direction::to_controller, bytes, now());
    arm();
}

void PartRun::begin() {
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
    notes_ = {scenario_.duration, lateness_allowed(scenario_)};
    looks_at_ = now();
    record_.clock_ns = std::chrono::duration_cast<std::chrono::nanoseconds>(base_.time_since_epoch()).count();
    if (journal_ != nullptr) unkept_ = !journal_->begin(record_) || unkept_;
}

void PartRun::arm() {
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

void PartRun::run() {
    if (contact_) notes_.note_itself(now() - looks_at_, now(), record_.lateness_ns);
    while (live_->next_event() <= now()) {
        const Duration late = live_->do_due(now());
        // as the run began the clock was set: nothing was late
        if (contact_ && !std::exchange(just_begun_, false)) notes_.note(late, now(), record_.lateness_ns);
    }
    settle();
    tell_who_is_missing();
    const bool whole = contact_ && now() >= Instant{} + scenario_.duration + goes_on_after(scenario_);
    stopped_ = !whole && options_.stop && options_.stop();
    if (whole || stopped_ || unkept_) return end();
    arm();
}

/// Whoever ends the part at any moment must not make it one that said what it never wrote down.
void PartRun::settle() {
    if (journal_ != nullptr && contact_) {
        live_->move_to(record_);
        // whatever is due by now and not done yet comes after the last sign of life
        const Instant alive = std::min(now(), live_->next_event());
        unkept_ = !journal_->keep(record_, alive, live_->shown().scans) || unkept_;
    }
    std::size_t from = 0;
    for (const Datagram& datagram : outbox_) {
        std::error_code ignored;  // a peer that is not there yet is no reason to stop
        if (!unkept_) socket_.send_to(asio::buffer(&outbox_bytes_[from], datagram.bytes), datagram.to, 0, ignored);
        from += datagram.bytes;
    }
    outbox_.clear();
    outbox_bytes_.clear();
}

void PartRun::end() {
    over_ = true;
    std::error_code ignored;
    socket_.close(ignored);
}

/// What was received last may have waited in the system while the part stood still: it was late by that.
void PartRun::note_waiting() {
    const std::optional<Duration> waited = wait_.of_last(socket_.native_handle());
    if (waited && contact_) notes_.note_itself(*waited, now(), record_.lateness_ns);
}

void PartRun::tell_who_is_missing() {
    const auto clock = Clock::now();
    if (!tells_waiting_ || !options_.tell || clock < tells_missing_) return;
    tells_missing_ = clock + missed_after;
    if (contact_ && now() >= Instant{} + scenario_.duration) return;
    std::vector<MissingPeer> missing;
    for (std::size_t p = 0; p < (part_ == Part::channel ? 2U : 1U); ++p) {
        if (heard_[p] && clock - heard_at_[p] < missed_after) continue;
        const Part peer = part_ != Part::channel ? Part::channel : p == 0 ? Part::controller : Part::device;
        const Address at{peers_[p].address().to_string(), peers_[p].port()};
        const auto silent = std::chrono::duration_cast<std::chrono::nanoseconds>(clock - heard_at_[p]).count();
        missing.push_back({peer, at.written(), heard_[p] ? std::optional(Duration{silent}) : std::nullopt});
    }
    if (missing.empty()) return;
    options_.tell(
        waiting_line(scenario_, part_, missing, live_->shown(), contact_ ? std::optional(now()) : std::nullopt));
}

std::optional<udp::endpoint> endpoint_of(const Address& address) {
    std::error_code failed;
    const auto host = asio::ip::make_address(address.host, failed);
    if (failed) return std::nullopt;
    return udp::endpoint(host, address.port);
}

}  // namespace

std::int64_t steady_clock_ns() {
    return std::chrono::duration_cast<std::chrono::nanoseconds>(std::chrono::steady_clock::now().time_since_epoch())
        .count();
}

Duration goes_on_after(const Scenario& s) {
    return std::max(s.controller.link.watchdog, s.device.link.watchdog) * 2 + proto::milliseconds(300);
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

proto::Result<PartRan, LiveError> run_part(const Scenario& scenario, std::uint64_t seed, const PartOptions& part,
                                           const LiveOptions& options) {
    if (options.real_time) ask_for_real_time(options.tell);
    asio::io_context io(1);
    PartRun run(io, scenario, seed, part.part, options, part.journal, part.earlier ? &*part.earlier : nullptr);
    if (const auto failed = run.bind(part.listen)) return *failed;
    const auto first = endpoint_of(part.peer), second = endpoint_of(part.second_peer);
    if (!first || !second) return LiveError{"a peer's address is none"};
    run.set_peers(*first, *second);
    if (options.tell)
        options.tell("listens on " + Address{run.endpoint().address().to_string(), run.endpoint().port()}.written());
    run.tell_waiting();
    run.start();
    io.run();
    if (run.unkept()) return LiveError{"what this part saw could not be kept any longer"};
    PartRan ran;
    ran.record = run.finish();
    ran.stopped = run.stopped();
    return ran;
}

}  // namespace sim
