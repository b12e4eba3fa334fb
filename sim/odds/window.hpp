#pragma once
// The watchdog times with which a plant neither stops for nothing too often nor too late: from where the odds are low
// enough up to where the response, or the distance at hand, is still kept.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "sim/odds/odds_by_watchdog.hpp"
#include "sim/odds/odds_words.hpp"
#include "sim/odds/window_ends.hpp"
#include "sim/odds/window_openers.hpp"
#include "sim/timing/minimum_distance.hpp"

namespace sim {

struct Scenario;

/// One watchdog time, the same at both ends.
struct WatchdogPoint {
    Duration watchdog{};
    TripOdds odds;
    RareEnough stops = RareEnough::no;  ///< for the scenario's limit
    std::optional<Duration> response, overall;
    std::optional<Length> needed;  ///< distance
    std::optional<std::int64_t> spare_um;
    bool kept = true;                                  ///< required response and distance
    std::string why;                                   ///< usable or not, in a few words
    [[nodiscard]] std::optional<bool> usable() const;  ///< nothing: it cannot be told
};

/// Requires a watchdog of more than a cycle.
WatchdogPoint watchdog_point(const Scenario& scenario, Duration watchdog, OddsByWatchdog& odds);

struct WatchdogWindow {
    std::optional<Duration> lowest;   ///< shortest watchdog that does not stop for nothing too often; nothing: none up
                                      ///< to longest_tried
    std::optional<Duration> highest;  ///< longest one that keeps what is required; nothing: nothing is required, or
                                      ///< (`never_kept`) no watchdog keeps it
    /// Of each model alone; nothing where there is one model only, or none up to longest_tried.
    std::optional<Duration> lowest_alone, lowest_in_blocks;
    bool never_kept = false;
    bool nothing_required = false;
    Duration longest_tried{};
    bool is_open = false;
    bool cannot_be_told =
        false;                   ///< no lower end, but with more data there might be one; `openers` say what would tell
    bool ideal_channel = false;  ///< as described nothing is ever lost or late, so its lower end says nothing
    std::optional<Duration> suggested;  ///< within the window; nothing for an ideal channel
    double limit_per_year = 0.0;
    std::string why;  ///< one plain sentence
    std::vector<Opener> openers;
    bool openers_sought = true;  ///< false: in blocks each try takes too long

    [[nodiscard]] bool open() const { return is_open; }
};

/// By what is reckoned, so that a table of points out of the same odds cannot say another thing; seek_lowest() comes
/// before. `told` hears what is being looked for, for whoever waits.
WatchdogWindow watchdog_window(const Scenario& scenario, OddsByWatchdog& odds, const OddsEffort& effort,
                               const std::function<void(const std::string&)>& told);

}  // namespace sim
