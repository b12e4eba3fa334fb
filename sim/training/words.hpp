#pragma once
// Identifiers of states and causes, as drill files and pages use them.
#include <array>
#include <string_view>

#include "proto/endpoint.hpp"

namespace sim {

inline constexpr std::array<std::string_view, 4> state_ids{"start-up", "running", "safe-state",
                                                           "awaiting-acknowledgement"};
inline constexpr std::array<std::string_view, 10> cause_ids{
    "power-up",       "first-value",      "time-expectation", "rejected-telegram", "told-by-peer",
    "peer-restarted", "error-free-again", "errors-again",     "acknowledged",      "start-failed"};

constexpr std::string_view id_of(proto::State state) { return state_ids[static_cast<std::size_t>(state)]; }
constexpr std::string_view id_of(proto::Cause cause) { return cause_ids[static_cast<std::size_t>(cause)]; }

}  // namespace sim
