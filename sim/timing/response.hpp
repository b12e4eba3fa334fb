#pragma once
// The response time of a safety function by its settings, part after part, and what follows from it: stopping, overall
// time, distance, and the longest watchdog. Everything is read from the scenario, the watchdogs too: whoever wants
// another watchdog changes it in a copy, see with_watchdog().
#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "sim/scenario/ends.hpp"
#include "sim/timing/minimum_distance.hpp"
#include "sim/timing/stopping.hpp"

namespace sim {

struct Scenario;

/// One part of the way from the demand to the output command.
struct ResponsePart {
    std::string name;  ///< "sensor", "controller scan", "link", "device scan", "drive", or as the scenario calls it
    Duration delay{};  ///< at most, without a fault
    Duration with_fault{};  ///< at most, with one fault episode in this part; `delay` where no fault is reckoned with
    std::string source;     ///< where the values come from
    /// One episode disturbs all parts of a segment together; 0: this part alone.
    unsigned segment = 0;
};

/// Sum of the delays without a fault and the largest excess: there is one fault episode at a time, in one part or in
/// all parts of one segment.
Duration added_up(std::span<const ResponsePart> parts);
/// The same if an episode never disturbs more than one part, whatever they share.
Duration added_up_apart(std::span<const ResponsePart> parts);
/// The part of a link that a demand crosses on these ways, one after the other; nothing if one of them has no bound.
std::optional<ResponsePart> part_of_link(const Scenario& scenario, std::span<const Direction> hops);

struct ResponseTime {
    std::string safeguard;          ///< whose demand; empty if there is none that reaches the output
    std::vector<std::string> path;  ///< signals on its longest way to the output
    Duration off_delay{};           ///< of the signals on it
    std::vector<ResponsePart> parts;
    std::optional<Duration> response;  ///< to the output command; nothing if the link has no bound
    /// The same with an episode in one link only, where the demand crosses several of a cell.
    std::optional<Duration> apart = {};
    std::vector<StoppingPart> stops;
    std::optional<Duration> stopping;  ///< nothing if there is no machine, or its stop may not be counted
    std::optional<Duration> overall;   ///< their sum
    bool no_way = false;               ///< the guard of [distance] does not reach the output: nothing can be told
    std::vector<std::string> cautions;
};

/// Overall times over this have no distance.
inline constexpr Duration overall_most = proto::seconds(3600);

/// The ways that a safeguard's demand takes through the link to the output, on the longest one; empty if none.
std::vector<Direction> hops_of(const Scenario& scenario, const std::string& safeguard);

/// Requires a scenario as the reader gives it. The safeguard is that of [distance], else that of the first demand, else
/// the first one that reaches the output.
ResponseTime response_of(const Scenario& scenario);
/// That of a demand of that safeguard, which must exist.
ResponseTime response_of(const Scenario& scenario, const std::string& safeguard);

/// The stop alone of that demand, with the machine at that speed when the output command comes; nothing: at full speed.
/// Requires a machine and a safeguard that reaches the output, or an empty name for a failing link alone.
StoppingTime stop_for(const Scenario& scenario, const std::string& safeguard,
                      std::optional<std::int64_t> from_um_s = {});

/// The distance that the scenario's guard needs; nothing without [distance] or without an overall time.
std::optional<Distance> distance_of(const Scenario& scenario, const ResponseTime& response);

/// The same scenario with another watchdog at both ends.
Scenario with_watchdog(const Scenario& scenario, Duration watchdog);

/// The largest watchdog in whole microseconds above the cycle with which `holds`; it must hold for all shorter ones
/// too. Nothing if there is none; an hour at most.
std::optional<Duration> longest_watchdog_with(const Scenario& scenario,
                                              const std::function<bool(const Scenario&)>& holds);

/// Longest watchdogs in whole microseconds, each by one thing that the scenario states; nothing where it does not, or
/// where no watchdog of over a cycle is short enough (`none` then says which).
struct LongestWatchdog {
    std::optional<Duration> by_distance;  ///< [distance] there
    std::optional<Duration> by_overall;   ///< [required] overall
    std::optional<Duration> by_link;      ///< [required] to_device or to_controller, whichever way the output lies
    std::optional<Duration> by_function;  ///< the tightest `within` or distance of a [[function]]
    std::size_t function = 0;             ///< whose, or the first that no watchdog keeps; index in Scenario::functions
    bool none = false;                    ///< something is stated that no watchdog keeps
    /// The shortest of them.
    [[nodiscard]] std::optional<Duration> longest() const;
};
LongestWatchdog longest_watchdog(const Scenario& scenario);
/// The same by [distance] and [required] alone, without the functions.
LongestWatchdog longest_watchdog_by_tables(const Scenario& scenario);

/// Everything stated is kept with the watchdogs as they are: distance, overall time, functions, the link's own limit.
/// `why` is one sentence for the first thing that is not.
struct Kept {
    bool kept = true;
    std::string why;
};
Kept requirements_kept(const Scenario& scenario, const ResponseTime& response);
/// The same by [distance] and [required] alone, without the functions.
Kept tables_kept(const Scenario& scenario, const ResponseTime& response);

}  // namespace sim
