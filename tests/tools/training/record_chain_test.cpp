// The chain of records: whatever is done to a store behind the program's back is found, and what the program does by
// right is not.
#include "tools/training/record_chain.hpp"

#include <sqlite3.h>

#include <string>
#include <vector>

#include "tests/tools/training/room.hpp"
#include "tests/tools/training/store_file.hpp"
#include "tools/training/verify_records.hpp"

namespace {

using namespace tests;

/// A store's file as somebody with another program has it.
class Behind {
  public:
    explicit Behind(const StoreFile& file) { REQUIRE(sqlite3_open(file.path.c_str(), &handle_) == SQLITE_OK); }
    ~Behind() { sqlite3_close(handle_); }
    Behind(const Behind&) = delete;
    Behind& operator=(const Behind&) = delete;
    void run(const std::string& sql) {
        CAPTURE(sql);
        REQUIRE(sqlite3_exec(handle_, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
    }
    /// The rows, each as its cells.
    std::vector<std::vector<std::string>> rows(const std::string& sql) {
        std::vector<std::vector<std::string>> all;
        const auto take = [](void* to, int count, char** cells, char**) {
            auto& row = static_cast<std::vector<std::vector<std::string>>*>(to)->emplace_back();
            for (int i = 0; i < count; ++i) row.emplace_back(cells[i] == nullptr ? "" : cells[i]);
            return 0;
        };
        CAPTURE(sql);
        REQUIRE(sqlite3_exec(handle_, sql.c_str(), take, &all, nullptr) == SQLITE_OK);
        return all;
    }
    [[nodiscard]] std::vector<std::uint8_t> image() {
        sqlite3_int64 size = 0;
        unsigned char* const bytes = sqlite3_serialize(handle_, "main", &size, 0);
        REQUIRE(bytes != nullptr);
        std::vector<std::uint8_t> copy(bytes, bytes + size);
        sqlite3_free(bytes);
        copy[18] = copy[19] = 1;  // in memory there is no log: sqlite.org/fileformat.html, 1.3.3
        return copy;
    }
    [[nodiscard]] std::vector<std::string> wrong() {
        const tools::TrainingStore store = tools::TrainingStore::looked_at("copy", tools::Database(image()));
        REQUIRE_FALSE(store.failure());
        return tools::checked(store.chain(), store.entries_made(), store.all(), store.exams()).wrong;
    }

  private:
    sqlite3* handle_ = nullptr;
};

tools::TrainingResult result_of(std::int64_t person, const std::string& name, std::int64_t seconds = 301) {
    return {.when = "2026-12-01 10:00",
            .session = "0123456789abcdef",
            .name = name,
            .drill = 4,
            .title = "The gate",
            .mode = "exam",
            .result = "safe-and-found",
            .points = 88,
            .seconds = seconds,
            .hints = 1,
            .where = "way-out",
            .what = "loss",
            .actions = "lock-out > call-engineer",
            .dangerous = "none",
            .record = "{\"log\": []}",
            .person = person,
            .exam = 1,
            .trainer = "14:31:40 paused the clock",
            .version = "1.2.3",
            .actions_said = "Lock out",
            .dangerous_said = "nothing",
            .withdrawn = ""};
}

/// Two people, five results, of which one is withdrawn and one deleted, and an exam.
void fill(const StoreFile& file) {
    tools::TrainingStore store(file.path.string());
    REQUIRE_FALSE(store.failure());
    const tools::KeptPerson anna = store.join("s1", "Anna"), ben = store.join("s2", "Ben");
    tools::KeptExam exam{.person = anna.id,
                         .session = "s1",
                         .name = anna.called,
                         .begun = "2026-12-01 10:00",
                         .ended = "",
                         .drills = 6,
                         .why = "",
                         .verdict = ""};
    exam.id = store.begin(exam);
    for (int i = 0; i < 3; ++i) store.add(result_of(anna.id, anna.called, 301 + i));
    for (int i = 0; i < 2; ++i) store.add(result_of(ben.id, ben.called));
    exam.state = tools::KeptExam::State::over;
    exam.ended = "2026-12-01 11:00";
    exam.why = "why";
    exam.verdict = "passed";
    store.keep(exam);
    store.withdraw(2, "2026-12-01 12:00");
    REQUIRE(store.remove(4, "2026-12-01 12:01"));
    CHECK(store.find(1)->hash == store.chain()[1].hash);
    CHECK(store.find(1)->before == store.chain()[0].hash);
    CHECK(store.find(2)->hash != store.chain()[2].hash);
}

}  // namespace

TEST_CASE("what the program does by right holds, over restarts, and the hashes stay") {
    const StoreFile file("chain_right");
    fill(file);
    std::string last;
    {
        Behind behind(file);
        CHECK(behind.wrong().empty());
        CHECK(behind.rows("SELECT group_concat(kind) FROM training_chain").front().front() ==
              "exam,result,result,result,result,result,exam,withdrawn,deleted");
    }
    {
        tools::TrainingStore store(file.path.string());
        CHECK(store.wrong_at_first().empty());
        CHECK(store.find(1)->hash == store.chain()[1].hash);
        CHECK(store.exam(1)->hash == store.chain()[6].hash);
        last = store.chain().back().hash;
        store.add(result_of(2, "Ben"));
        CHECK(store.find(6)->before == last);
        REQUIRE(store.forget_person(1));
    }
    Behind behind(file);
    CHECK(behind.wrong().empty());
    // what is left of a person is hashes
    for (const char* table : {"training_result", "training_exam", "training_person"})
        CHECK(behind
                  .rows(std::string("SELECT * FROM ") + table + " WHERE " +
                        (table == std::string("training_person") ? "id" : "person") + " = 1")
                  .empty());
    CHECK(behind.rows("SELECT * FROM training_chain WHERE about LIKE '%Anna%'").empty());
    CHECK(behind.rows("SELECT count(*) FROM training_chain WHERE kind LIKE '%gone'").front().front() == "4");
}

TEST_CASE("any byte of any record, and of the chain itself, that is another is found") {
    const StoreFile file("chain_bytes");
    fill(file);
    Behind behind(file);
    REQUIRE(behind.wrong().empty());
    std::size_t tried = 0;
    for (const std::string table : {"training_result", "training_exam", "training_chain"}) {
        const std::string key = table == "training_chain" ? "number" : "id";
        for (const auto& column : behind.rows("SELECT name, type FROM pragma_table_info('" + table + "')"))
            for (const auto& row : behind.rows("SELECT " + key + ", length(CAST(" + column[0] + " AS BLOB)), hex(" +
                                               column[0] + "), " + column[0] + " FROM " + table)) {
                const bool is_text = column[1] == "TEXT";
                const std::size_t bytes = is_text ? std::stoul(row[1]) : 1;
                for (std::size_t at = 0; at < bytes; ++at) {
                    std::string changed = std::to_string(is_text ? 0 : std::stoll(row[3]) + 1000);
                    if (is_text) {
                        std::string hex = row[2];
                        char& digit = hex[at * 2 + 1];
                        digit = digit == '0' ? '1' : digit == '1' ? '0' : digit == 'E' ? 'F' : '0';
                        changed = "CAST(x'" + hex + "' AS TEXT)";
                    }
                    behind.run("BEGIN; UPDATE " + table + " SET " + column[0] + " = " + changed + " WHERE " + key +
                               " = " + row[0]);
                    const std::vector<std::string> wrong = behind.wrong();
                    CHECK_MESSAGE(!wrong.empty(), (table + "." + column[0] + " of " + row[0]));
                    behind.run("ROLLBACK");
                    ++tried;
                }
                // a letter more, and one less
                if (!is_text) continue;
                behind.run("BEGIN; UPDATE " + table + " SET " + column[0] + " = " + column[0] + " || ' ' WHERE " + key +
                           " = " + row[0]);
                CHECK_FALSE(behind.wrong().empty());
                behind.run("ROLLBACK");
            }
    }
    CHECK(tried > 1000);
    CHECK(behind.wrong().empty());
}

TEST_CASE("what was removed, put in or exchanged is found, and named") {
    const StoreFile file("chain_moved");
    fill(file);
    Behind behind(file);
    const auto after = [&](const std::string& sql) {
        behind.run("BEGIN; " + sql);
        const std::vector<std::string> wrong = behind.wrong();
        behind.run("ROLLBACK");
        return wrong;
    };
    const auto says = [](const std::vector<std::string>& wrong, const std::string& words) {
        for (const std::string& one : wrong)
            if (one.find(words) != std::string::npos) return true;
        return false;
    };
    const std::string columns = [&] {
        std::string list;
        for (const auto& row : behind.rows("SELECT name FROM pragma_table_info('training_result') WHERE name <> 'id'"))
            list += ", " + row[0];
        return list;
    }();
    CHECK(says(after("DELETE FROM training_result WHERE id = 3"), "result 3 (entry 4 of the chain) is not there"));
    CHECK(says(after("DELETE FROM training_result WHERE id = 5"), "result 5 (entry 6 of the chain) is not there"));
    CHECK(says(after("DELETE FROM training_exam"), "exam 1 (entry 7 of the chain) is not there"));
    CHECK(says(after("INSERT INTO training_result SELECT 9" + columns + " FROM training_result WHERE id = 1"),
               "result 9 (Anna, drill 4, 2026-12-01 10:00) is not in the chain"));
    // two results exchanged
    CHECK(after("UPDATE training_result SET id = 99 WHERE id = 1; UPDATE training_result SET id = 1 WHERE id = 3;"
                "UPDATE training_result SET id = 3 WHERE id = 99")
              .size() == 2);
    // and entries of the chain
    CHECK(says(after("UPDATE training_chain SET number = 99 WHERE number = 2; UPDATE training_chain SET number = 2 "
                     "WHERE number = 3; UPDATE training_chain SET number = 3 WHERE number = 99"),
               "entry 2 of the chain"));
    CHECK(says(after("DELETE FROM training_chain WHERE number = 3"), "1 entries before number 4"));
    CHECK(says(after("DELETE FROM training_chain WHERE number = 1"), "1 entries before number 2"));
    CHECK(says(after("DELETE FROM training_chain WHERE number = 9"), "the end of the chain is not there"));
    // a deletion undone: the record and its entry as they were
    CHECK(says(after("DELETE FROM training_chain WHERE number = 9; DELETE FROM training_result WHERE id = 4"),
               "the end of the chain is not there"));
    CHECK(says(after("DELETE FROM training_chain; DELETE FROM training_result; DELETE FROM training_exam"),
               "the end of the chain is not there"));
}

TEST_CASE("what was cut off stays to be seen when the training goes on, and the program says so") {
    const StoreFile file("chain_on");
    fill(file);
    {
        Behind(file).run(
            "DELETE FROM training_chain WHERE number = 9; UPDATE training_result SET points = 99 WHERE id = 1");
    }
    for (int again = 0; again < 2; ++again) {
        tools::TrainingStore store(file.path.string());
        CHECK(store.wrong_at_first().size() >= 2);
        for (int i = 0; i < 3; ++i) store.add(result_of(2, "Ben"));
    }
    CHECK(Behind(file).wrong().size() >= 2);
}

TEST_CASE("a store of before is chained as it is found, and says from when on") {
    const StoreFile file("chain_before");
    fill(file);
    {
        Behind(file).run(
            "DROP TABLE training_chain; ALTER TABLE training_exam DROP COLUMN trainer; PRAGMA user_version=3");
    }
    const auto looked = tools::verify_records(file.path.string(), std::nullopt, tools::Columns{});
    REQUIRE_FALSE(looked.ok());
    CHECK(looked.error().status == tools::Status::bad_input);
    {
        tools::TrainingStore store(file.path.string());
        REQUIRE_FALSE(store.failure());
        store.add(result_of(2, "Ben"));
        REQUIRE(store.chain().size() == 8);
        CHECK(store.chain()[0].kind == tools::chained::taken_up);
        CHECK(store.find(1)->hash == store.chain()[1].hash);
    }
    Behind behind(file);
    const tools::TrainingStore store = tools::TrainingStore::looked_at("copy", tools::Database(behind.image()));
    const tools::ChainCheck check = tools::checked(store.chain(), store.entries_made(), store.all(), store.exams());
    CHECK(check.wrong.empty());
    CHECK(check.older == 6);
    CHECK(check.since == store.chain()[0].about);
    behind.run("UPDATE training_result SET points = 100 WHERE id = 3");
    CHECK_FALSE(behind.wrong().empty());
}

TEST_CASE("a hash on paper is found in the file, and what came after it") {
    const StoreFile file("chain_paper");
    fill(file);
    std::string second, last;
    {
        const tools::TrainingStore store = tools::TrainingStore::looked_at("x", tools::Database(Behind(file).image()));
        second = tools::short_hash(store.chain()[2].hash);
        last = store.chain().back().hash;
    }
    CHECK(second.size() == 19);
    const auto look = [&](const std::string& hash) {
        return tools::verify_records(file.path.string(), hash, tools::Columns{});
    };
    const auto found = look(second);
    REQUIRE(found.ok());
    CHECK(found.value().status == tools::Status::done);
    const std::string page = found.value().page.text(tools::Colour::off);
    CHECK(page.find("is entry 3, result 2; of the same record since then: entry 8, withdrawn 2") != std::string::npos);
    CHECK(look(last).value().status == tools::Status::done);
    CHECK(look("0123 4567 89ab cdef").value().status == tools::Status::not_met);
    CHECK(look("0123").error().status == tools::Status::bad_input);
    CHECK(look("no hash at all here").error().status == tools::Status::bad_input);
    // a whole chain made anew holds in itself, and is not the one on the paper
    {
        Behind(file).run(
            "DROP TABLE training_chain; UPDATE training_result SET points = 100; ALTER TABLE training_exam DROP COLUMN "
            "trainer; PRAGMA user_version=3");
    }
    { const tools::TrainingStore store(file.path.string()); }
    CHECK(tools::verify_records(file.path.string(), std::nullopt, tools::Columns{}).value().status ==
          tools::Status::done);
    CHECK(look(last).value().status == tools::Status::not_met);
}
