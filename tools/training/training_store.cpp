#include "tools/training/training_store.hpp"

#include <algorithm>
#include <charconv>

#include "tools/text/json.hpp"
#include "tools/training/record_chain.hpp"

namespace tools {
namespace {

template <class Number>
std::string listed(const std::vector<Number>& numbers) {
    std::string text;
    for (const Number number : numbers) text += (text.empty() ? "" : ",") + std::to_string(number);
    return text;
}

template <class Number>
std::vector<Number> unlisted(const std::string& text) {
    std::vector<Number> numbers;
    const char* at = text.data();
    const char* const end = at + text.size();
    for (Number number{}; at < end;) {
        const auto [next, error] = std::from_chars(at, end, number);
        if (error != std::errc{}) break;
        numbers.push_back(number);
        at = next + (next < end ? 1 : 0);
    }
    return numbers;
}

std::string written(const ActFields& fields) {
    Value::Object object;
    for (const auto& [key, value] : fields) object.push_back({key, value});
    return to_json(std::move(object));
}

ActFields fields_from(const std::string& text) {
    ActFields fields;
    const auto value = from_json(text);
    if (value && value.value().object() != nullptr)
        for (const auto& member : *value.value().object()) fields[member.key] = member.value.text();
    return fields;
}

}  // namespace

TrainingStore::TrainingStore(const std::optional<std::string>& file) : file_(file) {
    if (!file) return;
    database_ = std::make_unique<Database>(*file);
    take_up(How::serve);
}

TrainingStore::TrainingStore(std::string name, Database database)
    : TrainingStore(std::move(name), std::move(database), How::serve) {}

TrainingStore::TrainingStore(std::string name, Database database, How how)
    : file_(std::move(name)), database_(std::make_unique<Database>(std::move(database))) {
    take_up(how);
}

TrainingStore TrainingStore::looked_at(std::string name, Database database) {
    return {std::move(name), std::move(database), How::look};
}

void TrainingStore::take_up(How how) {
    if (!prepare(how)) {
        if (!failure_) say();
        return;
    }
    read_results();
    read_people();
    read_exams();
    read_chain();
    if (!unchained_) return;
    chain_older();
    run("COMMIT");
}

bool TrainingStore::prepare(How how) {
    const Layout found = how == How::look ? look_at_layout(*database_) : lay_out(*database_);
    unchained_ = found.older;
    only_looks_ = how == How::look;
    if (found.foreign)
        failure_ = Failure{Status::bad_input, *file_, 0, "",
                           "is no store of a training; it was left alone, name another file"};
    if (found.newer != 0)
        failure_ = Failure{Status::bad_input, *file_, 0, "",
                           "was written by a newer linkdrill; take that one, or name another file"};
    if (how == How::look && found.older)
        failure_ =
            Failure{Status::bad_input, *file_, 0, "",
                    "is of an older linkdrill and has no hashes yet; it gets them by linkdrill train --store, and "
                    "what was changed before that nobody can tell"};
    return found.done;
}

void TrainingStore::read_results() {
    Database::Statement read(*database_,
                             "SELECT id, done_at, session, name, drill, title, mode, result, points, seconds, hints, "
                             "at_place, what, actions, dangerous, record, person, exam, trainer, version, "
                             "actions_said, dangerous_said, withdrawn, deleted FROM training_result ORDER BY id");
    while (read.step())
        results_.push_back({read.number(0),  read.text(1),    read.text(2),    read.text(3),   read.number(4),
                            read.text(5),    read.text(6),    read.text(7),    read.number(8), read.number(9),
                            read.number(10), read.text(11),   read.text(12),   read.text(13),  read.text(14),
                            read.text(15),   read.number(16), read.number(17), read.text(18),  read.text(19),
                            read.text(20),   read.text(21),   read.text(22),   read.text(23)});
    if (database_->problem() != DatabaseProblem::none) say();
    if (!results_.empty()) last_id_ = results_.back().id;
}

void TrainingStore::run(const char* sql) {
    if (keeps() && !database_->run(sql)) say();
}

/// From then on all is kept in memory only: a file with holes would be worse than one that ends.
void TrainingStore::say() {
    if (failure_) return;
    const bool theirs = database_->problem() == DatabaseProblem::damaged;
    failure_ = Failure{theirs ? Status::bad_input : Status::machine, *file_, 0, "",
                       database_->problem() == DatabaseProblem::busy
                           ? "another program has it open; end that one, or name another file"
                       : only_looks_ ? "cannot be read: " + database_->message()
                                     : "results cannot be kept there: " + database_->message() + "; name another file"};
}

void TrainingStore::write(const TrainingResult& result) {
    if (!keeps()) return;
    Database::Statement insert(*database_,
                               "INSERT OR REPLACE INTO training_result (id, done_at, session, name, drill, title, "
                               "mode, result, points, seconds, hints, at_place, what, actions, dangerous, record, "
                               "person, exam, trainer, version, actions_said, dangerous_said, withdrawn, deleted) "
                               "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    int place = 0;
    const auto text = [&](const std::string& value) { insert.bind(++place, std::string_view(value)); };
    const auto number = [&](std::int64_t value) { insert.bind(++place, value); };
    number(result.id);
    text(result.when);
    text(result.session);
    text(result.name);
    number(result.drill);
    text(result.title);
    text(result.mode);
    text(result.result);
    number(result.points);
    number(result.seconds);
    number(result.hints);
    text(result.where);
    text(result.what);
    text(result.actions);
    text(result.dangerous);
    text(result.record);
    number(result.person);
    number(result.exam);
    text(result.trainer);
    text(result.version);
    text(result.actions_said);
    text(result.dangerous_said);
    text(result.withdrawn);
    text(result.deleted);
    insert.step();
    if (database_->problem() != DatabaseProblem::none) say();
}

std::int64_t TrainingStore::add(TrainingResult result) {
    result.id = ++last_id_;
    const Together together(*this);
    write(result);
    link(chained::result, result);
    results_.push_back(std::move(result));
    return results_.back().id;
}

const TrainingResult* TrainingStore::find(std::int64_t id) const {
    const auto found =
        std::find_if(results_.begin(), results_.end(), [&](const TrainingResult& one) { return one.id == id; });
    return found == results_.end() ? nullptr : &*found;
}

void TrainingStore::withdraw(std::int64_t id, const std::string& when) {
    for (TrainingResult& one : results_)
        if (one.id == id && one.withdrawn.empty() && one.deleted.empty()) {
            const Together together(*this);
            one.withdrawn = when;
            write(one);
            link(chained::withdrawn, one);
        }
}

bool TrainingStore::remove(std::int64_t id, const std::string& when) {
    const auto found =
        std::find_if(results_.begin(), results_.end(), [&](const TrainingResult& one) { return one.id == id; });
    if (found == results_.end() || !found->deleted.empty()) return false;
    const Together together(*this);
    if (found->person != 0) {
        const TrainingResult gone = std::move(*found);
        *found = {.id = id,
                  .when = gone.when,
                  .session = gone.session,
                  .name = gone.name,
                  .drill = gone.drill,
                  .title = gone.title,
                  .mode = gone.mode,
                  .result = "",
                  .where = "",
                  .what = "",
                  .actions = "",
                  .dangerous = "",
                  .record = "",
                  .person = gone.person,
                  .exam = gone.exam,
                  .trainer = "",
                  .version = gone.version,
                  .actions_said = "",
                  .dangerous_said = "",
                  .deleted = when};
        write(*found);
        link(chained::deleted, *found);
        return true;
    }
    results_.erase(found);
    link(chained::result_gone, std::to_string(id), "");
    if (keeps()) {
        Database::Statement remove(*database_, "DELETE FROM training_result WHERE id = ?");
        remove.bind(1, id);
        remove.step();
        if (database_->problem() != DatabaseProblem::none) say();
    }
    return true;
}

void TrainingStore::keep(const KeptSession& session) {
    if (!keeps()) return;
    Database::Statement insert(
        *database_,
        "INSERT OR REPLACE INTO training_session (session, token, name, exam, drills, begun, results, "
        "person, exam_number, draft) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    const std::string drills = listed(session.drills), begun = listed(session.begun), results = listed(session.results),
                      draft = written(session.draft);
    insert.bind(1, std::string_view(session.session));
    insert.bind(2, std::string_view(session.token));
    insert.bind(3, std::string_view(session.name));
    insert.bind(4, std::int64_t{session.mode == ExerciseMode::exam});
    insert.bind(5, std::string_view(drills));
    insert.bind(6, std::string_view(begun));
    insert.bind(7, std::string_view(results));
    insert.bind(8, session.person);
    insert.bind(9, session.exam);
    insert.bind(10, std::string_view(draft));
    insert.step();
    if (database_->problem() != DatabaseProblem::none) say();
}

void TrainingStore::keep(const std::string& session, const KeptAct& act) {
    if (!keeps()) return;
    Database::Statement insert(*database_,
                               "INSERT INTO training_act (session, drill, plant_ns, fields) VALUES (?, ?, ?, ?)");
    const std::string fields = written(act.fields);
    insert.bind(1, std::string_view(session));
    insert.bind(2, static_cast<std::int64_t>(act.drill));
    insert.bind(3, act.at.ns);
    insert.bind(4, std::string_view(fields));
    insert.step();
    if (database_->problem() != DatabaseProblem::none) say();
}

void TrainingStore::forget_acts(const std::string& session) {
    if (!keeps()) return;
    Database::Statement remove(*database_, "DELETE FROM training_act WHERE session = ?");
    remove.bind(1, std::string_view(session));
    remove.step();
    if (database_->problem() != DatabaseProblem::none) say();
}

void TrainingStore::forget(const std::string& session) {
    forget_acts(session);
    if (!keeps()) return;
    Database::Statement remove(*database_, "DELETE FROM training_session WHERE session = ?");
    remove.bind(1, std::string_view(session));
    remove.step();
    if (database_->problem() != DatabaseProblem::none) say();
}

std::vector<KeptSession> TrainingStore::sessions() {
    std::vector<KeptSession> all;
    if (!database_) return all;
    Database::Statement read(*database_,
                             "SELECT session, token, name, exam, drills, begun, results, person, exam_number, draft "
                             "FROM training_session ORDER BY person");
    while (read.step())
        all.push_back({read.text(0), read.text(1), read.text(2),
                       read.number(3) != 0 ? ExerciseMode::exam : ExerciseMode::practice,
                       unlisted<unsigned>(read.text(4)), unlisted<std::int64_t>(read.text(5)),
                       unlisted<std::int64_t>(read.text(6)), read.number(7), read.number(8),
                       fields_from(read.text(9))});
    return all;
}

std::vector<KeptAct> TrainingStore::acts(const std::string& session) {
    std::vector<KeptAct> all;
    if (!database_) return all;
    Database::Statement read(*database_,
                             "SELECT drill, plant_ns, fields FROM training_act WHERE session = ? ORDER BY id");
    read.bind(1, std::string_view(session));
    while (read.step())
        all.push_back({static_cast<std::size_t>(std::max<std::int64_t>(0, read.number(0))),
                       proto::Instant{read.number(1)}, fields_from(read.text(2))});
    return all;
}

}  // namespace tools
