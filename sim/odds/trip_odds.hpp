#pragma once
// How often a link stops for nothing, with the watchdogs as they are: by a chain where there is one, else by walks that
// are counted or split, and 'too rare to claim' where the description of the channel carries no further.
#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "sim/numeric/convolution.hpp"
#include "sim/odds/chain_odds.hpp"
#include "sim/odds/link_model.hpp"
#include "sim/odds/measured_share.hpp"

namespace sim {

/// Stops that are rarer, per year, are not claimed: a channel of independent draws, with histograms of whole weights,
/// is a description of a plant, and nobody has watched one for a thousand million years.
inline constexpr double rarest_claim_per_year = 1e-9;
inline constexpr double hours_per_year = 8766.0;  ///< 365.25 days

struct OddsEffort {
    unsigned jobs = 1;
    std::uint64_t seed = 1;
    bool thorough = true;  ///< false: less splitting, for a search that only has to find its way
    /// By Direction: telegrams whose measured delays stay together in a second model, beside the one that draws each
    /// alone; 0: none, but for what a scenario says itself.
    std::array<std::uint64_t, 2> blocks = {};
};

struct TripOdds {
    double per_year = 0.0;             ///< 0 where nothing of it is claimed
    double low = 0.0;                  ///< per year, see `method` for what the interval is
    std::optional<double> high = 0.0;  ///< nothing: not even a bound
    /// The upper figure if no delay were longer than those that were measured; nothing where none were measured.
    std::optional<double> high_as_described = {};
    /// Per year, in the upper figure: of longer delays than those measured, each of which is a stop with any watchdog.
    double with_any_watchdog = 0.0;
    std::optional<MeasuredShare> measured = {};
    /// The same by the model that keeps neighbours together as they were measured, where there is one.
    std::shared_ptr<const TripOdds> in_blocks = {};
    std::uint64_t samples = 0;  ///< measured, that the upper figure rests on; 0: none
    bool settled = true;  ///< false: it depends on how the scans of both ends stand to each other when the link starts
    bool claimed = true;  ///< false: too rare, or too little was seen
    std::string method;
    std::optional<StopCause> main_cause;              ///< what most stops come from
    std::array<double, stop_cause_count> by_cause{};  ///< per year
    double relative_error = 0.0;                      ///< of splitting: standard error / value
    std::size_t states = 0;
    double per_exchange = 0.0;  ///< polled: stops per completed exchange

    [[nodiscard]] double per_hour() const { return per_year / hours_per_year; }
    /// What a decision rests on: nothing lies above it, as far as is known.
    [[nodiscard]] bool at_most(double limit) const {
        return high && *high <= limit && (!in_blocks || in_blocks->at_most(limit));
    }
    /// By the model that allows the more.
    [[nodiscard]] const TripOdds& worse() const {
        if (!in_blocks || !high) return *this;
        return !in_blocks->high || *in_blocks->high > *high ? *in_blocks : *this;
    }
};

TripOdds trip_odds(const LinkModel& link, const OddsEffort& effort);

/// Probability that the delays of a telegram and of its answer together are over `time`, scans left out; nothing behind
/// other traffic.
std::optional<SumTail> round_trip_above(const LinkModel& link, Duration time);

/// With another watchdog at both ends.
LinkModel with_watchdogs(LinkModel link, Duration watchdog);

/// With that confidence no more than this share of all delays lies beyond the longest of `samples` that were seen
/// (exact for none in so many, Clopper and Pearson, Biometrika 26, 1934; about 3 / samples at 95 %).
inline constexpr double unseen_confidence = 0.95;
double unseen_share(std::uint64_t samples, double confidence = unseen_confidence);

}  // namespace sim
