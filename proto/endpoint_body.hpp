#pragma once
// The hot half of an endpoint: a scan in steps, and what is done for each process telegram. Written out in the unit
// of each driver that includes it; everybody else calls on_deadline() and poll_transmit().
#include <array>
#include <cstdint>
#include <cstring>
#include <span>

#include "proto/bytes.hpp"
#include "proto/endpoint_core.hpp"
#include "proto/telegram_body.hpp"

namespace proto {

// The steps are marked always_inline: each is called in one place, and for the compiler alone they would be too long to
// be written out there.

/// Payload bytes as they stand on the wire: with low_first each pair is exchanged (a last odd byte stays).
inline void copy_in_order(const std::uint8_t* from, std::uint8_t* to, unsigned bytes, ByteOrder order) {
    if (order == ByteOrder::high_first) {
        std::memcpy(to, from, bytes);
        return;
    }
    for (unsigned i = 0; i < bytes; ++i) to[i] = from[(i ^ 1U) < bytes ? i ^ 1U : i];
}

// ---- receiving ----

[[gnu::always_inline]] inline Order Endpoint::Core::order_of(std::uint32_t number) const {
    if (!numbers_judged_) return Order::fresh;
    if (!polled()) return order_in_stream(number, peer_number_, often_.missing_allowed, mask());
    if (controller())
        return order_at_polled_controller(number, own_number_, waiting_ ? proto::Waiting::yes : proto::Waiting::no,
                                          mask());
    const Order order = order_at_polled_device(number, peer_number_, mask());
    return order == Order::repeat && !accepted_any_ ? Order::wrong : order;
}

[[gnu::always_inline]] inline void Endpoint::Core::controller_fresh(const Header& header, Instant now) {
    waiting_ = false;
    peer_ready_ = (header.status & status_request) != 0;
    if (state_ == State::running && (header.status & (status_safe | status_restart)) == 0) return;  // as nearly always
    controller_changes(header, now);
}

[[gnu::always_inline]] inline void Endpoint::Core::device_fresh(const Header& header, Instant now) {
    fresh_due_ = true;
    if (polled() && answers_due_ < answers_most_) ++answers_due_;
    if (state_ == State::running && (header.status & status_safe) == 0) {  // as nearly always
        acknowledging_ = (header.status & status_acknowledge) != 0;
        return;
    }
    device_changes(header, now);
}

[[gnu::always_inline]] inline void Endpoint::Core::accept(const Codec::Decoded& telegram, Instant now) {
    watchdog_.arm(now);
    clean_.fresh();
    accepted_any_ = true;
    peer_number_ = telegram.header.number;
    if (ages_judged_) peer_stamp_ = telegram.header.stamp;
    const unsigned bytes = often_.payload_received;
    if (!often_.low_first) {
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
    const bool number_implied = often_.number_implied;
    Codec::Decoded telegram;
    if (number_implied)
        telegram = decode_implied(bytes);
    else
        in_codec_.decode_next(bytes, last_received_, telegram);
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
    if (__builtin_expect(ages_judged_, 0) && telegram.readable)
        verdict.failed.add(judge_age(telegram.header, order, now));
    if (__builtin_expect(!verdict.failed.empty(), 0)) {
        verdict.kind = Verdict::Kind::rejected;
        return;
    }
    verdict.sender_safe = (telegram.header.status & status_safe) != 0;
    counters_.number_received = telegram.header.number;
    if (order == Order::repeat) {
        verdict.kind = Verdict::Kind::repeat;
        if (polled() && !controller() && answers_due_ < answers_most_) ++answers_due_;
        return;
    }
    verdict.kind = Verdict::Kind::fresh;
    accept(telegram, now);
}

[[gnu::always_inline]] inline void Endpoint::Core::look_at(std::span<const std::uint8_t> bytes, Instant now,
                                                           Verdict& verdict) {
    ++counters_.received;
    std::optional<Verdict> of_parameters;
    if (__builtin_expect(bytes.size() == parameter_telegram_bytes, 0)) of_parameters = take_parameters(bytes, now);
    if (__builtin_expect(of_parameters.has_value(), 0))
        verdict = *of_parameters;
    else
        process(bytes, now, verdict);
    switch (verdict.kind) {
        case Verdict::Kind::fresh: ++counters_.accepted; break;
        case Verdict::Kind::repeat: ++counters_.repeats; break;
        case Verdict::Kind::ignored: ++counters_.ignored; break;
        case Verdict::Kind::handshake: break;
        case Verdict::Kind::rejected: ++counters_.rejected[static_cast<unsigned>(verdict.failed.first())]; break;
    }
}

[[gnu::always_inline]] inline void Endpoint::Core::follow(const Verdict& verdict, Instant now) {
    // a rejected telegram has not changed the state, so it is still the one in which it was looked at
    if (__builtin_expect(verdict.kind == Verdict::Kind::rejected, 0) && state_ != State::start_up)
        reject(verdict.failed, now);
}

[[gnu::always_inline]] inline void Endpoint::Core::open_scan(Instant now) {
    require(next_scan_ <= now, "a scan before its deadline");
    next_scan_ = next_scan_ + often_.scan;
    if (__builtin_expect(next_scan_ <= now, 0)) {
        // scans that were missed are gone: a task that woke late does not run them in a burst
        const std::int64_t missed = (now - next_scan_).ns / often_.scan.ns + 1;
        next_scan_ = next_scan_ + often_.scan * missed;
    }
    if (__builtin_expect(watchdog_.expired(now), 0)) expire(now);  // before any telegram is looked at
}

// ---- sending ----

[[gnu::always_inline]] inline Transmission Endpoint::Core::send_fresh(Instant now,
                                                                      std::span<std::uint8_t, telegram_bytes_max> out) {
    Header header;
    const bool device_polled = polled() && !controller();
    header.number = device_polled ? peer_number_ : own_number_;
    header.feedback = peer_number_;
    if (in_safe_state()) header.status |= status_safe;
    if (!controller() && state_ == State::awaiting_acknowledgement) header.status |= status_request;
    if (acknowledging_) header.status |= status_acknowledge;
    if (!controller() && needs_restart_) header.status |= status_restart;
    if (often_.stamps) {
        header.stamp = stamp(now);
        header.echo = peer_stamp_;
    }
    static constexpr std::array<std::uint8_t, payload_bytes_max> substitute{};
    const std::uint8_t* payload = substitute.data();
    if (state_ == State::running) {
        payload = output_.data();
        if (often_.low_first) {
            copy_in_order(output_.data(), ordered_.data(), often_.payload_sent, settings_.byte_order);
            payload = ordered_.data();
        }
    }
    // the payload is frozen with its number, so the bytes are kept for repeats
    out_codec_.encode_next(header, {payload, often_.payload_sent}, last_sent_);
    const unsigned bytes = out_codec_.layout().total_bytes;
    copy_short(out.data(), last_sent_.bytes.data(), bytes);
    fresh_due_ = false;
    counters_.number_sent = header.number;
    ++counters_.sent;
    return {Transmission::Kind::fresh, bytes};
}

[[gnu::always_inline]] inline Transmission Endpoint::Core::send_again(std::span<std::uint8_t, telegram_bytes_max> out) {
    const unsigned bytes = out_codec_.layout().total_bytes;
    copy_short(out.data(), last_sent_.bytes.data(), bytes);
    ++counters_.sent;
    return {Transmission::Kind::again, bytes};
}

[[gnu::always_inline]] inline Endpoint::Core::Due Endpoint::Core::controller_due() {
    send_due_ = false;
    if (__builtin_expect(phase_ != Phase::exchanging, 0)) return Due::handshake;
    if (polled() && waiting_) return Due::again;
    own_number_ = (own_number_ + 1) & mask();
    waiting_ = polled();
    return Due::fresh;
}

[[gnu::always_inline]] inline Endpoint::Core::Due Endpoint::Core::device_due() {
    if (__builtin_expect(reply_.has_value(), 0)) return Due::handshake;
    if (__builtin_expect(phase_ != Phase::exchanging, 0)) {
        send_due_ = false;
        return Due::nothing;
    }
    if (!polled()) {
        send_due_ = false;
        own_number_ = (own_number_ + 1) & mask();
        return Due::fresh;
    }
    if (answers_due_ == 0) {  // only when asked
        send_due_ = false;
        return Due::nothing;
    }
    send_due_ = --answers_due_ != 0;
    return fresh_due_ ? Due::fresh : Due::again;
}

[[gnu::always_inline]] inline Transmission Endpoint::Core::transmit(Instant now,
                                                                    std::span<std::uint8_t, telegram_bytes_max> out) {
    if (!send_due_) return {};
    const Due due = controller() ? controller_due() : device_due();
    if (__builtin_expect(due == Due::fresh, 1)) return send_fresh(now, out);
    if (due == Due::again) return send_again(out);
    if (due == Due::nothing) return {};
    return controller() ? controller_handshake(now, out) : device_handshake(out);
}

// ---- the handle ----

/// One scan of an endpoint, step by step: opened when it is made, closed by close(). The endpoint must outlive it.
class Endpoint::Scan {
  public:
    /// Begins a scan: sets the next one (scans that were missed are gone), then looks at the watchdog. Requires
    /// next_deadline() <= now.
    [[gnu::always_inline]] Scan(Endpoint& end, Instant now) : core_(*end.core_), now_(now) { core_.open_scan(now); }

    /// Telegrams in the queue, at most queue_length.
    [[nodiscard]] unsigned waiting() const { return core_.queued_; }
    /// Looks at one telegram of any bytes at all, oldest first. `verdict` comes as Verdict{} and is filled in
    /// place. The sink hears of changes and refusals, not of the conclusion.
    [[gnu::always_inline]] void look_at(std::span<const std::uint8_t> bytes, Verdict& verdict) {
        core_.look_at(bytes, now_, verdict);
    }
    /// What a rejection leads to. Due after each look_at(), once its conclusion was told, so that a listener hears the
    /// reason first.
    [[gnu::always_inline]] void follow(const Verdict& verdict) { core_.follow(verdict, now_); }
    /// look_at(), told(Token, const Verdict&) and follow() for every queued telegram, oldest first; empties the queue.
    template <class Told>
    void look_at_queued(Told told) {
        for (unsigned i = 0; i < core_.queued_; ++i) {  // all of them, oldest first
            const Core::Waiting& telegram = core_.queue_[i];
            Verdict verdict;
            core_.look_at({telegram.bytes.data(), telegram.size}, now_, verdict);
            told(telegram.token, verdict);
            core_.follow(verdict, now_);
        }
        core_.queued_ = 0;
    }
    /// Counts a telegram as lost for want of room in the queue: of a driver that keeps what waits by itself.
    void refuse() { ++core_.counters_.queue_full; }
    /// Ends the scan: poll_transmit() has something to say from here on.
    [[gnu::always_inline]] void close() { core_.send_due_ = true; }

  private:
    Core& core_;
    Instant now_;
};

[[gnu::always_inline]] inline Transmission Endpoint::poll_transmit_inline(
    Instant now, std::span<std::uint8_t, telegram_bytes_max> out) {
    return core_->transmit(now, out);
}

}  // namespace proto
