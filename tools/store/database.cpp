#include "tools/store/database.hpp"

#include <fcntl.h>
#include <sqlite3.h>
#include <unistd.h>

#include <algorithm>
#include <string_view>
#include <utility>

namespace tools {
namespace {

DatabaseProblem kind_of(int code) {
    switch (code & 0xFF) {
        case SQLITE_OK:
        case SQLITE_ROW:
        case SQLITE_DONE: return DatabaseProblem::none;
        case SQLITE_BUSY:
        case SQLITE_LOCKED: return DatabaseProblem::busy;
        case SQLITE_CORRUPT:
        case SQLITE_NOTADB: return DatabaseProblem::damaged;
        case SQLITE_FULL: return DatabaseProblem::full;
        // a file at the size limit is told as an error of writing
        case SQLITE_IOERR:
            return code == SQLITE_IOERR_WRITE || code == SQLITE_IOERR_TRUNCATE ? DatabaseProblem::full
                                                                               : DatabaseProblem::other;
        case SQLITE_ERROR: return DatabaseProblem::strange;
        default: return DatabaseProblem::other;
    }
}

/// The library's address of a file that nobody writes to (sqlite.org/uri.html).
std::string unchanging(const std::string& file) {
    constexpr std::string_view digits = "0123456789ABCDEF";
    // what comes after two slashes would be taken for a computer
    std::string address = file.starts_with("/") ? "file://" : "file:";
    for (const char letter : file) {
        const auto byte = static_cast<unsigned char>(letter);
        if (letter == '%' || letter == '?' || letter == '#') {
            address += {'%', digits[byte >> 4U], digits[byte & 15U]};
        } else {
            address += letter;
        }
    }
    return address + "?immutable=1";
}

}  // namespace

struct Database::Inside {
    sqlite3* handle = nullptr;
    DatabaseProblem problem = DatabaseProblem::none;
    std::string message;

    Inside() = default;
    Inside(const Inside&) = delete;
    Inside& operator=(const Inside&) = delete;
    ~Inside() { sqlite3_close_v2(handle); }

    bool ok(int code) {
        if (kind_of(code) == DatabaseProblem::none) return true;
        problem = kind_of(code);
        const char* const words = handle != nullptr ? sqlite3_errmsg(handle) : sqlite3_errstr(code);
        message = words;
        return false;
    }
};

Database::Database(const std::string& path, Access access) : inside_(std::make_unique<Inside>()) {
    // ":memory:" and "file:x?mode=memory" would be no files to the library, and nothing would be kept
    const bool plain = !path.starts_with(":") && !path.starts_with("file:");
    const std::string file = plain ? path : "./" + path;
    const bool reads = access == Access::read;
    // names and keys of people may come into it; what the library adds beside it gets the same rights
    const int made = reads ? -1 : ::open(file.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (made >= 0) ::close(made);
    const int code = reads ? sqlite3_open_v2(unchanging(file).c_str(), &inside_->handle,
                                             SQLITE_OPEN_READONLY | SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX, nullptr)
                           : sqlite3_open_v2(file.c_str(), &inside_->handle,
                                             SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, nullptr);
    if (inside_->handle != nullptr) sqlite3_extended_result_codes(inside_->handle, 1);
    inside_->ok(code);
}
Database::Database(std::span<const std::uint8_t> image) : inside_(std::make_unique<Inside>()) {
    const int code = sqlite3_open_v2(":memory:", &inside_->handle,
                                     SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, nullptr);
    if (inside_->handle != nullptr) sqlite3_extended_result_codes(inside_->handle, 1);
    if (!inside_->ok(code) || image.empty()) return;
    // the library frees what it is given, and makes it longer where it is written to
    auto* const copy = static_cast<unsigned char*>(sqlite3_malloc64(image.size()));
    if (copy == nullptr) {
        inside_->ok(SQLITE_NOMEM);
        return;
    }
    std::copy(image.begin(), image.end(), copy);
    const auto bytes = static_cast<sqlite3_int64>(image.size());
    inside_->ok(sqlite3_deserialize(inside_->handle, "main", copy, bytes, bytes,
                                    SQLITE_DESERIALIZE_FREEONCLOSE | SQLITE_DESERIALIZE_RESIZEABLE));
}
Database::Database(Database&&) noexcept = default;
Database& Database::operator=(Database&&) noexcept = default;
Database::~Database() = default;

bool Database::run(const char* sql) {
    return inside_->handle != nullptr && inside_->ok(sqlite3_exec(inside_->handle, sql, nullptr, nullptr, nullptr));
}

std::optional<std::int64_t> Database::number(const char* sql) {
    Statement statement(*this, sql);
    if (!statement.step() || statement.is_null(0)) return std::nullopt;
    return statement.number(0);
}

std::optional<std::string> Database::text(const char* sql) {
    Statement statement(*this, sql);
    if (!statement.step() || statement.is_null(0)) return std::nullopt;
    return statement.text(0);
}

void Database::keep_log_at_end(bool keep) {
    if (inside_->handle == nullptr) return;
    inside_->ok(sqlite3_db_config(inside_->handle, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE,  // NOLINT: the library's own call
                                  keep ? 1 : 0, nullptr));
}

DatabaseProblem Database::problem() const { return inside_->problem; }
std::string Database::message() const { return inside_->message; }

struct Database::Statement::Inside {
    Database::Inside& database;
    sqlite3_stmt* handle = nullptr;

    explicit Inside(Database::Inside& of) : database(of) {}
    Inside(const Inside&) = delete;
    Inside& operator=(const Inside&) = delete;
    ~Inside() { sqlite3_finalize(handle); }
};

Database::Statement::Statement(Database& database, const char* sql)
    : inside_(std::make_unique<Inside>(*database.inside_)) {
    Database::Inside& of = *database.inside_;
    if (of.handle != nullptr)
        of.ok(sqlite3_prepare_v3(of.handle, sql, -1, SQLITE_PREPARE_PERSISTENT, &inside_->handle, nullptr));
}
Database::Statement::Statement(Statement&&) noexcept = default;
Database::Statement& Database::Statement::operator=(Statement&&) noexcept = default;
Database::Statement::~Statement() = default;

void Database::Statement::bind(int place, std::int64_t value) {
    inside_->database.ok(sqlite3_bind_int64(inside_->handle, place, value));
}

void Database::Statement::bind(int place, std::optional<std::int64_t> value) {
    if (value)
        bind(place, *value);
    else
        inside_->database.ok(sqlite3_bind_null(inside_->handle, place));
}

void Database::Statement::bind(int place, std::string_view text) {
    // copied: whoever binds need not keep it
    inside_->database.ok(sqlite3_bind_text64(inside_->handle, place, text.data(), text.size(),
                                             SQLITE_TRANSIENT,  // NOLINT: the library's own cast
                                             SQLITE_UTF8));
}

void Database::Statement::bind(int place, std::span<const std::uint8_t> bytes) {
    inside_->database.ok(sqlite3_bind_blob64(inside_->handle, place, bytes.data(), bytes.size(),
                                             SQLITE_TRANSIENT));  // NOLINT: the library's own cast
}

bool Database::Statement::step() {
    if (inside_->handle == nullptr) return false;
    const int code = sqlite3_step(inside_->handle);
    inside_->database.ok(code);
    return code == SQLITE_ROW;
}

bool Database::Statement::reset() { return inside_->database.ok(sqlite3_reset(inside_->handle)); }

std::int64_t Database::Statement::number(int column) const { return sqlite3_column_int64(inside_->handle, column); }
bool Database::Statement::is_null(int column) const {
    return sqlite3_column_type(inside_->handle, column) == SQLITE_NULL;
}
std::string Database::Statement::text(int column) const {
    const unsigned char* const text = sqlite3_column_text(inside_->handle, column);
    const auto bytes = static_cast<std::size_t>(sqlite3_column_bytes(inside_->handle, column));
    if (text == nullptr) return {};
    return {reinterpret_cast<const char*>(text), bytes};
}

std::vector<std::uint8_t> Database::Statement::bytes(int column) const {
    const auto* const begin = static_cast<const std::uint8_t*>(sqlite3_column_blob(inside_->handle, column));
    const auto count = static_cast<std::size_t>(sqlite3_column_bytes(inside_->handle, column));
    if (begin == nullptr) return {};
    return {begin, begin + count};
}

}  // namespace tools
