#pragma once
// The odds of a link with one watchdog after another. Headline, table and window all read from here, so they cannot
// disagree. Where neighbours among the measured delays depend on each other there are two models, one that draws each
// delay alone and one that keeps them in blocks as they were measured, and what is decided holds for both.
#include <array>
#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "sim/odds/odds_of_model.hpp"

namespace sim {

struct Scenario;

/// Whether stops are rare enough for a limit, by the upper figures alone.
enum class RareEnough : std::uint8_t {
    yes,
    cannot_be_told,  ///< as described it would be, and what was measured or walked is too little to say more
    no,
};
/// By the worse of both models.
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
    [[nodiscard]] Duration step() const { return alone_.step(); }
    /// In steps; the same odds as any up to the next step.
    [[nodiscard]] std::int64_t steps_in(Duration watchdog) const { return alone_.steps_in(watchdog); }
    /// A first idea of it, from less work; not remembered.
    [[nodiscard]] RareEnough roughly(std::int64_t steps, double limit_per_year) const;

    [[nodiscard]] OddsOfModel& alone() { return alone_; }
    /// nullptr without such a model.
    [[nodiscard]] OddsOfModel* in_blocks() { return in_blocks_ ? &*in_blocks_ : nullptr; }
    /// By Direction; as typed, or as was given.
    [[nodiscard]] std::array<std::uint64_t, 2> blocks() const { return blocks_; }

  private:
    std::array<std::uint64_t, 2> blocks_;
    OddsOfModel alone_;
    std::optional<OddsOfModel> in_blocks_;
};

/// With the watchdogs of both ends as they are, alike or not.
TripOdds odds_as_typed(const Scenario& scenario, const OddsEffort& effort);

}  // namespace sim
