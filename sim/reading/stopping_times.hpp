#pragma once
// Stopping times that were measured at a machine.
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// ISO 13855 asks for ten measurements (from memory).
inline constexpr std::size_t stops_least = 10;
inline constexpr std::size_t stops_most = 10'000;

/// The times in a CSV file whose first line names a column stopping_ms: from the output command to standstill, at the
/// worst position and load. At least ten, each above 0 and at most an hour; decimal milliseconds, rounded up to the
/// nanosecond.
proto::Result<std::vector<Duration>, FileError> read_stopping_times(const std::string& path);

}  // namespace sim
