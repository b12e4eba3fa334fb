// The tables of a training's file, and how a file of an earlier layout becomes one of this.
#include "tools/training/training_store.hpp"

namespace tools {
namespace {

constexpr std::int64_t layout = 4;                  ///< of the tables: user_version of the file
constexpr std::int64_t training_mark = 1279545412;  ///< application_id of the file

// What was there before stands first, so that a file of the first layout gets what was added later.
constexpr const char* first =
    "PRAGMA locking_mode=EXCLUSIVE; PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA secure_delete=ON;"
    "CREATE TABLE IF NOT EXISTS training_result (id INTEGER PRIMARY KEY, done_at TEXT NOT NULL, "
    "name TEXT NOT NULL, drill INTEGER NOT NULL, title TEXT NOT NULL, mode TEXT NOT NULL, "
    "result TEXT NOT NULL, points INTEGER NOT NULL, seconds INTEGER NOT NULL, "
    "hints INTEGER NOT NULL, at_place TEXT NOT NULL, what TEXT NOT NULL, actions TEXT NOT NULL, "
    "dangerous TEXT NOT NULL) STRICT";

/// Sessions and acts.
constexpr const char* second =
    "ALTER TABLE training_result ADD COLUMN session TEXT NOT NULL DEFAULT '';"
    "ALTER TABLE training_result ADD COLUMN record TEXT NOT NULL DEFAULT '';"
    "CREATE TABLE training_session (session TEXT PRIMARY KEY, token TEXT NOT NULL, "
    "name TEXT NOT NULL, exam INTEGER NOT NULL, drills TEXT NOT NULL, begun TEXT NOT NULL, "
    "results TEXT NOT NULL) STRICT;"
    "CREATE TABLE training_act (id INTEGER PRIMARY KEY, session TEXT NOT NULL, "
    "drill INTEGER NOT NULL, plant_ns INTEGER NOT NULL, fields TEXT NOT NULL) STRICT;"
    "CREATE INDEX training_act_session ON training_act (session);";

/// People, exams, the trainer's hand. Who joined before is told apart by session; where there was none, nobody is
/// known.
constexpr const char* third =
    "ALTER TABLE training_result ADD COLUMN person INTEGER NOT NULL DEFAULT 0;"
    "ALTER TABLE training_result ADD COLUMN exam INTEGER NOT NULL DEFAULT 0;"
    "ALTER TABLE training_result ADD COLUMN trainer TEXT NOT NULL DEFAULT '';"
    "ALTER TABLE training_result ADD COLUMN version TEXT NOT NULL DEFAULT '';"
    "ALTER TABLE training_result ADD COLUMN actions_said TEXT NOT NULL DEFAULT '';"
    "ALTER TABLE training_result ADD COLUMN dangerous_said TEXT NOT NULL DEFAULT '';"
    "ALTER TABLE training_result ADD COLUMN withdrawn TEXT NOT NULL DEFAULT '';"
    "ALTER TABLE training_result ADD COLUMN deleted TEXT NOT NULL DEFAULT '';"
    "ALTER TABLE training_session ADD COLUMN person INTEGER NOT NULL DEFAULT 0;"
    "ALTER TABLE training_session ADD COLUMN exam_number INTEGER NOT NULL DEFAULT 0;"
    "ALTER TABLE training_session ADD COLUMN draft TEXT NOT NULL DEFAULT '';"
    "CREATE TABLE training_person (id INTEGER PRIMARY KEY AUTOINCREMENT, session TEXT NOT NULL, "
    "name TEXT NOT NULL, called TEXT NOT NULL) STRICT;"
    "CREATE TABLE training_exam (id INTEGER PRIMARY KEY AUTOINCREMENT, person INTEGER NOT NULL, "
    "session TEXT NOT NULL, begun TEXT NOT NULL, ended TEXT NOT NULL, drills INTEGER NOT NULL, "
    "done INTEGER NOT NULL, judged INTEGER NOT NULL, state INTEGER NOT NULL, why TEXT NOT NULL, "
    "verdict TEXT NOT NULL) STRICT;"
    "INSERT INTO training_person (session, name, called) SELECT session, min(name), min(name) FROM ("
    "SELECT session, name, id AS at FROM training_result WHERE session <> '' UNION ALL "
    "SELECT session, name, 9000000000000 FROM training_session) GROUP BY session ORDER BY min(at), session;"
    "UPDATE training_person SET called = name || ' (' || (SELECT count(*) FROM training_person AS other "
    "WHERE other.name = training_person.name AND other.id <= training_person.id) || ')' "
    "WHERE EXISTS (SELECT 1 FROM training_person AS other WHERE other.name = training_person.name "
    "AND other.id < training_person.id);"
    "UPDATE training_result SET (person, name) = (SELECT id, called FROM training_person "
    "WHERE training_person.session = training_result.session) WHERE session <> '';"
    "UPDATE training_session SET (person, name) = (SELECT id, called FROM training_person "
    "WHERE training_person.session = training_session.session);";

/// The chain of records, and the trainer's hand in exams. Numbers of the chain are never given twice, so that an end
/// that was cut off shows.
constexpr const char* fourth =
    "ALTER TABLE training_exam ADD COLUMN trainer TEXT NOT NULL DEFAULT '';"
    "CREATE TABLE IF NOT EXISTS training_chain (number INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, "
    "about TEXT NOT NULL, content TEXT NOT NULL, before TEXT NOT NULL, hash TEXT NOT NULL) STRICT;";

}  // namespace

namespace {

enum class Owner : std::uint8_t { training, foreign, unknown };

/// Whose file it is, before anything is written to it: a training's, one that is empty, or of the first layout, which
/// had no mark and that one table.
Owner owner_of(Database& database) {
    const auto mark = database.number("PRAGMA application_id");
    if (!mark) return Owner::unknown;
    if (*mark == training_mark) return Owner::training;
    const auto others = database.number(
        "SELECT count(*) FROM sqlite_master WHERE tbl_name <> 'training_result' AND name NOT LIKE 'sqlite_%'");
    if (!others) return Owner::unknown;
    const bool unmarked = *mark == 0 && database.number("PRAGMA user_version").value_or(1) == 0;
    return unmarked && *others == 0 ? Owner::training : Owner::foreign;
}

}  // namespace

Layout lay_out(Database& database) {
    const Owner owner = owner_of(database);
    if (owner != Owner::training) return {.foreign = owner == Owner::foreign};
    if (!database.run(first)) return {};
    const std::int64_t found = database.number("PRAGMA user_version").value_or(0);
    if (found > layout) return {.done = false, .newer = found};
    if (found == layout) return {.done = true, .newer = 0};
    const bool begun = database.run("BEGIN") && (found >= 2 || database.run(second)) &&
                       (found >= 3 || database.run(third)) && database.run(fourth);
    return {.done = begun && database.run("PRAGMA application_id=1279545412; PRAGMA user_version=4"), .older = true};
}

Layout look_at_layout(Database& database) {
    const Owner owner = owner_of(database);
    if (owner != Owner::training) return {.foreign = owner == Owner::foreign};
    const std::int64_t found = database.number("PRAGMA user_version").value_or(0);
    return {.done = found == layout, .newer = found > layout ? found : 0, .older = found < layout};
}

}  // namespace tools
