#pragma once
// Between which watchdogs a plant neither stops for nothing too often nor too late.
#include <cstdint>
#include <optional>

#include "sim/odds/odds_by_watchdog.hpp"

namespace sim {

struct Scenario;

struct WindowEnds {
    std::optional<Duration> lowest;  ///< of the reckoned ones the shortest that is rare enough
    Duration longest_tried{};
    std::optional<Duration> highest;  ///< that keeps what is required; nothing without such, or (`none`) if no one does
    bool none = false;
    [[nodiscard]] bool open() const { return lowest && !none && (!highest || *lowest <= *highest); }
};

/// Looks for the lower end with as few reckonings as it takes; `odds` knows them afterwards.
void seek_lowest(const Scenario& scenario, OddsByWatchdog& odds);
/// The same for each model, where there are two; nothing else.
struct LowestOfEach {
    std::optional<Duration> alone, in_blocks;
};
LowestOfEach lowest_of_each(const Scenario& scenario, OddsByWatchdog& odds);
/// By what is reckoned.
WindowEnds ends_of(const Scenario& scenario, const OddsByWatchdog& odds);
/// Both, of a scenario that was changed only to try it.
WindowEnds ends_tried(const Scenario& scenario, OddsEffort effort);

/// A link is looked at with watchdogs of up to so many cycles.
inline constexpr std::int64_t window_cycles_tried = 400;

}  // namespace sim
