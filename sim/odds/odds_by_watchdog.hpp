#pragma once
// The odds of a link with one watchdog after another: each is reckoned once, and what is known of one bounds the
// others, since odds never rise with the watchdog. Headline, table and window all read from here, so they cannot
// disagree.
#include <cstdint>
#include <functional>
#include <map>
#include <mutex>
#include <vector>

#include "sim/odds/trip_odds.hpp"

namespace sim {

struct Scenario;

/// Whether stops are rare enough for a limit, by the upper figure alone.
enum class RareEnough : std::uint8_t {
    yes,
    no,
    cannot_be_told,  ///< as described it would be, and what was measured or walked is too little to say more
};
RareEnough rare_enough(const TripOdds& odds, double limit_per_year);

class OddsByWatchdog {
  public:
    OddsByWatchdog(const Scenario& scenario, const OddsEffort& effort);

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
    /// A first idea of it, from less work; not remembered.
    [[nodiscard]] RareEnough roughly(std::int64_t steps, double limit_per_year) const;

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
