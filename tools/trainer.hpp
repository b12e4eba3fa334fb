#pragma once
// The training behind its pages: who is here, at which drill, and what they did. Knows no network and no clock:
// requests and times are handed in. See tools/web_server.hpp for what brings them.
#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "sim/training/bench_clock.hpp"
#include "sim/training/drill_check.hpp"
#include "sim/training/score.hpp"
#include "tools/training_results.hpp"
#include "tools/value.hpp"
#include "tools/web_server.hpp"

namespace tools {

/// A line of the trainee's log.
struct LogLine {
    proto::Instant at;  ///< plant time
    std::string what;   ///< key of the page's texts
    std::string about;  ///< what it is about, or empty
};

/// One trainee at one drill.
struct Exercise {
    Exercise(const sim::Drill& chosen, std::uint64_t seed, proto::Instant wall)
        : drill(chosen),
          bench(sim::bench_of(chosen, seed)),
          clock(bench->now(), wall),
          broken(sim::broken_promises(chosen, *bench)),
          began(wall) {}
    const sim::Drill& drill;
    std::unique_ptr<sim::Bench> bench;
    sim::BenchClock clock;
    std::vector<std::string> broken;  ///< promises that the drill does not keep: it is not scored
    proto::Instant began;
    int step = 1;          ///< 1 Secure .. 5 Debrief
    unsigned minutes = 0;  ///< of plant time that instruments took
    unsigned hints = 0;
    std::vector<std::string> used;  ///< instruments
    sim::Answers answers;
    std::vector<LogLine> log;
    std::optional<sim::Score> score;
    std::optional<sim::Reasoned> warned;  ///< the last dangerous act, to be explained
    bool cause_shown = false;
};

struct Trainee {
    std::string session, token, name;
    bool exam = false;
    proto::Instant last_seen;
    std::unique_ptr<Exercise> exercise;
};

struct TrainerSettings {
    std::string secret;               ///< the instructor's
    std::optional<std::string> code;  ///< for joining; nothing: none is asked for
    std::string address;              ///< as told to trainees
};

class Trainer final : public WebApplication {
  public:
    static constexpr std::size_t places = 30;
    /// `now` is any clock that runs evenly; `random` gives 128 bits that nobody can guess, as hex.
    Trainer(sim::DrillSet drills, TrainerSettings settings, TrainingResults& results,
            std::function<proto::Instant()> now, std::function<std::string()> random);

    WebReply answer(const WebRequest& request) override;
    std::optional<std::string> event(const WebRequest& request) override;
    /// Runs every bench up to now: to be called often.
    void run_on();

  private:
    WebReply answer_get(const WebRequest& request);
    WebReply answer_post(const WebRequest& request);
    WebReply join(const WebRequest& request);
    WebReply start(Trainee& trainee, const WebRequest& request);
    WebReply act(Trainee& trainee, const WebRequest& request);
    WebReply instruct(const WebRequest& request);
    WebReply put_in(Exercise& exercise, const WebRequest& request);
    [[nodiscard]] bool is_instructor(const WebRequest& request) const;
    Trainee* trainee_of(const std::string& session);
    void finish(Trainee& trainee);
    [[nodiscard]] Value room() const;

    const sim::DrillSet drills_;
    const TrainerSettings settings_;
    TrainingResults& results_;
    std::function<proto::Instant()> now_;
    std::function<std::string()> random_;
    std::mutex mutex_;
    std::map<std::string, Trainee> trainees_;  ///< by session
    std::uint64_t seeds_ = 0;
};

/// What the trainee's page shows.
Value exercise_state(const Exercise& exercise, const std::vector<sim::ActionCard>& cards);

}  // namespace tools
