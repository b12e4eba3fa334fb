// Of the trainer: results, records and exams as they are kept, and who may take which of them away.
#include <algorithm>

#include "tools/text/json.hpp"
#include "tools/training/trainer.hpp"
#include "tools/training/training_records.hpp"

namespace tools {
namespace {

std::string join_list(const std::vector<std::string>& list, std::string_view between) {
    std::string text;
    for (const std::string& one : list) text += (text.empty() ? "" : std::string(between)) + one;
    return text;
}

/// Actions in words.
std::string said(const Exercise& exercise, const std::vector<std::string>& ids, std::string_view between) {
    std::vector<std::string> words;
    for (const std::string& id : ids) {
        const std::string card = exercise.words_of(id);
        words.push_back(card == id ? word_of("dangers", id) : card);
    }
    return join_list(words, between);
}

/// What the trainer's hand did in one drill of an exam, after what it did in those before.
void add_touches(KeptExam& exam, const Exercise& exercise) {
    const std::string words = touches_in_words(exercise);
    if (words.empty()) return;
    exam.trainer +=
        (exam.trainer.empty() ? "drill " : " | drill ") + std::to_string(exercise.drill().number) + ": " + words;
}

}  // namespace

void Trainer::keep_result(Trainee& trainee) {
    const Exercise& exercise = *trainee.current();
    const sim::Answers& answers = exercise.answers();
    std::vector<std::string> dangerous;
    for (const sim::Reasoned& one : exercise.score()->dangerous) dangerous.push_back(one.id);
    const std::int64_t epoch_ms = surroundings_.epoch_ms();
    TrainingResult result{.when = local_time(epoch_ms),
                          .session = trainee.kept.session,
                          .name = trainee.kept.name,
                          .drill = exercise.drill().number,
                          .title = exercise.drill().title,
                          .mode = std::string(name_of(exercise.mode())),
                          .result = exercise.result(),
                          .points = is_judged(exercise) ? exercise.score()->points() : 0,
                          .seconds = exercise.took_s(),
                          .hints = exercise.hints(),
                          .where = answers.cannot_tell ? "cannot tell" : answers.where,
                          .what = answers.what,
                          .actions = join_list(answers.actions, " > "),
                          .dangerous = join_list(dangerous, ", "),
                          .record = to_embedded_json(exercise_record(exercise)),
                          .person = trainee.kept.person,
                          .exam = trainee.kept.exam,
                          .trainer = touches_in_words(exercise),
                          .version = settings_.version,
                          .actions_said = said(exercise, answers.actions, " > "),
                          .dangerous_said = said(exercise, dangerous, "; ")};
    trainee.kept.results.push_back(store_.add(std::move(result)));
    store_.keep(trainee.kept);
    const KeptExam* const kept = store_.exam(trainee.kept.exam);
    if (kept == nullptr) return;
    KeptExam exam = *kept;
    ++exam.done;
    if (is_judged(exercise)) ++exam.judged;
    add_touches(exam, exercise);
    if (trainee.exam_over()) {
        exam.state = KeptExam::State::over;
        exam.ended = local_time(epoch_ms);
        exam.verdict = verdict_on(trainee);
    }
    store_.keep(exam);
}

void Trainer::begin_exam_record(Trainee& trainee) {
    KeptExam exam{.person = trainee.kept.person,
                  .session = trainee.kept.session,
                  .name = trainee.kept.name,
                  .begun = local_time(surroundings_.epoch_ms()),
                  .ended = "",
                  .drills = static_cast<std::int64_t>(trainee.kept.drills.size()),
                  .why = "",
                  .verdict = ""};
    if (!trainee.kept.begun.empty()) exam.begun = local_time(trainee.kept.begun.front() * 1000);
    for (const auto& exercise : trainee.exercises) {
        exam.done += exercise->over() ? 1 : 0;
        exam.judged += exercise->over() && is_judged(*exercise) ? 1 : 0;
        if (exercise->over()) add_touches(exam, *exercise);
    }
    if (trainee.exam_over()) {
        exam.state = KeptExam::State::over;
        exam.verdict = verdict_on(trainee);
    }
    trainee.kept.exam = store_.begin(std::move(exam));
    store_.keep(trainee.kept);
}

void Trainer::abandon_exam(const Trainee& trainee, ExamEndId why) {
    const KeptExam* const kept = store_.exam(trainee.kept.exam);
    if (kept == nullptr || kept->state != KeptExam::State::under_way) return;
    KeptExam exam = *kept;
    exam.state = KeptExam::State::abandoned;
    exam.ended = local_time(surroundings_.epoch_ms());
    exam.why = why.id();
    // what was done in a drill that was not handed in stands nowhere else
    if (const Exercise* const exercise = trainee.current(); exercise != nullptr && !exercise->over())
        add_touches(exam, *exercise);
    store_.keep(exam);
}

bool Trainer::may_be_told(const Trainee& trainee, const TrainingResult& result) const {
    // asked of every result that is kept: the one that looks at the whole room comes last
    return result.session == trainee.kept.session &&
           (result.exam == 0 || result.exam != trainee.kept.exam || trainee.exam_over()) &&
           !held_back(trainee, result.drill);
}

Value Trainer::own_results(const Trainee& trainee) const {
    Value::List own;
    for (const TrainingResult& result : store_.all())
        if (may_be_told(trainee, result)) own.push_back(described(result));
    return Value::Object{{"results", std::move(own)}};
}

WebReply Trainer::record(const TrainingResult& result) const {
    auto record = from_json(result.record);
    const KeptExam* const exam = store_.exam(result.exam);
    return replied(Value::Object{{"result", described(result)},
                                 {"exam", exam != nullptr ? described(*exam) : Value()},
                                 {"record", record ? std::move(record).value() : Value()},
                                 {"chain", chain_told(store_)}});
}

WebReply Trainer::own_record(const Trainee& trainee, const WebRequest& request) const {
    const auto id = number_of(request.fields, "id");
    const TrainingResult* const result = id ? store_.find(*id) : nullptr;
    if (result == nullptr || !may_be_told(trainee, *result)) return refused(404, "no such record");
    return record(*result);
}

/// What was done stays: the trainee can only say not to stand by it.
WebReply Trainer::withdraw_own(const Trainee& trainee, const WebRequest& request) {
    const auto id = number_of(request.fields, "id");
    const TrainingResult* const result = id ? store_.find(*id) : nullptr;
    if (result == nullptr || result->session != trainee.kept.session) return refused(404, "no such record");
    if (result->mode == name_of(ExerciseMode::exam)) return refused(409, RefusalId("exam-stays").id());
    store_.withdraw(*id, local_time(surroundings_.epoch_ms()));
    return replied(own_results(trainee));
}

WebReply Trainer::delete_record(const WebRequest& request) {
    const auto id = number_of(request.fields, "id");
    if (!id || store_.find(*id) == nullptr) return refused(404, "no such record");
    if (field_of(request.fields, "confirm") != std::to_string(*id))
        return refused(409, RefusalId("not-confirmed").id());
    if (!store_.remove(*id, local_time(surroundings_.epoch_ms()))) return refused(404, "no such record");
    return replied(Value::Object{{"deleted", *id}});
}

WebReply Trainer::delete_person(const WebRequest& request) {
    const std::string who = field_of(request.fields, "who");
    const auto number = number_of({{"n", who.starts_with('P') ? who.substr(1) : ""}}, "n");
    const KeptPerson* const person = number ? store_.person(*number) : nullptr;
    if (person == nullptr) return refused(404, "no such person");
    if (field_of(request.fields, "confirm") != who) return refused(409, RefusalId("not-confirmed").id());
    if (const auto place = trainees_.find(person->session); place != trainees_.end()) give_away(place);
    store_.forget_person(*number);
    return replied(Value::Object{{"deleted", who}});
}

}  // namespace tools
