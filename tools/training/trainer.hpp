#pragma once
// The training behind its pages: who is here and at which drill. Knows no network and no clock: requests, times and
// chance are handed in. See tools/web/web_server.hpp for what brings them.
#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "tools/text/value.hpp"
#include "tools/training/exercise.hpp"
#include "tools/training/training_store.hpp"
#include "tools/training/vocabulary_records.hpp"
#include "tools/training/wrong_codes.hpp"
#include "tools/web/same_secret.hpp"
#include "tools/web/web_server.hpp"

namespace tools {

struct TrainerSettings {
    std::string secret;               ///< the instructor's
    std::optional<std::string> code;  ///< for joining; nothing: none is asked for
    std::string version = {};         ///< of the program, as records name it
    /// Drills that do not show what they promise, by number, with the reasons: not offered in exams.
    std::map<unsigned, std::vector<std::string>> broken = {};
};

/// What the trainer has from the machine.
struct TrainerSurroundings {
    std::function<proto::Instant()> now;     ///< a clock that runs evenly
    std::function<std::int64_t()> epoch_ms;  ///< milliseconds since 1970
    std::function<std::string()> random;     ///< 128 bits that nobody can guess, as hex
};

/// Somebody who has joined.
struct Trainee {
    KeptSession kept;
    proto::Instant last_seen;
    std::vector<std::unique_ptr<Exercise>> exercises;  ///< of kept.drills, those that were begun
    std::optional<std::size_t> explained;              ///< after an exam: the one whose debrief is looked at
    sim::Pace pace = sim::Pace::real;                  ///< as the instructor wants it
    bool held = false;                                 ///< the trainee has stopped the clock
    bool waits = false;                                ///< nobody looks on: the plant stands still
    int windows = 0;                                   ///< event streams
    bool seen = false;                                 ///< since the program began: else its place may be given away
    std::string from;                                  ///< address from which it joined; "": this machine, or not known

    [[nodiscard]] bool in_exam() const { return kept.mode == ExerciseMode::exam && !kept.drills.empty(); }
    /// The drill begun last, or nullptr.
    [[nodiscard]] Exercise* current() const { return exercises.empty() ? nullptr : exercises.back().get(); }
    [[nodiscard]] bool exam_over() const {
        return in_exam() && exercises.size() == kept.drills.size() && exercises.back()->over();
    }
    /// What the page shows: in an exam nothing once a drill was handed in, until it is explained at the end.
    [[nodiscard]] const Exercise* shown() const {
        if (!in_exam() || (current() != nullptr && !current()->over())) return current();
        return exam_over() && explained ? exercises[*explained].get() : nullptr;
    }
};

class Trainer final : public WebApplication {
  public:
    static constexpr std::size_t places = 30;
    static constexpr std::size_t name_bytes_max = 40;    ///< of a trainee; what is longer is cut
    static constexpr int windows_max = 3;                ///< of one trainee
    static constexpr std::size_t places_of_address = 3;  ///< of one other computer
    /// Takes up again what the store kept.
    Trainer(sim::DrillSet drills, TrainerSettings settings, TrainingStore& store, TrainerSurroundings surroundings);

    WebReply answer(const WebRequest& request) override;
    std::optional<Value> event(const WebRequest& request) override;
    bool listens(const WebRequest& request) override;
    void listens_no_more(const WebRequest& request) override;
    /// Where trainees reach it, once that is known.
    void be_reached_at(std::string address);
    /// Runs every bench up to now: to be called often.
    void run_on();

  private:
    WebReply answer_get(const WebRequest& request);
    WebReply answer_post(const WebRequest& request);
    WebReply join(const WebRequest& request);
    std::optional<WebReply> code_refused(const WebRequest& request);
    WebReply start(Trainee& trainee, const WebRequest& request);
    WebReply begin_exam(Trainee& trainee, const WebRequest& request);
    WebReply begin_drills(Trainee& trainee, ExerciseMode mode, std::vector<unsigned> drills);
    WebReply next_of_exam(Trainee& trainee);
    WebReply explain(Trainee& trainee, const WebRequest& request);
    WebReply act(Trainee& trainee, const WebRequest& request);
    WebReply hold(Trainee& trainee, const WebRequest& request);
    WebReply keep_draft(Trainee& trainee, const WebRequest& request);
    void begin(Trainee& trainee);
    /// Somebody else here is asked for that drill in an exam: until that is over nobody is told its answer.
    [[nodiscard]] bool held_back(const Trainee& trainee, std::int64_t drill) const;
    /// Null without an exam.
    [[nodiscard]] Value exam_news(const Trainee& trainee) const;
    [[nodiscard]] std::unique_ptr<Exercise> exercise_of(const Trainee& trainee, const sim::Drill& drill,
                                                        std::int64_t begun) const;
    static void run_on(Trainee& trainee, proto::Instant now);
    /// The clock of a bench as the instructor wants it, noted in what the trainee is at.
    void set_pace(Trainee& trainee, sim::Pace pace);
    /// Somebody looks on or acts: the plant is run up to now first, at the pace that held until then.
    void is_here(Trainee& trainee);
    void take_up_again();
    void take_up_again(KeptSession kept, proto::Instant now);
    [[nodiscard]] Value news(const Trainee& trainee) const;
    [[nodiscard]] Value drills_offered(const Trainee& trainee) const;
    Trainee* trainee_of(const std::string& session);
    using Trainees = std::map<std::string, Trainee>;
    /// The place is free again; an exam under way there is abandoned. Pages that are open there are told.
    Trainees::iterator give_away(Trainees::iterator place);

    // ---- what is kept, in trainer_results.cpp ----
    void keep_result(Trainee& trainee);
    void begin_exam_record(Trainee& trainee);
    /// Nothing if no exam is under way.
    void abandon_exam(const Trainee& trainee, ExamEndId why);
    [[nodiscard]] Value own_results(const Trainee& trainee) const;
    /// Whether the trainee may read it by now: an exam is told as a whole.
    [[nodiscard]] bool may_be_told(const Trainee& trainee, const TrainingResult& result) const;
    WebReply own_record(const Trainee& trainee, const WebRequest& request) const;
    WebReply withdraw_own(const Trainee& trainee, const WebRequest& request);
    [[nodiscard]] WebReply record(const TrainingResult& result) const;
    WebReply delete_record(const WebRequest& request);
    WebReply delete_person(const WebRequest& request);

    // ---- the instructor, in trainer_instructor.cpp ----
    [[nodiscard]] bool is_instructor(const WebRequest& request) const;
    WebReply tell_instructor(const WebRequest& request);
    WebReply instruct(const WebRequest& request);
    WebReply free_places(const WebRequest& request);
    /// Why an act that changes what is judged is not done to somebody in an exam; nothing where it may be.
    static std::optional<Exercise::Refusal> spared(const Trainee& trainee, const ActFields& fields, bool all);
    /// False if the trainee is at no drill, or may not be told that now: then `refusal` says why.
    bool instruct_one(Trainee& trainee, const ActFields& fields, std::optional<Exercise::Refusal>& refusal);
    [[nodiscard]] Value room() const;
    [[nodiscard]] std::vector<const Trainee*> in_order() const;

    const sim::DrillSet drills_;
    const sim::DrillSet exam_drills_;  ///< those of them that keep their promises
    const TrainerSettings settings_;
    TrainingStore& store_;
    const TrainerSurroundings surroundings_;
    std::string address_;
    const std::string run_;  ///< of this start of the program
    std::mutex mutex_;
    WrongCodes wrong_codes_;
    sim::Pace room_pace_ = sim::Pace::real;  ///< as told to all, also to those who come later
    Trainees trainees_;                      ///< by session
    std::map<std::string, int> given_away_;  ///< sessions with pages still open, and how many
};

// ---- for the parts of the trainer ----
/// Of an exam that is over, as an identifier: drills that are not judged count as such.
std::string_view verdict_on(const Trainee& trainee);
/// An exam would be thrown away, and nobody said that it may.
bool leaves_an_exam(const Trainee& trainee, const WebRequest& request);

std::string_view name_of(sim::Pace pace);
std::optional<sim::Pace> pace_of(const std::string& name);
WebReply refused(int status, std::string_view why);
WebReply replied(const Value& value);
/// "2026-11-26 14:31" at this place.
std::string local_time(std::int64_t epoch_ms);
/// A page, a script or a style of the program; nothing if there is none of that path.
std::optional<WebReply> built_in_page(const std::string& path, bool local);

}  // namespace tools
