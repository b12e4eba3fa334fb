// The names that JSON uses for what a run found.
#include "sim/judge/result.hpp"

namespace sim {

std::string_view name_of(Outcome outcome) {
    switch (outcome) {
        case Outcome::safe_state: return "safe-state";
        case Outcome::tolerated: return "tolerated";
        case Outcome::no_effect: return "no-effect";
        case Outcome::dangerous: return "dangerous";
        case Outcome::not_fired: return "not-fired";
        case Outcome::never_ran: return "never-ran";
    }
    return "?";
}

std::string_view words_of(Met met) {
    switch (met) {
        case Met::yes: return "met";
        case Met::no: return "not met";
        case Met::not_shown: return "not shown";
    }
    return "?";
}

std::string_view name_of(RunVerdict verdict) {
    switch (verdict) {
        case RunVerdict::pass: return "pass";
        case RunVerdict::fail: return "fail";
        case RunVerdict::dangerous: return "dangerous";
        case RunVerdict::not_judged: return "not-judged";
    }
    return "?";
}

std::string_view name_of(SafeguardState state) {
    switch (state) {
        case SafeguardState::free: return "free";
        case SafeguardState::demanded: return "demanded";
        case SafeguardState::latched: return "latched";
        case SafeguardState::discrepancy: return "discrepancy";
    }
    return "?";
}

}  // namespace sim
