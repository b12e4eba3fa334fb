// The device's half of an endpoint: it compares the parameters, answers, and never starts anything by itself.
#include "proto/endpoint_core.hpp"

namespace proto {

Verdict Endpoint::Core::device_parameters(const ParameterTelegram& telegram, Instant now) {
    Verdict verdict;
    verdict.kind = Verdict::Kind::handshake;
    const auto rejected = [&verdict](Measure measure) {
        verdict.kind = Verdict::Kind::rejected;
        verdict.failed.add(measure);
        return verdict;
    };
    if (telegram.step == ParameterTelegram::Step::answer || telegram.step == ParameterTelegram::Step::ready)
        return rejected(Measure::authentication);  // another device's, or our own come back: R-46

    const bool known = telegram.controller_number == peer_handshake_ && peer_handshake_ != 0;
    ParameterTelegram answer;
    answer.controller_number = telegram.controller_number;
    answer.parameters = own_.parameters();
    if (settings_.profile.time_stamp_bits != 0) answer.stamp = stamp(now);

    if (telegram.step == ParameterTelegram::Step::confirm) {
        if (!known || telegram.device_number != own_handshake_) return rejected(Measure::feedback);
        if (refusal_ != Refusal::none || first_difference(own_.parameters(), telegram.parameters) != Refusal::none)
            return rejected(Measure::authentication);  // nothing confirms what was refused
        device_confirmed(telegram, answer, now);
        return verdict;
    }

    const Refusal difference = first_difference(own_.parameters(), telegram.parameters);
    if (difference != Refusal::none && state_ != State::start_up) {
        const bool other_link = telegram.parameters.controller_address != own_.parameters().controller_address ||
                                telegram.parameters.device_address != own_.parameters().device_address;
        if (other_link) return rejected(Measure::authentication);
    }
    if (known && phase_ == Phase::exchanging) return verdict;  // a late copy of this connection's own offer
    if (!known) {
        // a new offer means that the controller restarted, however fast that was
        const bool was_running = state_ == State::running || state_ == State::awaiting_acknowledgement;
        forget_connection();
        peer_handshake_ = telegram.controller_number;
        if (was_running) enter(State::safe_state, Cause::peer_restarted, std::nullopt, now);
    }
    if (difference != Refusal::none && refusal_ != difference) sink_.refused(difference, telegram.parameters, now);
    refusal_ = difference;
    answer.step = ParameterTelegram::Step::answer;
    answer.refusal = difference;
    answer.device_number = own_handshake_;
    answer.start_number = start_number_;
    if (asked_at_ == never) asked_at_ = now;  // the confirmation answers it
    reply_ = answer;
    return verdict;
}

void Endpoint::Core::device_confirmed(const ParameterTelegram& telegram, ParameterTelegram answer, Instant now) {
    if (phase_ == Phase::seeking) {
        if (!set_clock(telegram.stamp, now)) {
            begin_again(now);
            return;
        }
        phase_ = Phase::exchanging;
        watchdog_.arm(now);
        peer_number_ = (telegram.start_number - 1) & mask();
        own_number_ = (start_number_ - 1) & mask();
        needs_restart_ = false;
        ++connections_;
    }
    if (!accepted_any_) peer_stamp_ = telegram.stamp;  // also of a repeated one: the clock has moved on
    answer.step = ParameterTelegram::Step::ready;
    answer.device_number = own_handshake_;
    // in a stream the numbers have moved on when "ready" was lost and is said again
    answer.start_number = polled() ? start_number_ : (own_number_ + 1) & mask();
    reply_ = answer;
}

void Endpoint::Core::device_changes(const Header& header, Instant now) {
    const bool acknowledged = (header.status & status_acknowledge) != 0;
    const bool peer_safe = (header.status & status_safe) != 0 && !acknowledged;
    switch (state_) {
        case State::start_up:
        case State::running:
            acknowledging_ = acknowledged && state_ == State::running;
            if (peer_safe) {
                clean_.reset();
                enter(State::safe_state, Cause::told_by_peer, std::nullopt, now);
            } else if (state_ == State::start_up) {
                enter(State::running, Cause::first_value, std::nullopt, now);
            }
            break;
        case State::safe_state:
            acknowledging_ = false;
            // R-62; R-61: an acknowledgement still held from an earlier request does not answer this one
            if (clean_.enough() && !acknowledged)
                enter(State::awaiting_acknowledgement, Cause::error_free_again, std::nullopt, now);
            break;
        case State::awaiting_acknowledgement:
            if (acknowledged) {
                acknowledging_ = true;
                enter(State::running, Cause::acknowledged, std::nullopt, now);
            }
            break;
    }
}

void Endpoint::Core::device_lost(Cause cause, Measure measure) {
    // in a stream the place is lost, and a stop for age leads through start-up; a polled device goes on
    // answering, so that the controller learns of the stop
    if (!polled() || measure == Measure::time_stamp) needs_restart_ = true;
    if (cause == Cause::time_expectation) watchdog_.disarm();
}

Transmission Endpoint::Core::device_handshake(std::span<std::uint8_t, telegram_bytes_max> out) {
    const ParameterTelegram telegram = *reply_;
    reply_.reset();
    return send_parameters(telegram, out);
}

}  // namespace proto
