#pragma once
// Time as the endpoints know it: integer nanoseconds handed in from outside. There is no now() here on purpose:
// an endpoint that cannot read a clock behaves the same in virtual time and on a live network.
#include <compare>
#include <cstdint>
#include <limits>

namespace proto {

/// A span of time in nanoseconds; negative only as a difference of two instants.
struct Duration {
    std::int64_t ns = 0;
    friend constexpr auto operator<=>(Duration, Duration) = default;
    friend constexpr Duration operator+(Duration a, Duration b) { return {a.ns + b.ns}; }
    friend constexpr Duration operator-(Duration a, Duration b) { return {a.ns - b.ns}; }
    friend constexpr Duration operator*(Duration a, std::int64_t times) { return {a.ns * times}; }
};

/// A point in time in nanoseconds since the start of the run, at the reader's own clock.
struct Instant {
    std::int64_t ns = 0;
    friend constexpr auto operator<=>(Instant, Instant) = default;
    friend constexpr Instant operator+(Instant a, Duration b) { return {a.ns + b.ns}; }
    friend constexpr Instant operator-(Instant a, Duration b) { return {a.ns - b.ns}; }
    friend constexpr Duration operator-(Instant a, Instant b) { return {a.ns - b.ns}; }
};

/// Later than everything that can happen: the deadline of somebody who waits for nothing.
inline constexpr Instant never{std::numeric_limits<std::int64_t>::max()};

constexpr Duration microseconds(std::int64_t us) { return {us * 1'000}; }
constexpr Duration milliseconds(std::int64_t ms) { return {ms * 1'000'000}; }
constexpr Duration seconds(std::int64_t s) { return {s * 1'000'000'000}; }

}  // namespace proto
