#pragma once
// What trainees achieved: kept in a file if one is named, else as long as the program runs. Names stay on this machine.
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "tools/database.hpp"
#include "tools/failure.hpp"
#include "tools/value.hpp"

namespace tools {

struct TrainingResult {
    std::int64_t id = 0;
    std::string when;  ///< local time, "2026-11-26 14:31"
    std::string name;
    std::int64_t drill = 0;
    std::string title, mode, result;
    std::int64_t points = 0;  ///< not shown after a dangerous action
    std::int64_t seconds = 0, hints = 0;
    std::string where, what, actions, dangerous;
};

class TrainingResults {
  public:
    /// Opens the file, or makes it; without one nothing outlives the program. Look at failure() afterwards.
    explicit TrainingResults(const std::optional<std::string>& file);
    [[nodiscard]] const std::optional<Failure>& failure() const { return failure_; }

    void add(TrainingResult result);
    /// False if there is none of that number.
    bool remove(std::int64_t id);
    [[nodiscard]] const std::vector<TrainingResult>& all() const { return results_; }

  private:
    void say(const Database& database);
    std::optional<std::string> file_;
    std::unique_ptr<Database> database_;
    std::optional<Failure> failure_;
    std::vector<TrainingResult> results_;
    std::int64_t last_id_ = 0;
};

Value described(const TrainingResult& result);
/// One line for each result, a head first; cells that a table program would run as a formula are made text.
std::string results_csv(const std::vector<TrainingResult>& results);

}  // namespace tools
