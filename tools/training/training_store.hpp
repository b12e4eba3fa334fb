#pragma once
// What trainees achieved, and what they are at: kept in a file if one is named, else as long as the program runs. Names
// stay on this machine.
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "proto/time.hpp"
#include "tools/program/failure.hpp"
#include "tools/store/database.hpp"
#include "tools/text/value.hpp"
#include "tools/training/exercise.hpp"

namespace tools {

struct TrainingResult {
    std::int64_t id = 0;
    std::string when;     ///< local time, "2026-11-26 14:31"
    std::string session;  ///< of the trainee: who may see and delete it besides the instructor
    std::string name;
    std::int64_t drill = 0;
    std::string title, mode, result;
    std::int64_t points = 0;  ///< not shown after a dangerous action
    std::int64_t seconds = 0, hints = 0;
    std::string where, what, actions, dangerous;
    std::string record;  ///< exercise_record() as JSON
};

/// A trainee whose place is kept.
struct KeptSession {
    std::string session, token, name;
    ExerciseMode mode = ExerciseMode::practice;
    std::vector<unsigned> drills;       ///< in practice one, in an exam all of it; none before the first begin
    std::vector<std::int64_t> begun;    ///< of those that were begun: seconds since 1970
    std::vector<std::int64_t> results;  ///< ids of an exam's results so far
};
/// What somebody did at one of its drills.
struct KeptAct {
    std::size_t drill = 0;  ///< index in KeptSession::drills
    proto::Instant at{};    ///< plant time
    ActFields fields;
};

class TrainingStore {
  public:
    /// Opens the file, or makes it; without one nothing outlives the program. Look at failure() afterwards.
    explicit TrainingStore(const std::optional<std::string>& file);
    /// The first that happened; what came later is then kept in memory only.
    [[nodiscard]] const std::optional<Failure>& failure() const { return failure_; }

    /// What is kept while one of these lives is kept as a whole, or not at all.
    class Together {
      public:
        explicit Together(TrainingStore& store) : store_(store) { store_.run("BEGIN"); }
        ~Together() { store_.run("COMMIT"); }
        Together(const Together&) = delete;
        Together& operator=(const Together&) = delete;

      private:
        TrainingStore& store_;
    };

    /// The id that it got.
    std::int64_t add(TrainingResult result);
    /// False if there is none of that number.
    bool remove(std::int64_t id);
    [[nodiscard]] const std::vector<TrainingResult>& all() const { return results_; }
    [[nodiscard]] const TrainingResult* find(std::int64_t id) const;

    // ---- places; only in a file ----
    void keep(const KeptSession& session);
    void keep(const std::string& session, const KeptAct& act);
    void forget_acts(const std::string& session);
    void forget(const std::string& session);
    /// As the file had them when it was opened.
    [[nodiscard]] std::vector<KeptSession> sessions();
    [[nodiscard]] std::vector<KeptAct> acts(const std::string& session);

  private:
    [[nodiscard]] bool prepare();
    void read_results();
    [[nodiscard]] bool keeps() const { return database_ != nullptr && !failure_; }
    void say();
    void run(const char* sql);
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
