// The controller's half of an endpoint: it offers the parameters, paces the exchange and takes the acknowledgement.
#include "proto/endpoint_core.hpp"

namespace proto {

Verdict Endpoint::Core::controller_parameters(const ParameterTelegram& telegram, Instant now) {
    Verdict verdict;
    verdict.kind = Verdict::Kind::handshake;
    if (telegram.step == ParameterTelegram::Step::offer || telegram.step == ParameterTelegram::Step::confirm) {
        verdict.kind = Verdict::Kind::rejected;  // our own, or another controller's: R-46
        verdict.failed.add(Measure::authentication);
        return verdict;
    }
    if (telegram.controller_number != own_handshake_) {  // an answer to somebody else's or an earlier offer
        verdict.kind = Verdict::Kind::rejected;
        verdict.failed.add(Measure::feedback);
        return verdict;
    }
    if (phase_ == Phase::exchanging) return verdict;  // a late copy of this connection's own handshake
    if (telegram.step == ParameterTelegram::Step::answer && phase_ == Phase::seeking) {
        Refusal refusal = telegram.refusal;
        if (refusal == Refusal::none) refusal = first_difference(own_.parameters(), telegram.parameters);
        if (refusal != Refusal::none) {
            if (refusal_ != refusal) sink_.refused(refusal, telegram.parameters, now);
            refusal_ = refusal;
            return verdict;
        }
        refusal_ = Refusal::none;
        peer_handshake_ = telegram.device_number;
        phase_ = Phase::confirming;
        watchdog_.arm(now);  // bounds the wait for "ready"
        return verdict;
    }
    if (telegram.step == ParameterTelegram::Step::ready && phase_ == Phase::confirming &&
        telegram.device_number == peer_handshake_) {
        if (!set_clock(telegram.stamp, now)) {
            begin_again(now);
            return verdict;
        }
        phase_ = Phase::exchanging;
        watchdog_.arm(now);  // at the handshake, not at the first process telegram
        peer_number_ = (telegram.start_number - 1) & mask();
        peer_stamp_ = telegram.stamp;
        own_number_ = (start_number_ - 1) & mask();
        waiting_ = false;
        ++connections_;
    }
    return verdict;
}

void Endpoint::Core::controller_changes(const Header& header, Instant now) {
    // a device that has lost its place has stopped, even if a fault in it took the other bit away
    const bool peer_safe = (header.status & (status_safe | status_restart)) != 0;
    switch (state_) {
        case State::start_up:
        case State::running:
            if (peer_safe) {
                clean_.reset();
                enter(State::safe_state, Cause::told_by_peer, std::nullopt, now);
            } else if (state_ == State::start_up) {
                enter(State::running, Cause::first_value, std::nullopt, now);
            }
            break;
        case State::safe_state:
            if (clean_.enough() && peer_ready_)
                enter(State::awaiting_acknowledgement, Cause::error_free_again, std::nullopt, now);
            break;
        case State::awaiting_acknowledgement:
            if (!peer_safe && (header.status & status_acknowledge) != 0 && acknowledging_) {
                acknowledging_ = false;
                enter(State::running, Cause::acknowledged, std::nullopt, now);
            } else if (!peer_ready_) {
                acknowledging_ = false;
                enter(State::safe_state, Cause::errors_again, std::nullopt, now);
            }
            break;
    }
    if ((header.status & status_restart) != 0) forget_connection();  // only a new handshake helps
}

// after its own stop the controller goes back to the parameter telegram.
void Endpoint::Core::controller_lost() { forget_connection(); }

Transmission Endpoint::Core::controller_handshake(Instant now, std::span<std::uint8_t, telegram_bytes_max> out) {
    ParameterTelegram telegram;
    telegram.step = phase_ == Phase::seeking ? ParameterTelegram::Step::offer : ParameterTelegram::Step::confirm;
    telegram.controller_number = own_handshake_;
    telegram.device_number = peer_handshake_;
    telegram.start_number = start_number_;
    telegram.parameters = own_.parameters();
    if (settings_.profile.time_stamp_bits != 0) telegram.stamp = stamp(now);
    if (phase_ == Phase::confirming && asked_at_ == never) asked_at_ = now;  // "ready" answers it
    return send_parameters(telegram, out);
}

}  // namespace proto
