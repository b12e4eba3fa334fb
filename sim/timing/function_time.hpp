#pragma once
// The time that a safety function takes by its settings, against the smaller of its two limits: the one answer of
// check, response and watchdog.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/scenario/functions.hpp"
#include "sim/timing/from_reduced.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "sim/timing/response.hpp"

namespace sim {

struct Scenario;

struct FunctionTime {
    std::size_t function = 0;        ///< index in Scenario::functions
    std::size_t must = 0;            ///< index in its `must`
    std::string safeguard;           ///< of its safeguards the one with the least to spare
    ResponseTime response;           ///< of that one's demand, its stop and its overall time
    std::optional<Duration> link;    ///< the link's part with a fault; nothing if it has no bound
    std::optional<Duration> others;  ///< all but the link: what no watchdog makes shorter; nothing without a stop

    std::optional<Duration> within;       ///< as stated by the function, else by [required] overall
    bool within_is_own = false;           ///< stated by the function itself
    std::optional<Duration> by_distance;  ///< (there - C) / K, the longest overall time for the distance at hand
    enum class Binds : std::uint8_t { nothing, within, distance };
    Binds binds = Binds::nothing;  ///< the smaller of the two; the one with less to spare, where times differ
    std::optional<GuardDistance> guard = {};
    std::optional<Distance> needed = {};  ///< with the overall time as it is
    FromReduced from_reduced = {};        ///< `within` counts from full speed always, a distance perhaps not

    bool reduced_speed_counts = false;  ///< the hazard has ended at reduced speed

    bool kept = true;
    std::string why;  ///< half a sentence; empty while kept

    /// The limit that binds.
    [[nodiscard]] std::optional<Duration> limit() const {
        return binds == Binds::nothing ? std::nullopt : binds == Binds::within ? within : by_distance;
    }
    /// The distance binds, and counts from reduced speed.
    [[nodiscard]] bool binds_from_reduced() const { return binds == Binds::distance && from_reduced.counts(); }
    /// What is held against the limit that binds.
    [[nodiscard]] std::optional<Duration> stopping() const {
        return binds_from_reduced() ? from_reduced.stopping : response.stopping;
    }
    [[nodiscard]] std::optional<Duration> overall() const {
        return binds_from_reduced() ? overall_by_distance() : response.overall;
    }
    /// What is held against the distance.
    [[nodiscard]] std::optional<Duration> overall_by_distance() const;
    /// The demand reaches the machine by wiring.
    [[nodiscard]] bool reaches() const { return !response.safeguard.empty(); }
    /// How much under its limit; nothing without a limit or without an overall time.
    [[nodiscard]] std::optional<Duration> spare() const;
    /// What is left for the link when all else takes its time; nothing without a limit or if nothing is left.
    [[nodiscard]] std::optional<Duration> left_for_link() const;
};

/// One for each function and each reaction that it asks for, in their order.
std::vector<FunctionTime> function_times(const Scenario& scenario);
/// Of one demand. The safeguard must exist.
FunctionTime time_of(const Scenario& scenario, std::size_t function, std::size_t must, const std::string& safeguard);
/// The one that decides: not kept before kept, then the least to spare, then the longest. Nothing without functions.
const FunctionTime* tightest(const std::vector<FunctionTime>& times);

/// The scenario with that function's guard, demand and limits in its tables, for whoever reckons with these. Where the
/// distance counts from reduced speed only the limit that binds is in them, and the machine is as fast as it counts
/// from.
Scenario seen_by(const Scenario& scenario, const FunctionTime& time);

/// The function states a `within` or a distance at hand, or [required] and [distance] state one for it.
bool has_limit(const Scenario& scenario, const SafetyFunction& function);
/// The longest watchdog that keeps that function; nothing if none does. Requires one that has a limit.
std::optional<Duration> longest_watchdog_for(const Scenario& scenario, std::size_t function);
/// The least that any function leaves for the link to the machine, and its index; nothing if none sets a limit.
struct LeftForLink {
    Duration time{};
    std::size_t function = 0;
};
std::optional<LeftForLink> least_left_for_link(const std::vector<FunctionTime>& times);

/// A failing link leads to nothing but a reduced speed, which by the functions does not end every hazard.
bool failure_only_slows(const Scenario& scenario);

/// "within = 600 ms", "the 650 ms that the distance of 1100 mm leaves", "... leaves from 130 mm/s".
std::string limit_in_words(const FunctionTime& time);

}  // namespace sim
