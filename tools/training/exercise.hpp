#pragma once
// One trainee at one drill: every act is taken here, checked, noted and done at the bench. Knows no network. The same
// acts at the same plant times give the same exercise again, so that one can be kept and taken up later.
#include <cstdint>
#include <initializer_list>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/training/bench_clock.hpp"
#include "sim/training/consequence.hpp"
#include "sim/training/drill_check.hpp"
#include "sim/training/plant_work.hpp"
#include "sim/training/score.hpp"
#include "tools/text/value.hpp"
#include "tools/training/vocabulary.hpp"

namespace tools {

/// An act as it is asked for: "act" and what belongs to it.
using ActFields = std::map<std::string, std::string>;
/// The field of that name, or "".
std::string field_of(const ActFields& fields, const std::string& key);
/// Only the fields of these names.
ActFields only(const ActFields& fields, std::initializer_list<const char*> keys);
/// The field as a whole number, or nothing.
std::optional<unsigned> number_of(const ActFields& fields, const std::string& key);

enum class ExerciseMode : std::uint8_t {
    practice,  ///< hints; a dangerous choice is explained at once, a dangerous card is taken back
    exam,      ///< no hints; all is explained at the end
};
constexpr std::string_view name_of(ExerciseMode mode) { return mode == ExerciseMode::exam ? "exam" : "practice"; }

/// A line of the trainee's log.
struct LogLine {
    proto::Instant at;    ///< plant time
    std::string what;     ///< of log_words
    std::string about;    ///< what it is about, or empty
    bool untold = false;  ///< until it is over: what a trainee must not read before
};

/// What the trainer's hand did.
struct Touch {
    proto::Instant at;  ///< plant time
    std::string what;   ///< of hand_words
    std::string words;
    std::string wall = {};  ///< local date and time; while the plant stands only this goes on. Empty: not known
};

/// A fault as an answer names it.
struct NamedFault {
    std::string link;  ///< its name, where there are several
    std::string where, what;
};
/// All that the trainer's hand did at an exercise.
struct ByHand {
    std::vector<Touch> touches;
    /// Declared free: the answer is compared with what the trainer put in, not with the drill's own cause, and there
    /// are no points.
    bool free = false;
    bool cause_shown = false;
    /// Of the trainer's faults those that had touched something when the answer was given.
    std::vector<NamedFault> answerable;
};

class Exercise {
  public:
    static constexpr std::size_t log_lines_max = 400;
    static constexpr std::size_t acts_max = 2000;  ///< more are refused
    /// The onlookers see work at the plant pass in so long, whatever it takes there...
    static constexpr proto::Duration work_lasts = proto::seconds(3);
    /// ...and each look moves the bench by so much of it at the most.
    static constexpr proto::Duration work_slice = proto::seconds(30);

    /// Drill and cards must outlive it. `wall` is the time of whoever looks on, `begun` seconds since 1970.
    Exercise(const sim::Drill& drill, const std::vector<sim::ActionCard>& cards, ExerciseMode mode, proto::Instant wall,
             std::int64_t begun);

    /// The same for a drill that nobody else keeps, with its bench at the time at which the trainee comes.
    Exercise(std::unique_ptr<const sim::Drill> drill, std::unique_ptr<sim::Bench> bench,
             const std::vector<sim::ActionCard>& cards, ExerciseMode mode, proto::Instant wall, std::int64_t begun);

    struct Refusal {
        int status;  ///< as HTTP has it
        std::string_view why;
    };
    /// Does what the trainee asks for, or says why not; then nothing has changed.
    std::optional<Refusal> act(const ActFields& fields);
    /// The instructor's hand: "put-in", "take-out", "cause", "pace" (which is noted only). All of it stands in
    /// by_hand().
    std::optional<Refusal> instruct(const ActFields& fields);
    /// Either, at that plant time: to take up again what was kept. From then on it is `wall` for the onlookers.
    void repeat(proto::Instant at, const ActFields& fields, proto::Instant wall);

    /// Runs the bench as far as the time of the onlookers has come. Does not catch up on what nobody saw.
    void run_on(proto::Instant wall);
    /// Runs what is under way at the plant to its end, for whoever does not look on.
    friend void finish_work(Exercise& exercise);
    void set_pace(sim::Pace pace, proto::Instant wall) { clock_.set_pace(pace, wall); }
    [[nodiscard]] sim::Pace pace() const { return clock_.pace(); }

    [[nodiscard]] const sim::Drill& drill() const { return drill_; }
    [[nodiscard]] const std::vector<sim::ActionCard>& cards() const { return cards_; }
    [[nodiscard]] const sim::Bench& bench() const { return *bench_; }
    [[nodiscard]] ExerciseMode mode() const { return mode_; }
    [[nodiscard]] int step() const { return step_; }  ///< 1 Secure .. 5 Debrief
    [[nodiscard]] bool over() const { return step_ == 5; }
    [[nodiscard]] const sim::Answers& answers() const { return answers_; }
    [[nodiscard]] const std::vector<LogLine>& log() const { return log_; }
    [[nodiscard]] const std::vector<std::string>& used() const { return used_; }  ///< instruments
    [[nodiscard]] unsigned hints() const { return hints_; }
    [[nodiscard]] std::int64_t begun() const { return begun_; }
    /// How long it has taken by the time of the onlookers, whatever becomes of the clock of their wall; of an exercise
    /// that was taken up again at least as long as its plant has run.
    [[nodiscard]] std::int64_t took_s() const { return took_.ns / proto::seconds(1).ns; }
    /// The words of an action card, or the id itself.
    [[nodiscard]] std::string words_of(const std::string& id) const;
    /// Promises that the drill does not keep: it is not scored then.
    [[nodiscard]] const std::vector<std::string>& broken() const { return broken_; }
    /// Once it is over.
    [[nodiscard]] const std::optional<sim::Score>& score() const { return score_; }
    /// "safe-and-found" and so on, "drill-broken", or of unjudged_words. Requires a score.
    [[nodiscard]] std::string result() const;
    [[nodiscard]] const ByHand& by_hand() const { return by_hand_; }
    /// The last dangerous act, or card taken back, to be explained; practice only.
    [[nodiscard]] const std::optional<sim::Reasoned>& warned() const { return warned_; }
    /// What people did at the plant, and what dangerous acts lead to, in the order in which they were chosen; as many
    /// as can be played.
    struct AtPlant {
        const sim::PlantWork& work;
        const std::vector<sim::Consequence>& outcomes;
    };
    [[nodiscard]] AtPlant at_plant() const { return {work_, outcomes_}; }

  private:
    Exercise(const sim::Drill& drill, std::unique_ptr<sim::Bench> bench, const std::vector<sim::ActionCard>& cards,
             ExerciseMode mode, proto::Instant wall, std::int64_t begun);

    using Done = std::optional<Refusal>;
    Done step_to(const ActFields& fields);
    Done conduct(const std::string& choice);
    Done use(const std::string& instrument);
    Done demand(const ActFields& fields);
    Done keep(const std::string& reading);
    Done acknowledge(const std::string& link);
    Done reset();
    Done restart(const std::string& link);
    [[nodiscard]] std::optional<std::size_t> link_of(const std::string& number) const;
    Done hint();
    Done cannot_tell();
    Done name(const ActFields& fields);
    Done do_work(const ActFields& fields);
    Done hand_over();
    void run_bench_to(proto::Instant end);
    void tell_of_work();
    void play(const std::string& id);
    Done do_by_hand(const ActFields& fields);
    [[nodiscard]] std::vector<NamedFault> faults_by_hand() const;
    [[nodiscard]] const sim::Drill& judged_by() const { return free_drill_ ? *free_drill_ : drill_; }
    void declare_free();
    Done put_in(const ActFields& fields);
    Done show_cause(bool show);
    void touch(std::string_view what, std::string words);
    Done do_as_told(const ActFields& fields);
    void note(LogId what, std::string about = "", bool untold = false);
    void warn(const std::string& id, const std::string& why);
    void explain(const std::string& id, const std::string& why);
    [[nodiscard]] bool moves_unstopped() const;
    void look_on();
    [[nodiscard]] bool may_keep(std::string_view reading) const;
    [[nodiscard]] std::string why_not(std::string_view card) const;

    std::unique_ptr<const sim::Drill> own_drill_;  ///< or nullptr
    const sim::Drill& drill_;
    const std::vector<sim::ActionCard>& cards_;
    ExerciseMode mode_;
    std::unique_ptr<sim::Bench> bench_;
    sim::PlantWork work_;
    sim::BenchClock clock_;
    std::vector<std::string> broken_;
    std::int64_t begun_;
    proto::Instant seen_;  ///< last, in the time of the onlookers
    proto::Duration took_{};
    int step_ = 1;
    unsigned hints_ = 0;
    std::size_t acts_ = 0;
    std::vector<std::string> used_;
    sim::Answers answers_;
    std::vector<LogLine> log_;
    std::optional<sim::Score> score_;
    std::optional<sim::Reasoned> warned_;
    std::optional<std::vector<std::string>> kept_when_named_;  ///< what is kept later is no evidence for it
    std::vector<bool> latched_when_come_;                      ///< by safeguard: by somebody else, who knows why
    std::vector<sim::Consequence> outcomes_;
    std::size_t works_told_ = 0, returns_told_ = 0;  ///< in the log
    ByHand by_hand_;
    std::size_t own_faults_ = 0;              ///< of the drill; those after them are the trainer's
    std::unique_ptr<sim::Drill> free_drill_;  ///< what holds of a free one whatever is put in
};

void finish_work(Exercise& exercise);

/// Why a drill has no pass or fail and no points, of unjudged_words: with faults put in or taken out by the trainer, or
/// with the cause shown in an exam. "drill-broken" where it does not keep its promises; "" where it is judged.
std::string_view why_not_judged(const Exercise& exercise);
inline bool is_judged(const Exercise& exercise) { return why_not_judged(exercise).empty(); }
/// Of a free one that is over: "faults" by "link", "where" and "what", and whether what was "secured" is all that the
/// place asks for. Null otherwise.
Value free_state(const Exercise& exercise);
/// The hour of that plant time in the drill: "14:31:40".
std::string hour_of(const Exercise& exercise, proto::Instant at);
/// All that the trainer's hand did, with the hours: for a table.
std::string touches_in_words(const Exercise& exercise);
/// The same as data: "at" and "words".
Value touches_state(const Exercise& exercise);

/// What the trainee's page shows: only what somebody at the plant could read by now. `titled`: its number and title may
/// be told.
Value exercise_state(const Exercise& exercise, bool titled);
/// What was done and answered, and what it was worth: for a record. Requires a score.
Value exercise_record(const Exercise& exercise);
/// The debrief: score, cause, one telegram, what each end knew. Requires a score.
Value debrief_state(const Exercise& exercise);

}  // namespace tools
