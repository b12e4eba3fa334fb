#pragma once
// A trial as the row of a store, and back.
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>

#include "sim/drive/trial.hpp"
#include "tools/store/database.hpp"

namespace tools {

inline constexpr std::size_t trial_columns = 23;

/// In the order of the table's columns: times in nanoseconds, enumerations by number, nothing for null.
using TrialRow = std::array<std::optional<std::int64_t>, trial_columns>;
TrialRow row_of(const sim::TrialRecord& record);

/// The row under the statement as a record; nothing if it holds what no trial of a scenario with so many faults can be.
std::optional<sim::TrialRecord> record_from(const Database::Statement& row, std::size_t faults);

/// Statements: to keep so many rows at once, and to read all in the order of the trials.
std::string insert_trials(std::size_t rows);
inline constexpr const char* select_trials = "SELECT * FROM trial ORDER BY trial";

}  // namespace tools
