#include "tests/support/model_endpoint.hpp"

namespace tests::model {

using proto::Cause;
using proto::Measure;
using proto::Reaction;
using proto::State;
using Step = proto::ParameterTelegram::Step;
using Kind = proto::Verdict::Kind;

void Endpoint::start() {
    *this = Endpoint(settings_);
    draw_due_ = controller();
}

void Endpoint::drew(const Draw& draw) {
    mine_ = draw;
    draw_due_ = false;
}

void Endpoint::go(State to, Cause cause) {
    if (to == state_) return;
    changes.push_back({state_, to, cause});
    state_ = to;
}

void Endpoint::leave_connection() {
    phase_ = Phase::apart;
    alive_.reset();
    sent_.reset();
    theirs_.reset();
    answers_ = 0;
    answer_fresh_ = answer_parameters_ = false;
    open_ = heard_ = peer_requests_ = acknowledging_ = false;
    good_ = 0;
    if (controller()) draw_due_ = true;
}

void Endpoint::stop(Cause cause) {
    good_ = 0;
    acknowledging_ = false;
    go(State::safe_state, state_ == State::awaiting_acknowledgement ? Cause::errors_again : cause);
    if (controller()) return leave_connection();
    if (!polled()) phase_ = Phase::lost;          // a polled device goes on answering
    if (cause == Cause::time_expectation) alive_.reset();
}

//
void Endpoint::connect() {
    phase_ = Phase::connected;
    alive_ = now_;
    out_ = before(mine_.start_number);
    ++connections_;
}

void Endpoint::scan(proto::Instant now) {
    now_ = now;
    conclusions.clear();
    changes.clear();
    answers_ = 0;
    answer_fresh_ = answer_parameters_ = false;
    watchdog();
    for (const Meaning& telegram : queue_) take(telegram);
    queue_.clear();
}

void Endpoint::watchdog() {
    if (!alive_ || now_ - *alive_ <= settings_.watchdog) return;
    if (state_ != State::start_up) return stop(Cause::time_expectation);
    changes.push_back({state_, state_, Cause::start_failed});
    leave_connection();
}

void Endpoint::take(const Meaning& telegram) {
    if (telegram.kind == Meaning::Kind::parameter) return take_parameter(telegram);
    if (telegram.kind == Meaning::Kind::foreign_parameter) return reject(Measure::authentication);
    if (phase_ != Phase::connected) return conclude(Kind::ignored);
    switch (telegram.kind) {
        case Meaning::Kind::corrupt: return reject(Measure::integrity);
        case Meaning::Kind::foreign: return reject(Measure::authentication);
        case Meaning::Kind::foreign_parameter:
        case Meaning::Kind::process:
        case Meaning::Kind::parameter: return take_process(telegram);
    }
}

void Endpoint::take_parameter(const Meaning& telegram) {
    if (controller()) return controller_parameter(telegram);
    if (telegram.step == Step::offer) return device_offer(telegram);
    const bool known = theirs_ && telegram.controller_number == *theirs_;
    if (!known || !is_mine(telegram.device_number)) return reject(Measure::feedback);
    conclude(Kind::handshake);
    if (phase_ == Phase::answered) {
        last_ = before(telegram.start_number);
        connect();
    }
    answer_parameters_ = true;
    answer_step_ = Step::ready;
}

void Endpoint::controller_parameter(const Meaning& telegram) {
    if (!is_mine(telegram.controller_number)) return reject(Measure::feedback);
    conclude(Kind::handshake);
    if (telegram.step == Step::answer && phase_ == Phase::apart) {
        theirs_ = telegram.device_number;
        phase_ = Phase::answered;
        alive_ = now_;  // the confirmation is not repeated for longer than the watchdog time
    } else if (telegram.step == Step::ready && phase_ == Phase::answered && telegram.device_number == *theirs_) {
        last_ = before(telegram.start_number);
        connect();
    }
}

void Endpoint::device_offer(const Meaning& telegram) {
    conclude(Kind::handshake);
    const bool known = theirs_ && telegram.controller_number == *theirs_;
    if (known && (phase_ == Phase::connected || phase_ == Phase::lost)) return;  // a late copy
    if (!known) {
        leave_connection();
        if (state_ != State::start_up) go(State::safe_state, Cause::peer_restarted);
        theirs_ = telegram.controller_number;
        draw_due_ = true;
    }
    phase_ = Phase::answered;
    answer_parameters_ = true;
    answer_step_ = Step::answer;
}

void Endpoint::take_process(const Meaning& telegram) {
    const std::uint32_t n = telegram.number;
    if (!polled()) {
        const std::uint32_t ahead = (n + settings_.numbers - last_) % settings_.numbers;
        if (ahead < 1 || ahead > settings_.missing_allowed + 1) return reject(Measure::sequence);
        if (telegram.feedback) {
            const std::uint32_t lag = (out_ + settings_.numbers - *telegram.feedback) % settings_.numbers;
            if (settings_.max_lag && lag > *settings_.max_lag) return reject(Measure::feedback);
        }
        return fresh(telegram);
    }
    if (controller()) {
        if (n == out_ && open_) return fresh(telegram);
        if (n == out_ || n == before(out_)) return conclude(Kind::repeat);
        return reject(Measure::feedback);
    }
    if (n == last_ && heard_) {
        ++answers_;
        return conclude(Kind::repeat);
    }
    if (n != after(last_)) return reject(Measure::sequence);
    ++answers_;
    answer_fresh_ = true;
    fresh(telegram);
}

void Endpoint::fresh(const Meaning& telegram) {
    conclude(Kind::fresh);
    last_ = telegram.number;
    heard_ = true;
    open_ = false;
    alive_ = now_;
    value_ = telegram.value;
    ++good_;
    if (controller())
        controller_fresh(telegram);
    else
        device_fresh(telegram);
}

void Endpoint::controller_fresh(const Meaning& telegram) {
    // A device that has lost its place has stopped, whether or not it says so by the other bit too.
    const bool stopped = telegram.safe || telegram.restart;
    peer_requests_ = telegram.request;
    if (state_ == State::start_up || state_ == State::running) {
        if (stopped) {
            good_ = 0;
            go(State::safe_state, Cause::told_by_peer);
        } else {
            go(State::running, Cause::first_value);
        }
    } else if (state_ == State::safe_state) {
        if (good_ >= 2 && peer_requests_) go(State::awaiting_acknowledgement, Cause::error_free_again);
    } else if (acknowledging_ && telegram.acknowledge && !stopped) {
        acknowledging_ = false;
        go(State::running, Cause::acknowledged);
    } else if (!peer_requests_) {
        acknowledging_ = false;
        go(State::safe_state, Cause::errors_again);
    }
    if (telegram.restart) leave_connection();
}

void Endpoint::device_fresh(const Meaning& telegram) {
    const bool told = telegram.safe && !telegram.acknowledge;  // who acknowledges still waits for the confirmation
    switch (state_) {
        case State::start_up:
        case State::running:
            acknowledging_ = telegram.acknowledge && state_ == State::running;
            if (told) {
                good_ = 0;
                go(State::safe_state, Cause::told_by_peer);
            } else {
                go(State::running, Cause::first_value);
            }
            break;
        case State::safe_state:
            acknowledging_ = false;
            if (good_ >= 2 && !telegram.acknowledge) go(State::awaiting_acknowledgement, Cause::error_free_again);
            break;
        case State::awaiting_acknowledgement:
            acknowledging_ = telegram.acknowledge;
            if (telegram.acknowledge) go(State::running, Cause::acknowledged);
            break;
    }
}

void Endpoint::reject(Measure measure) {
    conclusions.push_back({Kind::rejected, measure});
    if (state_ == State::start_up) return;  // nothing is in use that had to be stopped
    good_ = 0;
    const bool second = error_ && now_ - *error_ < settings_.error_interval;
    error_ = now_;
    if (state_ == State::running && (settings_.reaction == Reaction::trip || second))
        stop(Cause::rejected_telegram);
    if (state_ == State::awaiting_acknowledgement) {
        acknowledging_ = false;
        go(State::safe_state, Cause::errors_again);
    }
}

Meaning Endpoint::parameter(Step step) const {
    Meaning m;
    m.kind = Meaning::Kind::parameter;
    m.step = step;
    m.controller_number = controller() ? mine_.handshake_number : theirs_.value_or(0);
    if (step != Step::offer) m.device_number = controller() ? theirs_.value_or(0) : mine_.handshake_number;
    m.start_number = mine_.start_number;
    if (step == Step::ready && !polled()) m.start_number = after(out_);  // "ready" may be said again
    return m;
}

Meaning Endpoint::process(std::uint32_t number, std::uint64_t value) {
    Meaning m;
    m.number = number;
    m.safe = state_ == State::safe_state || state_ == State::awaiting_acknowledgement;
    m.value = state_ == State::running ? value : 0;
    m.restart = phase_ == Phase::lost;
    m.request = !controller() && state_ == State::awaiting_acknowledgement;
    m.acknowledge = acknowledging_;
    if (settings_.feedback) m.feedback = last_;
    return m;
}

std::vector<Meaning> Endpoint::send(std::uint64_t value) {
    std::vector<Meaning> sent;
    if (answer_parameters_) sent.push_back(parameter(answer_step_));
    const bool exchanging = phase_ == Phase::connected || phase_ == Phase::lost;
    if (controller() && !exchanging) sent.push_back(parameter(phase_ == Phase::apart ? Step::offer : Step::confirm));
    if (!exchanging) return sent;
    if (!polled() || controller()) {
        if (!open_) {
            out_ = after(out_);
            sent_ = process(out_, value);
        }
        open_ = polled();
        sent.push_back(*sent_);
        return sent;
    }
    for (unsigned i = 0; i < answers_; ++i) {
        if (answer_fresh_) sent_ = process(last_, value);
        answer_fresh_ = false;
        sent.push_back(*sent_);
    }
    return sent;
}

bool Endpoint::acknowledgement_requested() const { return controller() && state_ == State::awaiting_acknowledgement; }

std::optional<bool> Endpoint::contact(bool closed) {
    const bool edge = closed && !closed_;
    closed_ = closed;
    if (!edge) return std::nullopt;
    const bool counts = acknowledgement_requested();
    if (counts) acknowledging_ = true;
    return counts;
}

}  // namespace tests::model
