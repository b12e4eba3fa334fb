#pragma once
// What each instrument of an exercise shows, as the pages read it. Times are plant time in seconds.
#include <cstdint>
#include <vector>

#include "tools/training/exercise.hpp"

namespace tools {

Value plant_seconds(proto::Instant at);
Value time_line_reading(const Exercise& exercise);
Value telegrams_reading(const Exercise& exercise);
Value settings_reading(const Exercise& exercise);
Value neighbour_reading(const Exercise& exercise);
/// One telegram: when, where, its bytes, and what the end made of it.
Value telegram_reading(const Exercise& exercise, const sim::Seen& seen);
/// Samples as lists: at, speed (mm/s), silence of controller and device (ms), signals sent, signals used.
Value::List strip_of(const std::vector<sim::StripSample>& samples);
/// The events of that span, also the hidden ones if `all`.
Value::List events_between(const Exercise& exercise, proto::Instant from, proto::Instant to, bool all);

}  // namespace tools
