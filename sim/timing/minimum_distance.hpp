#pragma once
// Minimum distance of a safeguard from the hazard zone by ISO 13855, editions of 2010 and 2024, and its inverse.
//
// The edition of 2010 is written down from memory of the standard and agrees with public commentary; the edition of
// 2024 is known here from public commentary only. Lengths are whole picometres, times whole nanoseconds, so that
// S = K * T + C is exact: 1600 mm/s is 1600 pm/ns.
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "proto/result.hpp"
#include "proto/time.hpp"
#include "sim/scenario/distance_case.hpp"

namespace sim {

using proto::Duration;

/// A length, exact; at most 9000 km.
struct Length {
    std::int64_t pm = 0;
    friend auto operator<=>(const Length&, const Length&) = default;
    friend Length operator+(Length a, Length b) { return {a.pm + b.pm}; }
    friend Length operator-(Length a, Length b) { return {a.pm - b.pm}; }
};
constexpr Length micrometres(std::int64_t um) { return {um * 1'000'000}; }
constexpr Length millimetres(std::int64_t mm) { return {mm * 1'000'000'000}; }
/// Rounded up to whole millimetres, as distances are told to people. Requires length >= 0.
std::int64_t whole_mm_up(Length length);
/// "796 mm", "246.0016 mm": exact.
std::string written(Length length);

/// What is wrong with a case: which value (as its key is called in a scenario: "resolution"), and what would be right.
struct DistanceFault {
    std::string key;
    std::string message;
};

/// Nothing if the distance of this case can be reckoned.
std::optional<DistanceFault> fault_in(const DistanceCase& how);

struct Distance {
    Length needed;                      ///< exact
    std::string formula;                ///< with its numbers: "S = 2000 mm/s * 90 ms + 8 * (14 mm - 14 mm) = 180 mm"
    std::vector<std::string> cautions;  ///< what a reader must know: crawling below, what is from commentary only ...
};

/// The distance that is needed for an overall time, from the demand to the end of the hazard. Requires
/// fault_in(how) == nullopt and 0 <= overall <= one hour. Never falls when `overall` grows.
Distance needed_distance(const DistanceCase& how, Duration overall);
/// The same without words.
Length needed_length(const DistanceCase& how, Duration overall);

/// The longest overall time for which the distance at hand is enough, exactly: a nanosecond more needs more. Nothing
/// if the distance is shorter than what is needed with no time at all. At most one hour.
std::optional<Duration> longest_overall(const DistanceCase& how, Length there);

/// What is needed with no time at all: no response, however fast, makes less do.
inline Length fixed_part(const DistanceCase& how) { return needed_length(how, {}); }

}  // namespace sim
