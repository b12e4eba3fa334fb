#pragma once
// The odds of one model of a link with one watchdog after another: each is reckoned once, and what is known of one
// bounds the others, since odds never rise with the watchdog.
#include <cstdint>
#include <functional>
#include <map>
#include <mutex>
#include <vector>

#include "sim/odds/trip_odds.hpp"

namespace sim {

class OddsOfModel {
  public:
    OddsOfModel(LinkModel link, const OddsEffort& effort);

    /// With that watchdog at both ends, and bounded by all others that were reckoned so far. Requires one over a cycle.
    TripOdds at(Duration watchdog);
    /// Reckons all of them, several at once; told how many are done.
    void reckon(const std::vector<Duration>& watchdogs, const std::function<void(std::size_t)>& done);
    /// The shortest reckoned so far with odds up to that limit.
    [[nodiscard]] std::optional<Duration> shortest_up_to(double limit_per_year) const;

    /// Odds only change where a watchdog reaches a further scan of one end.
    [[nodiscard]] Duration step() const { return Duration{step_}; }
    /// In steps; the same odds as any up to the next step.
    [[nodiscard]] std::int64_t steps_in(Duration watchdog) const { return watchdog.ns / step_; }
    /// A first idea, from less work; not remembered.
    [[nodiscard]] TripOdds roughly(std::int64_t steps) const;
    [[nodiscard]] const std::map<std::int64_t, TripOdds>& known() const { return known_; }

  private:
    void reckon_one(std::int64_t steps, const OddsEffort& effort);
    [[nodiscard]] TripOdds bounded(std::int64_t steps) const;

    LinkModel link_;
    OddsEffort effort_;
    std::int64_t step_;
    std::map<std::int64_t, TripOdds> known_;
    std::mutex mutex_;  ///< of known_, while several are reckoned
};

}  // namespace sim
