#pragma once
// Times of telegrams that somebody measured, out of a CSV file as spreadsheets and scripts write it: separated by
// commas, semicolons or tabs, with a decimal point or comma, with or without a byte order mark and quotes.
#include <cstdint>
#include <string>
#include <vector>

#include "proto/result.hpp"
#include "proto/time.hpp"
#include "sim/reading/read.hpp"

namespace sim {

/// What an empty cell stands for, or a word for a telegram that never came: "timeout", "lost", "nan", "-", "*".
enum class NoAnswer : std::uint8_t { refused, loss };

struct MeasuredTimes {
    std::vector<proto::Duration> times;  ///< in the file's order; at least two, finer than a nanosecond cut off
    bool round_trips = false;            ///< of column round_trip_ms, else one_way_ms
    std::uint64_t unanswered = 0;
    std::uint64_t unanswered_in_a_row = 0;  ///< at most
    std::uint64_t unanswered_close = 0;     ///< that came within `close` rows after another one
    static constexpr std::uint64_t close = 10;
};
/// The first line names the columns, of which others are left alone; empty lines are skipped. A line that does not fit
/// is an error with its number.
proto::Result<MeasuredTimes, FileError> read_measured_times(const std::string& path, NoAnswer no_answer,
                                                            proto::Duration longest);

}  // namespace sim
