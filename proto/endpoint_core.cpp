#include "proto/endpoint_core.hpp"

#include <algorithm>

#include "proto/bytes.hpp"

namespace proto {
namespace {

/// Spreads a start's entropy over the numbers drawn from it (the finaliser of SplitMix64).
std::uint64_t spread(std::uint64_t z) {
    z += 0x9E3779B97F4A7C15ULL;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
}

/// Payload bytes as they stand on the wire: with low_first each pair is exchanged (a last odd byte stays).
void copy_in_order(const std::uint8_t* from, std::uint8_t* to, unsigned bytes, ByteOrder order) {
    if (order == ByteOrder::high_first) {
        std::memcpy(to, from, bytes);
        return;
    }
    for (unsigned i = 0; i < bytes; ++i) to[i] = from[(i ^ 1U) < bytes ? i ^ 1U : i];
}

Codec codec_of(const LinkSettings& s, const std::optional<CrcEngine>& crc, End sender) {
    const bool own = sender == s.end;
    return Codec(s.profile, crc ? &*crc : nullptr, sender, own ? s.own_address : s.peer_address,
                 own ? s.peer_address : s.own_address, own ? s.payload_sent : s.payload_received);
}

}  // namespace

Endpoint::Core::Core(const LinkSettings& settings, std::optional<CrcEngine> crc, EventSink& sink)
    : settings_(settings),
      parameters_(parameters_of(settings)),
      crc_(std::move(crc)),
      sink_(sink),
      out_codec_(codec_of(settings_, crc_, settings.end)),
      in_codec_(codec_of(settings_, crc_, other(settings.end))),
      numbers_judged_(settings.profile.sequence.bits != 0 && settings.number_use == NumberUse::judged),
      watchdog_(settings.watchdog),
      errors_(settings.reaction, settings.error_interval) {}

void Endpoint::Core::start(Instant now, Duration phase, std::uint64_t entropy) {
    watchdog_ = Watchdog(settings_.watchdog);
    errors_ = ErrorInterval(settings_.reaction, settings_.error_interval);
    clean_.reset();
    contact_ = {};
    counters_ = {};
    entropy_ = entropy;
    draws_ = 0;
    connections_ = 0;
    refusal_ = Refusal::none;
    queued_ = 0;
    output_.fill(0);
    input_.fill(0);
    ++input_revision_;
    forget_connection();
    next_scan_ = now + phase;
    const State from = state_;
    state_ = State::start_up;
    sink_.changed({from, State::start_up, Cause::power_up, std::nullopt}, now);
}

std::uint64_t Endpoint::Core::draw() { return spread(entropy_ + spread(draws_++)); }

void Endpoint::Core::forget_connection() {
    phase_ = Phase::seeking;
    watchdog_.disarm();
    clean_.reset();
    own_handshake_ = draw();
    start_number_ = static_cast<std::uint32_t>(draw()) & mask();
    peer_handshake_ = 0;
    accepted_any_ = false;
    waiting_ = false;
    acknowledging_ = false;
    needs_restart_ = false;
    peer_ready_ = false;
    asked_at_ = never;
    fresh_due_ = false;
    answers_due_ = 0;
    reply_.reset();
}

void Endpoint::Core::receive(std::span<const std::uint8_t> bytes, Token token) {
    if (queued_ == queue_length) {
        ++counters_.queue_full;
        return;
    }
    Waiting& place = queue_[queued_++];
    const std::size_t kept = std::min<std::size_t>(bytes.size(), telegram_bytes_max + 1);
    place.token = token;
    place.size = static_cast<std::uint16_t>(kept);
    copy_short(place.bytes.data(), bytes.data(), kept);
}

void Endpoint::receive(std::span<const std::uint8_t> bytes, Token token) { core_->receive(bytes, token); }

// Out of the way of process telegrams, which need no room for a parameter telegram on the stack.
[[gnu::noinline]] bool Endpoint::Core::take_parameters(std::span<const std::uint8_t> bytes, Instant now,
                                                       Verdict& verdict) {
    const auto parameters = decode_parameters(bytes);
    if (!parameters) return false;
    verdict = controller() ? controller_parameters(*parameters, now) : device_parameters(*parameters, now);
    return true;
}

std::span<const std::uint32_t> Endpoint::Core::allowed_numbers(Tries& room) const {
    // a number that is not in the bytes is only looked for among those that are allowed now
    room.count = 0;
    const auto add = [&](std::uint32_t number) { room.numbers[room.count++] = number & mask(); };
    if (!polled()) {
        for (unsigned i = 1; i <= settings_.missing_allowed + 1 && room.count < room.numbers.size(); ++i)
            add(peer_number_ + i);
    } else if (controller()) {
        add(own_number_);
        add(own_number_ - 1);
    } else {
        add(peer_number_ + 1);
        add(peer_number_);
    }
    return {room.numbers.data(), room.count};
}

Codec::Decoded Endpoint::Core::decode_implied(std::span<const std::uint8_t> bytes) const {
    Tries room;
    return in_codec_.decode(bytes, allowed_numbers(room));
}

std::uint32_t Endpoint::Core::stamp(Instant now) const {
    return static_cast<std::uint32_t>(now.ns / settings_.profile.time_stamp_unit.ns) &
           low_mask(settings_.profile.time_stamp_bits);
}

bool Endpoint::Core::too_old(const Header& header, Instant now) const {
    if (settings_.profile.time_stamp_kind == StampKind::clock) return age_wrong(header, now);
    // our own stamp came back; the way there, the wait and the way back took this long
    const std::uint32_t age = (stamp(now) - header.echo) & low_mask(settings_.profile.time_stamp_bits);
    return age > static_cast<std::uint32_t>(settings_.max_age.ns / settings_.profile.time_stamp_unit.ns);
}

bool Endpoint::Core::set_clock(std::uint32_t peer_stamp, Instant now) {
    if (!by_sender_clock()) return true;
    // the peer read its clock somewhere between our question and its answer's arrival. A question that was said
    // several times counts from the first, since nobody knows which of them was answered.
    if (asked_at_ == never) return false;
    const Duration round_trip = now - asked_at_;
    if (round_trip > settings_.max_age) return false;
    clock_lead_ = peer_stamp - stamp(asked_at_);
    round_trip_units_ = round_trip.ns / settings_.profile.time_stamp_unit.ns;
    return true;
}

bool Endpoint::Core::age_wrong(const Header& header, Instant now) const {
    // with the peer's clock read at the begin of the round trip the age is the highest that it can be; with the
    // middle of the round trip it is half a round trip less, give or take that half
    const std::uint32_t range = low_mask(settings_.profile.time_stamp_bits);
    const std::uint32_t modular = (stamp(now) - header.stamp + clock_lead_) & range;
    const std::int64_t highest = modular > range / 2 ? std::int64_t{modular} - range - 1 : std::int64_t{modular};
    const std::int64_t unit = settings_.profile.time_stamp_unit.ns;
    const bool too_late = highest > settings_.max_age.ns / unit;
    const bool too_early = 2 * highest - round_trip_units_ < -2 * (settings_.max_early.ns / unit);
    return too_late || too_early;
}

// The steps of a scan are marked always_inline: each is called in one place, and for the compiler alone they would be
// too long to be written out there.

[[gnu::always_inline]] inline Order Endpoint::Core::order_of(std::uint32_t number) const {
    if (!numbers_judged_) return Order::fresh;
    if (!polled()) return order_in_stream(number, peer_number_, settings_.missing_allowed, mask());
    if (controller())
        return order_at_polled_controller(number, own_number_, waiting_ ? proto::Waiting::yes : proto::Waiting::no,
                                          mask());
    const Order order = order_at_polled_device(number, peer_number_, mask());
    return order == Order::repeat && !accepted_any_ ? Order::wrong : order;
}

[[gnu::always_inline]] inline void Endpoint::Core::accept(const Codec::Decoded& telegram, Instant now) {
    watchdog_.arm(now);
    clean_.fresh();
    accepted_any_ = true;
    peer_number_ = telegram.header.number;
    peer_stamp_ = telegram.header.stamp;
    const unsigned bytes = settings_.payload_received;
    if (settings_.byte_order == ByteOrder::high_first) {
        if (!same_short(input_.data(), telegram.payload, bytes)) {
            std::memcpy(input_.data(), telegram.payload, bytes);
            ++input_revision_;
        }
    } else {
        copy_in_order(telegram.payload, input_.data(), bytes, settings_.byte_order);
        ++input_revision_;
    }
    if (controller())
        controller_fresh(telegram.header, now);
    else
        device_fresh(telegram.header, now);
}

[[gnu::always_inline]] inline void Endpoint::Core::process(std::span<const std::uint8_t> bytes, Instant now,
                                                           Verdict& verdict) {
    if (phase_ != Phase::exchanging || needs_restart_) {
        verdict.kind = Verdict::Kind::ignored;
        return;
    }
    const bool number_implied = settings_.profile.sequence.presence == Presence::implied;
    const Codec::Decoded telegram = number_implied ? decode_implied(bytes) : in_codec_.decode(bytes);
    verdict.number = telegram.header.number;
    verdict.failed = telegram.failed;
    Order order = Order::wrong;
    // the later checks are made even if an earlier one failed, to say what else would have
    if (telegram.readable && (!number_implied || telegram.failed.empty())) {
        order = order_of(telegram.header.number);
        if (order == Order::wrong) {
            if (polled() && controller())
                verdict.failed.add_wrong_answer();
            else
                verdict.failed.add(Measure::sequence);
        }
    }
    if (telegram.readable && settings_.max_lag &&
        ((own_number_ - telegram.header.feedback) & mask()) > *settings_.max_lag)
        verdict.failed.add(Measure::feedback);
    if (telegram.readable && settings_.profile.time_stamp_bits != 0 && order != Order::repeat &&
        too_old(telegram.header, now))
        verdict.failed.add(Measure::time_stamp);
    if (__builtin_expect(!verdict.failed.empty(), 0)) {
        verdict.kind = Verdict::Kind::rejected;
        return;
    }
    verdict.sender_safe = (telegram.header.status & status_safe) != 0;
    counters_.number_received = telegram.header.number;
    if (order == Order::repeat) {
        verdict.kind = Verdict::Kind::repeat;
        if (polled() && !controller() && answers_due_ < queue_length) ++answers_due_;
        return;
    }
    verdict.kind = Verdict::Kind::fresh;
    accept(telegram, now);
}

[[gnu::always_inline]] inline void Endpoint::Core::look_at(const Waiting& telegram, Instant now) {
    ++counters_.received;
    const std::span<const std::uint8_t> bytes(telegram.bytes.data(), telegram.size);
    Verdict verdict;
    const State before = state_;
    const bool by_size = __builtin_expect(telegram.size == parameter_telegram_bytes, 0);
    if (!by_size || !take_parameters(bytes, now, verdict)) process(bytes, now, verdict);
    switch (verdict.kind) {
        case Verdict::Kind::fresh: ++counters_.accepted; break;
        case Verdict::Kind::repeat: ++counters_.repeats; break;
        case Verdict::Kind::ignored: ++counters_.ignored; break;
        case Verdict::Kind::handshake: break;
        case Verdict::Kind::rejected: ++counters_.rejected[static_cast<unsigned>(verdict.failed.first())]; break;
    }
    sink_.concluded(telegram.token, verdict, now);
    // what a rejection leads to comes after what was concluded, so that a listener hears the reason first
    if (verdict.kind == Verdict::Kind::rejected && before != State::start_up) reject(verdict.failed, now);
}

void Endpoint::Core::scan(Instant now) {
    require(next_scan_ <= now, "on_deadline() before the deadline");
    next_scan_ = next_scan_ + settings_.scan;
    if (__builtin_expect(next_scan_ <= now, 0)) {
        // scans that were missed are gone: a task that woke late does not run them in a burst
        const std::int64_t missed = (now - next_scan_).ns / settings_.scan.ns + 1;
        next_scan_ = next_scan_ + settings_.scan * missed;
    }
    if (watchdog_.expired(now)) expire(now);                         // before any telegram is looked at
    for (unsigned i = 0; i < queued_; ++i) look_at(queue_[i], now);  // all of them, oldest first
    queued_ = 0;
    send_due_ = true;
}

void Endpoint::on_deadline(Instant now) { core_->scan(now); }

void Endpoint::Core::enter(State to, Cause cause, std::optional<Measure> measure, Instant now) {
    const State from = state_;
    if (from == to) return;
    state_ = to;
    ++input_revision_;
    sink_.changed({from, to, cause, measure}, now);
}

void Endpoint::Core::reject(MeasureSet failed, Instant now) {
    clean_.reset();                             // two fresh exchanges with none rejected between
    const bool must_stop = errors_.count(now);
    if (state_ == State::running && must_stop) trip(Cause::rejected_telegram, failed.first(), now);
    if (state_ == State::awaiting_acknowledgement) {
        acknowledging_ = false;
        enter(State::safe_state, Cause::errors_again, failed.first(), now);
    }
}

void Endpoint::Core::expire(Instant now) {
    if (state_ == State::start_up) {  // nothing was in use yet: begin again, nobody has to acknowledge
        forget_connection();
        sink_.changed({State::start_up, State::start_up, Cause::start_failed, Measure::time_expectation}, now);
        return;
    }
    trip(Cause::time_expectation, Measure::time_expectation, now);
}

void Endpoint::Core::begin_again(Instant now) {
    forget_connection();
    if (state_ == State::start_up)
        sink_.changed({State::start_up, State::start_up, Cause::start_failed, Measure::time_stamp}, now);
}

void Endpoint::Core::trip(Cause cause, Measure measure, Instant now) {
    clean_.reset();
    acknowledging_ = false;
    const State from = state_;
    if (controller())
        controller_lost();
    else
        device_lost(cause, measure);
    enter(State::safe_state, from == State::awaiting_acknowledgement ? Cause::errors_again : cause, measure, now);
}

void Endpoint::Core::set_acknowledge(Contact level, Instant now) {
    if (contact_.set(level == Contact::closed) != AcknowledgeContact::Edge::rising) return;
    const bool counts = controller() && state_ == State::awaiting_acknowledgement;
    if (counts) acknowledging_ = true;                                              // held until confirmed
    sink_.acknowledged(counts, now);
}

Transmission Endpoint::Core::transmit(Instant now, std::span<std::uint8_t, telegram_bytes_max> out) {
    return controller() ? controller_transmit(now, out) : device_transmit(now, out);
}

Transmission Endpoint::transmit(Instant now, std::span<std::uint8_t, telegram_bytes_max> out) {
    return core_->transmit(now, out);
}

Transmission Endpoint::Core::send_parameters(const ParameterTelegram& telegram,
                                             std::span<std::uint8_t, telegram_bytes_max> out) {
    encode(telegram, out.first<parameter_telegram_bytes>());
    ++counters_.sent;
    return {Transmission::Kind::parameter, parameter_telegram_bytes};
}

Transmission Endpoint::Core::send_fresh(Instant now, std::span<std::uint8_t, telegram_bytes_max> out) {
    Header header;
    const bool device_polled = polled() && !controller();
    header.number = device_polled ? peer_number_ : own_number_;
    header.feedback = peer_number_;
    if (in_safe_state()) header.status |= status_safe;
    if (!controller() && state_ == State::awaiting_acknowledgement) header.status |= status_request;
    if (acknowledging_) header.status |= status_acknowledge;
    if (!controller() && needs_restart_) header.status |= status_restart;
    if (settings_.profile.time_stamp_bits != 0) {
        header.stamp = stamp(now);
        header.echo = peer_stamp_;
    }
    static constexpr std::array<std::uint8_t, payload_bytes_max> substitute{};
    const std::uint8_t* payload = substitute.data();
    if (state_ == State::running) {
        payload = output_.data();
        if (settings_.byte_order == ByteOrder::low_first) {
            copy_in_order(output_.data(), ordered_.data(), settings_.payload_sent, settings_.byte_order);
            payload = ordered_.data();
        }
    }
    // the payload is frozen with its number, so the bytes are kept for repeats
    out_codec_.encode(header, {payload, settings_.payload_sent}, out, polled() ? last_.data() : nullptr);
    last_size_ = out_codec_.layout().total_bytes;
    fresh_due_ = false;
    counters_.number_sent = header.number;
    ++counters_.sent;
    return {Transmission::Kind::fresh, last_size_};
}

Transmission Endpoint::Core::send_again(std::span<std::uint8_t, telegram_bytes_max> out) {
    std::memcpy(out.data(), last_.data(), last_size_);
    ++counters_.sent;
    return {Transmission::Kind::again, last_size_};
}

}  // namespace proto
