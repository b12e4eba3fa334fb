#pragma once
// The watchdog times with which a plant neither stops for nothing too often nor too late: from where the odds are low
// enough up to where the response, or the distance at hand, is still kept.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "sim/odds/odds_words.hpp"
#include "sim/odds/trip_odds.hpp"
#include "sim/timing/minimum_distance.hpp"

namespace sim {

struct Scenario;

/// One watchdog time, the same at both ends.
struct WatchdogPoint {
    Duration watchdog{};
    TripOdds odds;
    bool trips_ok = false;  ///< no more often than the scenario's limit
    std::optional<Duration> response, overall;
    std::optional<Length> needed;  ///< distance
    std::optional<std::int64_t> spare_um;
    bool kept = true;  ///< required response and distance
    std::string why;   ///< usable or not, in a few words
    [[nodiscard]] bool usable() const { return trips_ok && kept; }
};

/// Requires a watchdog of more than a cycle.
WatchdogPoint watchdog_point(const Scenario& scenario, Duration watchdog, const OddsEffort& effort);

/// What would open a window, alone.
struct Opener {
    std::string change;  ///< "cycle", "distance" ...
    std::string value;   ///< "7 ms or less (now 10 ms)"
};

struct WatchdogWindow {
    std::optional<Duration> lowest;   ///< shortest watchdog that does not stop for nothing too often; nothing: none up
                                      ///< to longest_tried
    std::optional<Duration> highest;  ///< longest one that keeps what is required; nothing: nothing is required, or
                                      ///< (`never_kept`) no watchdog keeps it
    bool never_kept = false;
    bool nothing_required = false;
    Duration longest_tried{};
    std::optional<Duration> suggested;  ///< within the window
    double limit_per_year = 0.0;
    std::string why;  ///< one plain sentence
    std::vector<Opener> openers;

    [[nodiscard]] bool open() const { return suggested.has_value(); }
};

/// `told` hears what is being looked for, for whoever waits.
WatchdogWindow watchdog_window(const Scenario& scenario, const OddsEffort& effort,
                               const std::function<void(const std::string&)>& told);

}  // namespace sim
