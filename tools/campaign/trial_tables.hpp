#pragma once
// The tables of a campaign's store, with the numbers in them explained by tables of names and by views.
#include <cstdint>
#include <string>

#include "sim/judge/result.hpp"
#include "sim/scenario/errors.hpp"

namespace tools {

inline constexpr std::uint64_t trial_ways = static_cast<std::uint64_t>(sim::FaultWay::drive_does_not_slow) + 1;
inline constexpr std::uint64_t trial_outcomes = sim::outcome_count;

inline constexpr std::int64_t store_mark = 0x4C444341;  ///< SQLite's application_id: "LDCA"
inline constexpr std::int64_t store_format = 5;         ///< its user_version

/// Statements that make them all.
std::string trial_tables();

}  // namespace tools
