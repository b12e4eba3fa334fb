#include "proto/endpoint_core.hpp"

#include <algorithm>

#include "proto/endpoint_body.hpp"

namespace proto {
namespace {

/// Spreads a start's entropy over the numbers drawn from it (the finaliser of SplitMix64).
std::uint64_t spread(std::uint64_t z) {
    z += 0x9E3779B97F4A7C15ULL;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31);
}

Codec codec_of(const LinkSettings& s, const std::optional<CrcEngine>& crc, End sender) {
    const bool own = sender == s.end;
    return {s.profile,
            crc ? &*crc : nullptr,
            sender,
            own ? s.own_address : s.peer_address,
            own ? s.peer_address : s.own_address,
            own ? s.payload_sent : s.payload_received};
}

}  // namespace

Endpoint::Core::Often::Often(const LinkSettings& settings)
    : scan(settings.scan),
      payload_sent(settings.payload_sent),
      payload_received(settings.payload_received),
      missing_allowed(settings.missing_allowed),
      controller(settings.end == End::controller),
      polled(settings.exchange == Exchange::polled),
      low_first(settings.byte_order == ByteOrder::low_first),
      number_implied(settings.profile.sequence.presence == Presence::implied),
      stamps(settings.profile.time_stamp_bits != 0) {}

Endpoint::Core::Core(const LinkSettings& settings, std::optional<CrcEngine> crc, EventSink& sink)
    : numbers_judged_(settings.profile.sequence.bits != 0 && settings.number_use == NumberUse::judged),
      ages_judged_(settings.profile.time_stamp_bits != 0 || settings.max_lag.has_value()),
      answers_most_(settings.answers == Answers::each ? queue_length : 1),
      watchdog_(settings.watchdog),
      often_(settings),
      sink_(sink),
      crc_(std::move(crc)),
      out_codec_(codec_of(settings, crc_, settings.end)),
      in_codec_(codec_of(settings, crc_, other(settings.end))),
      settings_(settings),
      own_(parameters_of(settings)),
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
[[gnu::noinline]] std::optional<Verdict> Endpoint::Core::take_parameters(std::span<const std::uint8_t> bytes,
                                                                         Instant now) {
    const auto parameters = decode_parameters(bytes, own_);  // nearly always the peer's are the same
    if (!parameters) return std::nullopt;
    return controller() ? controller_parameters(*parameters, now) : device_parameters(*parameters, now);
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
    Tries room;  // NOLINT(cppcoreguidelines-pro-type-member-init): filled before it is read, often
    return in_codec_.decode(bytes, allowed_numbers(room));
}

MeasureSet Endpoint::Core::judge_age(const Header& header, Order order, Instant now) const {
    MeasureSet failed;
    if (settings_.max_lag && ((own_number_ - header.feedback) & mask()) > *settings_.max_lag)
        failed.add(Measure::feedback);
    if (settings_.profile.time_stamp_bits != 0 && order != Order::repeat && too_old(header, now))
        failed.add(Measure::time_stamp);
    return failed;
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

void Endpoint::on_deadline(Instant now) {
    Scan scan(*this, now);
    scan.look_at_queued([&](Token token, const Verdict& verdict) { core_->sink_.concluded(token, verdict, now); });
    scan.close();
}

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

Transmission Endpoint::transmit(Instant now, std::span<std::uint8_t, telegram_bytes_max> out) {
    return core_->transmit(now, out);
}

Transmission Endpoint::Core::send_parameters(const ParameterTelegram& telegram,
                                             std::span<std::uint8_t, telegram_bytes_max> out) {
    encode(telegram, own_, out.first<parameter_telegram_bytes>());
    ++counters_.sent;
    return {Transmission::Kind::parameter, parameter_telegram_bytes};
}

}  // namespace proto
