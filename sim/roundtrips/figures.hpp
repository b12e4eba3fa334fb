#pragma once
// What a run of round trips comes to: figures, gaps, its course and its spread.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/roundtrips/asked.hpp"

namespace sim {

/// Of some times: the one in the middle, the one that 99 of 100 do not exceed, the longest. Each is one of the times,
/// the longer one where two could be meant.
struct Spread {
    proto::Duration median, p99, max;
};
/// Nothing of no times.
std::optional<Spread> spread_of(std::vector<proto::Duration> times);

struct RoundTripFigures {
    std::uint64_t sent = 0, lost = 0;
    std::optional<Spread> line, answered_after;  ///< of those that were answered
    std::optional<Spread> own_lateness;          ///< of all that were sent
};
RoundTripFigures figures_of(const RoundTrips& run);

/// Datagrams lost one after the other.
struct Gap {
    std::size_t first = 0, count = 0;
    proto::Duration from, to;  ///< when the first and the last of them were sent
};
/// In the order of time.
std::vector<Gap> gaps_of(const RoundTrips& run);

/// A part of the run's time.
struct Slice {
    proto::Duration from;
    std::uint64_t sent = 0, lost = 0;
    std::optional<Spread> line;
};
/// At most `most` (1 or more) of equal length; those in which nothing was sent are there too. Empty if nothing was
/// sent.
std::vector<Slice> slices_of(const RoundTrips& run, std::size_t most);

/// How many times lay from `from` up to, not including, `to`.
struct TimeCell {
    proto::Duration from, to;
    std::uint64_t count = 0;
};
/// Times on the line in cells that grow as preferred numbers do, twenty to a factor of ten (R20 of ISO 3, from memory);
/// from the cell of the shortest to that of the longest. What is under 0.1 us lies in a cell of its own.
std::vector<TimeCell> histogram_of(const RoundTrips& run);

/// Places of the longest ones, the longest first, of equal ones the earlier.
std::vector<std::size_t> longest_of(const RoundTrips& run, std::size_t most);

}  // namespace sim
