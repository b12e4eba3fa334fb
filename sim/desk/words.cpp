#include "sim/desk/words.hpp"

namespace sim {
namespace {

std::string_view state_words(proto::State state) {
    switch (state) {
        case proto::State::start_up: return "starting";
        case proto::State::running: return "running";
        case proto::State::safe_state: return "stopped";
        case proto::State::awaiting_acknowledgement: return "waits for an acknowledgement";
    }
    return "?";
}

std::string because(const proto::Transition& transition) {
    switch (transition.cause) {
        case proto::Cause::power_up: return "its power came on";
        case proto::Cause::first_value: return "the first value came";
        case proto::Cause::time_expectation: return "nothing valid and new came within the watchdog time";
        case proto::Cause::rejected_telegram:
            return "it rejected a telegram" +
                   (transition.measure ? ", " + words_of(*transition.measure) : std::string());
        case proto::Cause::told_by_peer: return "the other end says that it is in the safe state";
        case proto::Cause::peer_restarted: return "the other end started anew";
        case proto::Cause::error_free_again: return "free of errors again";
        case proto::Cause::errors_again: return "errors came again";
        case proto::Cause::acknowledged: return "it was acknowledged";
        case proto::Cause::start_failed: return "no value followed the handshake";
    }
    return "?";
}

}  // namespace

std::string words_of(proto::Measure measure) {
    switch (measure) {
        case proto::Measure::cross_check: return "its two copies differ";
        case proto::Measure::integrity: return "its check value, length or layout is wrong";
        case proto::Measure::authentication: return "it is not addressed to this end from its partner";
        case proto::Measure::sequence: return "its sequence number is not the one expected";
        case proto::Measure::feedback: return "it feeds back a number that was not asked";
        case proto::Measure::time_stamp: return "it is too old by its time stamp";
        case proto::Measure::time_expectation: return "it came after the watchdog time";
        case proto::Measure::different_integrity: return "its check value is that of other traffic";
    }
    return "?";
}

std::string words_of(const proto::Verdict& verdict) {
    switch (verdict.kind) {
        case proto::Verdict::Kind::fresh: return "accepted: a new value and a sign of life";
        case proto::Verdict::Kind::repeat: return "in order, but nothing new: no sign of life, and no error";
        case proto::Verdict::Kind::ignored: return "not looked at: the end is starting and waits for parameters";
        case proto::Verdict::Kind::handshake: return "understood: a step of the start";
        case proto::Verdict::Kind::rejected:
            return "rejected by " + std::string(proto::name_of(verdict.failed.first())) + ": " +
                   words_of(verdict.failed.first());
    }
    return "?";
}

std::string words_of(const proto::Transition& transition) {
    return std::string(state_words(transition.to)) + ": " + because(transition);
}

std::string_view words_of(DriveCommand command) {
    switch (command) {
        case DriveCommand::run: return "run";
        case DriveCommand::reduce: return "reduced speed";
        case DriveCommand::stop_category_2: return "stop, category 2";
        case DriveCommand::stop_category_1: return "stop, category 1";
        case DriveCommand::stop_category_0: return "stop, category 0";
    }
    return "?";
}

}  // namespace sim
