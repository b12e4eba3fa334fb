#include "tools/training_results.hpp"

#include <algorithm>

#include "tools/csv.hpp"

namespace tools {

TrainingResults::TrainingResults(const std::optional<std::string>& file) : file_(file) {
    if (!file) return;
    database_ = std::make_unique<Database>(*file);
    if (!database_->run("PRAGMA locking_mode=EXCLUSIVE; PRAGMA journal_mode=WAL; PRAGMA application_id=1279545412;"
                        "CREATE TABLE IF NOT EXISTS training_result (id INTEGER PRIMARY KEY, done_at TEXT NOT NULL, "
                        "name TEXT NOT NULL, drill INTEGER NOT NULL, title TEXT NOT NULL, mode TEXT NOT NULL, "
                        "result TEXT NOT NULL, points INTEGER NOT NULL, seconds INTEGER NOT NULL, "
                        "hints INTEGER NOT NULL, at_place TEXT NOT NULL, what TEXT NOT NULL, actions TEXT NOT NULL, "
                        "dangerous TEXT NOT NULL) STRICT")) {
        say(*database_);
        return;
    }
    Database::Statement read(*database_,
                             "SELECT id, done_at, name, drill, title, mode, result, points, seconds, hints, at_place, "
                             "what, actions, dangerous FROM training_result ORDER BY id");
    while (read.step())
        results_.push_back({read.number(0), read.text(1), read.text(2), read.number(3), read.text(4), read.text(5),
                            read.text(6), read.number(7), read.number(8), read.number(9), read.text(10), read.text(11),
                            read.text(12), read.text(13)});
    if (database_->problem() != DatabaseProblem::none) say(*database_);
    if (!results_.empty()) last_id_ = results_.back().id;
}

void TrainingResults::say(const Database& database) {
    const bool theirs = database.problem() == DatabaseProblem::damaged;
    failure_ = Failure{theirs ? Status::bad_input : Status::machine, *file_, 0, "",
                       database.problem() == DatabaseProblem::busy
                           ? "another program has it open; end that one, or name another file"
                           : "results cannot be kept there: " + database.message() + "; name another file"};
}

void TrainingResults::add(TrainingResult result) {
    result.id = ++last_id_;
    if (database_) {
        Database::Statement insert(*database_,
                                   "INSERT INTO training_result VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
        insert.bind(1, result.id);
        insert.bind(2, std::string_view(result.when));
        insert.bind(3, std::string_view(result.name));
        insert.bind(4, result.drill);
        insert.bind(5, std::string_view(result.title));
        insert.bind(6, std::string_view(result.mode));
        insert.bind(7, std::string_view(result.result));
        insert.bind(8, result.points);
        insert.bind(9, result.seconds);
        insert.bind(10, result.hints);
        insert.bind(11, std::string_view(result.where));
        insert.bind(12, std::string_view(result.what));
        insert.bind(13, std::string_view(result.actions));
        insert.bind(14, std::string_view(result.dangerous));
        insert.step();
        if (database_->problem() != DatabaseProblem::none) say(*database_);
    }
    results_.push_back(std::move(result));
}

bool TrainingResults::remove(std::int64_t id) {
    const auto found =
        std::find_if(results_.begin(), results_.end(), [&](const TrainingResult& one) { return one.id == id; });
    if (found == results_.end()) return false;
    results_.erase(found);
    if (database_) {
        Database::Statement remove(*database_, "DELETE FROM training_result WHERE id = ?");
        remove.bind(1, id);
        remove.step();
    }
    return true;
}

Value described(const TrainingResult& r) {
    const bool hidden = r.result == "dangerous-action";
    return Value::Object{{"id", r.id},           {"when", r.when},
                         {"name", r.name},       {"drill", r.drill},
                         {"title", r.title},     {"mode", r.mode},
                         {"result", r.result},   {"points", hidden ? Value() : Value(r.points)},
                         {"seconds", r.seconds}, {"hints", r.hints},
                         {"where", r.where},     {"what", r.what},
                         {"actions", r.actions}, {"dangerous", r.dangerous}};
}

std::string results_csv(const std::vector<TrainingResult>& results) {
    Value::List rows;
    for (const TrainingResult& result : results) rows.push_back(described(result));
    return to_csv(rows, described({}));
}

}  // namespace tools
