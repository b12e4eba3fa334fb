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

/// Somebody who joined. Two who typed the same name are two people: only the number of a person says who it is.
struct KeptPerson {
    std::int64_t id = 0;  ///< 1.., never given twice by one file
    std::string session, name;
    std::string called;  ///< the name; if others had typed it before, with a number behind it: "Anna (2)"
};

struct TrainingResult {
    std::int64_t id = 0;
    std::string when;     ///< local time, "2026-11-26 14:31"
    std::string session;  ///< of the trainee: who may see it besides the instructor
    std::string name;     ///< as the person is called
    std::int64_t drill = 0;
    std::string title, mode, result;
    std::int64_t points = 0;  ///< not shown after a dangerous action
    std::int64_t seconds = 0, hints = 0;
    std::string where, what, actions, dangerous;
    std::string record;          ///< exercise_record() as JSON
    std::int64_t person = 0;     ///< 0: not known, from a file that kept names only
    std::int64_t exam = 0;       ///< 0: of none
    std::string trainer;         ///< what the trainer's hand did, in words
    std::string version;         ///< of the program; empty: not known
    std::string actions_said;    ///< in words
    std::string dangerous_said;  ///< in words
    std::string withdrawn = {};  ///< by the trainee, when; it counts and stays
    std::string deleted = {};    ///< by the trainer, when: that there was one is all that is left of it
    std::string hash = {};       ///< of its latest entry of the chain, and of the entry before that one
    std::string before = {};
};

/// An exam as a whole.
struct KeptExam {
    enum class State : std::uint8_t {
        under_way,
        over,
        abandoned,  ///< left, or ended from outside, before its last drill was handed in
        strange,    ///< the file says something that this program never writes
    };
    std::int64_t id = 0;  ///< 1.., never given twice by one file
    std::int64_t person = 0;
    std::string session, name;  ///< as the person is called
    std::string begun, ended;   ///< local times; not over: no end
    std::int64_t drills = 0;    ///< that it asks for
    std::int64_t done = 0;      ///< of these handed in
    std::int64_t judged = 0;    ///< of these judged: without the trainer's hand in them
    State state = State::under_way;
    std::string why;           ///< of an abandoned one: of exam_end_words
    std::string verdict;       ///< of exam_words; empty until it is over
    std::string trainer = {};  ///< what the trainer's hand did in its drills, in words
    std::string hash = {};     ///< of its latest entry of the chain, and of the entry before that one
    std::string before = {};
};
std::string_view name_of(KeptExam::State state);  ///< "under-way" and so on

/// One link of the chain of records: see record_chain.hpp.
struct ChainEntry {
    std::int64_t number = 0;  ///< 1.., without a gap
    std::string kind;         ///< of chained
    std::string about;        ///< number of the record
    std::string content;      ///< hash of what stands there since; empty: nothing does
    std::string before;       ///< hash of the entry before; of the first 64 times 0
    std::string hash;         ///< of all of the above
};

/// A trainee whose place is kept.
struct KeptSession {
    std::string session, token, name;
    ExerciseMode mode = ExerciseMode::practice;
    std::vector<unsigned> drills;       ///< in practice one, in an exam all of it; none before the first begin
    std::vector<std::int64_t> begun;    ///< of those that were begun: seconds since 1970
    std::vector<std::int64_t> results;  ///< ids of an exam's results so far
    std::int64_t person = 0;            ///< id of a KeptPerson
    std::int64_t exam = 0;              ///< id of a KeptExam; 0 in practice
    ActFields draft = {};               ///< what is chosen and not yet handed in
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
    /// In a database that is open; `name` is its name in messages.
    TrainingStore(std::string name, Database database);
    /// What stands in a file, to be looked at: nothing is written to it, and what is kept here is not kept there.
    static TrainingStore looked_at(std::string name, Database database);
    /// The first that happened; what came later is then kept in memory only.
    [[nodiscard]] const std::optional<Failure>& failure() const { return failure_; }
    /// Whether what is kept is kept in a file.
    [[nodiscard]] bool keeps() const { return database_ != nullptr && !failure_; }

    /// What is kept while one of these lives is kept as a whole, or not at all.
    class Together {
      public:
        explicit Together(TrainingStore& store) : store_(store) {
            if (store_.together_++ == 0) store_.run("BEGIN");
        }
        ~Together() {
            if (--store_.together_ == 0) store_.run("COMMIT");
        }
        Together(const Together&) = delete;
        Together& operator=(const Together&) = delete;

      private:
        TrainingStore& store_;
    };

    /// The id that it got.
    std::int64_t add(TrainingResult result);
    /// The trainee no longer stands by it: it stays, with that said.
    void withdraw(std::int64_t id, const std::string& when);
    /// By the trainer: what is left is that a result was deleted, whose and when; of somebody unknown nothing is. False
    /// if there is none of that number, or it was deleted before.
    bool remove(std::int64_t id, const std::string& when);
    [[nodiscard]] const std::vector<TrainingResult>& all() const { return results_; }
    [[nodiscard]] const TrainingResult* find(std::int64_t id) const;

    // ---- people and exams ----
    /// A new person, called so that no other is called the same.
    KeptPerson join(const std::string& session, const std::string& name);
    [[nodiscard]] const KeptPerson* person(std::int64_t id) const;
    /// All that is kept of somebody, the name with it. False if there is nobody of that number.
    bool forget_person(std::int64_t id);
    /// The id that it got.
    std::int64_t begin(KeptExam exam);
    /// As it is now; requires one of begin().
    void keep(const KeptExam& exam);
    [[nodiscard]] const std::vector<KeptExam>& exams() const { return exams_; }
    [[nodiscard]] const KeptExam* exam(std::int64_t id) const;

    // ---- the chain of records ----
    [[nodiscard]] const std::vector<ChainEntry>& chain() const { return chain_; }
    /// How many entries were made, by the file's own count: more than are there if the end was cut off.
    [[nodiscard]] std::int64_t entries_made() const { return entries_made_; }
    /// What did not hold when the file was opened, each in a line.
    [[nodiscard]] const std::vector<std::string>& wrong_at_first() const { return wrong_at_first_; }

    // ---- places; only in a file ----
    void keep(const KeptSession& session);
    void keep(const std::string& session, const KeptAct& act);
    void forget_acts(const std::string& session);
    void forget(const std::string& session);
    /// As the file had them when it was opened.
    [[nodiscard]] std::vector<KeptSession> sessions();
    [[nodiscard]] std::vector<KeptAct> acts(const std::string& session);

  private:
    enum class How : std::uint8_t { serve, look };
    TrainingStore(std::string name, Database database, How how);
    void take_up(How how);
    [[nodiscard]] bool prepare(How how);
    void read_chain();
    void chain_older();
    /// An entry more; the hashes it gets are those of the record from then on.
    const ChainEntry& link(std::string_view kind, std::string about, std::string content);
    template <class Record>
    void link(std::string_view kind, Record& record);
    void read_results();
    void read_people();
    void read_exams();
    void write(const TrainingResult& result);
    void say();
    void run(const char* sql);
    std::optional<std::string> file_;
    std::unique_ptr<Database> database_;
    std::optional<Failure> failure_;
    std::vector<TrainingResult> results_;
    std::vector<KeptPerson> people_;
    std::vector<KeptExam> exams_;
    std::vector<ChainEntry> chain_;
    std::vector<std::string> wrong_at_first_;
    std::int64_t last_id_ = 0, last_person_ = 0, last_exam_ = 0, entries_made_ = 0;
    bool unchained_ = false;  ///< of a layout that had no chain
    bool only_looks_ = false;
    int together_ = 0;
};

/// The tables of this layout in the file, made or brought up to date; a file of a newer layout gives its number.
struct Layout {
    bool done = false;
    std::int64_t newer = 0;
    bool foreign = false;  ///< no training's: nothing was written to it
    bool older = false;    ///< it had no chain of records: a transaction is open in which it gets one
};
Layout lay_out(Database& database);
/// The same of a file that is only looked at: an older one is not done.
Layout look_at_layout(Database& database);

}  // namespace tools
