// Exams: which drills they ask for, drawn anew for each trainee, and what they are worth as a whole.
#include <algorithm>
#include <memory>
#include <string>

#include "sim/training/drawn.hpp"
#include "sim/training/exam.hpp"
#include "tools/training/trainer.hpp"
#include "tools/training/vocabulary.hpp"

namespace tools {
namespace {

using proto::Instant;

std::uint64_t seed_from(const std::string& hex) {
    std::uint64_t seed = 0;
    for (const char digit : hex.substr(0, 16)) seed = seed * 31 + static_cast<unsigned char>(digit);
    return seed;
}

}  // namespace

std::string_view verdict_on(const Trainee& trainee) {
    sim::ExamResults results;
    for (const auto& exercise : trainee.exercises)
        results.push_back(is_judged(*exercise) ? std::optional(exercise->score()->result) : std::nullopt);
    return sim::name_of(sim::exam_verdict(results, trainee.kept.drills.size()));
}

bool leaves_an_exam(const Trainee& trainee, const WebRequest& request) {
    return trainee.in_exam() && !trainee.exam_over() && field_of(request.fields, "leave") != "true";
}

/// In an exam drawn anew, from what is kept: taken up again it is the same.
std::unique_ptr<Exercise> Trainer::exercise_of(const Trainee& trainee, const sim::Drill& drill,
                                               std::int64_t begun) const {
    const Instant now = surroundings_.now();
    if (trainee.kept.mode != ExerciseMode::exam)
        return std::make_unique<Exercise>(drill, drills_.cards, trainee.kept.mode, now, begun);
    const std::uint64_t seed = seed_from(trainee.kept.session) ^ static_cast<std::uint64_t>(begun);
    sim::DrawnDrill drawn = sim::drawn_for_exam(drill, seed);
    return std::make_unique<Exercise>(std::make_unique<const sim::Drill>(std::move(drawn.drill)),
                                      std::move(drawn.bench), drills_.cards, trainee.kept.mode, now, begun);
}

WebReply Trainer::begin_exam(Trainee& trainee, const WebRequest& request) {
    if (leaves_an_exam(trainee, request)) return refused(409, RefusalId("exam-under-way").id());
    std::vector<unsigned> drills = sim::exam_of(exam_drills_, seed_from(surroundings_.random()));
    if (drills.empty()) return refused(409, RefusalId("no-drills").id());
    return begin_drills(trainee, ExerciseMode::exam, std::move(drills));
}

WebReply Trainer::next_of_exam(Trainee& trainee) {
    if (!trainee.in_exam() || trainee.exam_over() || trainee.current() == nullptr || !trainee.current()->over())
        return refused(409, "no drill of an exam is to be begun");
    begin(trainee);
    return replied(news(trainee));
}

bool Trainer::held_back(const Trainee& trainee, std::int64_t drill) const {
    constexpr proto::Duration gone_after = proto::seconds(600);  // whoever left an exam open keeps nobody waiting
    const Instant now = surroundings_.now();
    return std::any_of(trainees_.begin(), trainees_.end(), [&](const auto& entry) {
        const Trainee& other = entry.second;
        return &other != &trainee && other.in_exam() && !other.exam_over() && now - other.last_seen < gone_after &&
               std::find(other.kept.drills.begin(), other.kept.drills.end(), drill) != other.kept.drills.end();
    });
}

Value Trainer::exam_news(const Trainee& trainee) const {
    if (!trainee.in_exam()) return {};
    const bool over = trainee.exam_over();
    Value::List drills;
    for (std::size_t i = 0; over && i < trainee.exercises.size(); ++i) {
        const Exercise& one = *trainee.exercises[i];
        drills.push_back(Value::Object{
            {"number", one.drill().number},
            {"title", one.drill().title},
            {"result", one.result()},
            {"judged", is_judged(one)},
            {"points", is_judged(one) && one.score()->dangerous.empty() ? Value(one.score()->points()) : Value()}});
    }
    const KeptExam* const kept = store_.exam(trainee.kept.exam);
    return Value::Object{{"number", trainee.kept.exam},
                         {"verdict", over ? Value(verdict_on(trainee)) : Value()},
                         {"judged", kept != nullptr && over ? Value(kept->judged) : Value()},
                         {"at", trainee.exercises.size()},
                         {"of", trainee.kept.drills.size()},
                         {"over", over},
                         {"drills", std::move(drills)}};
}

}  // namespace tools
