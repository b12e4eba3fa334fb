// Of the training's store: people and exams.
#include <algorithm>

#include "tools/training/record_chain.hpp"
#include "tools/training/training_store.hpp"

namespace tools {
namespace {

template <class Things>
auto* of_id(Things& things, std::int64_t id) {
    const auto found = std::find_if(things.begin(), things.end(), [&](const auto& one) { return one.id == id; });
    return found == things.end() ? nullptr : &*found;
}

}  // namespace

std::string_view name_of(KeptExam::State state) {
    switch (state) {
        case KeptExam::State::under_way: return "under-way";
        case KeptExam::State::over: return "over";
        case KeptExam::State::abandoned: return "abandoned";
        case KeptExam::State::strange: break;
    }
    return "?";
}

void TrainingStore::read_people() {
    Database::Statement read(*database_, "SELECT id, session, name, called FROM training_person ORDER BY id");
    while (read.step()) people_.push_back({read.number(0), read.text(1), read.text(2), read.text(3)});
    if (database_->problem() != DatabaseProblem::none) say();
    // also of those who were deleted since
    last_person_ = database_->number("SELECT seq FROM sqlite_sequence WHERE name = 'training_person'").value_or(0);
}

void TrainingStore::read_exams() {
    Database::Statement read(*database_,
                             "SELECT id, person, session, begun, ended, drills, done, judged, state, why, verdict, "
                             "trainer FROM training_exam ORDER BY id");
    while (read.step()) {
        const KeptPerson* const who = person(read.number(1));
        const std::int64_t said = read.number(8);
        const std::int64_t state = said >= 0 && said <= 2 ? said : 3;
        exams_.push_back({read.number(0), read.number(1), read.text(2), who != nullptr ? who->called : "", read.text(3),
                          read.text(4), read.number(5), read.number(6), read.number(7),
                          static_cast<KeptExam::State>(state), read.text(9), read.text(10), read.text(11)});
    }
    if (database_->problem() != DatabaseProblem::none) say();
    last_exam_ = database_->number("SELECT seq FROM sqlite_sequence WHERE name = 'training_exam'").value_or(0);
}

KeptPerson TrainingStore::join(const std::string& session, const std::string& name) {
    KeptPerson person{.id = ++last_person_, .session = session, .name = name, .called = name};
    const auto taken = [&] {
        return std::any_of(people_.begin(), people_.end(),
                           [&](const KeptPerson& one) { return one.called == person.called; });
    };
    for (int n = 2; taken(); ++n) person.called = name + " (" + std::to_string(n) + ")";
    people_.push_back(person);
    if (!keeps()) return person;
    Database::Statement insert(*database_,
                               "INSERT INTO training_person (id, session, name, called) VALUES (?, ?, ?, ?)");
    insert.bind(1, person.id);
    insert.bind(2, std::string_view(person.session));
    insert.bind(3, std::string_view(person.name));
    insert.bind(4, std::string_view(person.called));
    insert.step();
    if (database_->problem() != DatabaseProblem::none) say();
    return person;
}

const KeptPerson* TrainingStore::person(std::int64_t id) const { return of_id(people_, id); }
const KeptExam* TrainingStore::exam(std::int64_t id) const { return of_id(exams_, id); }

bool TrainingStore::forget_person(std::int64_t id) {
    const KeptPerson* const person = this->person(id);
    if (person == nullptr) return false;
    const std::string session = person->session;
    std::vector<std::int64_t> results, exams;
    for (const TrainingResult& one : results_)
        if (one.person == id) results.push_back(one.id);
    for (const KeptExam& one : exams_)
        if (one.person == id) exams.push_back(one.id);
    std::erase_if(results_, [&](const TrainingResult& one) { return one.person == id; });
    std::erase_if(exams_, [&](const KeptExam& one) { return one.person == id; });
    std::erase_if(people_, [&](const KeptPerson& one) { return one.id == id; });
    {
        const Together together(*this);
        forget(session);
        for (const std::int64_t one : results) link(chained::result_gone, std::to_string(one), "");
        for (const std::int64_t one : exams) link(chained::exam_gone, std::to_string(one), "");
        for (const char* sql :
             {"DELETE FROM training_result WHERE person = ?", "DELETE FROM training_exam WHERE person = ?",
              "DELETE FROM training_person WHERE id = ?"}) {
            if (!keeps()) break;
            Database::Statement remove(*database_, sql);
            remove.bind(1, id);
            remove.step();
            if (database_->problem() != DatabaseProblem::none) say();
        }
    }
    // so that nothing of the name is left in what was written before
    run("PRAGMA wal_checkpoint(TRUNCATE)");
    return true;
}

std::int64_t TrainingStore::begin(KeptExam exam) {
    exam.id = ++last_exam_;
    exams_.push_back(exam);
    keep(exam);
    return exam.id;
}

void TrainingStore::keep(const KeptExam& exam) {
    KeptExam* const there = of_id(exams_, exam.id);
    if (there == nullptr) return;
    const Together together(*this);
    *there = exam;
    link(chained::exam, *there);
    if (!keeps()) return;
    Database::Statement insert(*database_,
                               "INSERT OR REPLACE INTO training_exam (id, person, session, begun, ended, drills, done, "
                               "judged, state, why, verdict, trainer) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    insert.bind(1, exam.id);
    insert.bind(2, exam.person);
    insert.bind(3, std::string_view(exam.session));
    insert.bind(4, std::string_view(exam.begun));
    insert.bind(5, std::string_view(exam.ended));
    insert.bind(6, exam.drills);
    insert.bind(7, exam.done);
    insert.bind(8, exam.judged);
    insert.bind(9, static_cast<std::int64_t>(exam.state));
    insert.bind(10, std::string_view(exam.why));
    insert.bind(11, std::string_view(exam.verdict));
    insert.bind(12, std::string_view(exam.trainer));
    insert.step();
    if (database_->problem() != DatabaseProblem::none) say();
}

}  // namespace tools
