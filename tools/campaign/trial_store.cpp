#include "tools/campaign/trial_store.hpp"

#include <algorithm>
#include <array>
#include <iterator>
#include <utility>

#include <sys/stat.h>
#include <unistd.h>

#include "proto/contract.hpp"
#include "tools/campaign/trial_rows.hpp"
#include "tools/campaign/trial_tables.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr auto at_least_every = std::chrono::milliseconds(500);
/// A large summary is written anew as a whole; many parts on one network file system should be able to.
constexpr auto large_at_least_every = std::chrono::seconds(10);
constexpr std::size_t large_summary = 65'536;
constexpr std::uint64_t rows_at_most = 10'000;
/// As many trials as one statement takes: most of them come in batches, and a statement costs as much as a row.
constexpr std::size_t rows_together = 32;

/// What SQLite puts beside a file, by the end of its name.
constexpr std::array logs{"-wal", "-journal"};

/// Why no store can be opened so at that path; nothing if one can.
std::optional<std::string> unfit(const std::string& path, TrialStore::Open how) {
    struct stat about {};
    const bool there = ::stat(path.c_str(), &about) == 0;
    if (there && !S_ISREG(about.st_mode)) return "is no file; write another name";
    if (!there && how == TrialStore::Open::read) return "is not there; name stores of this campaign";
    if (there && about.st_size > 0 && how == TrialStore::Open::anew)
        return "is there already; add --resume to go on, or write another name";
    if (how != TrialStore::Open::read) return std::nullopt;
    // to take it up would be to write
    if (const auto log = TrialStore::log_of(path))
        return "is being written, or its process was killed (" + *log +
               " lies beside it); let the command that writes it end, with --resume, then join";
    return std::nullopt;
}

}  // namespace

struct TrialStore::Writing {
    Database::Statement one, together, dangerous, block, summary, campaign;

    explicit Writing(Database& database)
        : one(database, insert_trials(1).c_str()),
          together(database, insert_trials(rows_together).c_str()),
          dangerous(database, "INSERT INTO dangerous VALUES (?1,?2,?3)"),
          block(database, "INSERT OR REPLACE INTO block VALUES (?1,?2,?3,?4,?5,?6)"),
          summary(database, "INSERT OR REPLACE INTO summary (rowid, content) VALUES (1,?1)"),
          campaign(
              database,
              "INSERT OR REPLACE INTO campaign (rowid, made_by, scenario, contents, seed, model, keep, trials, shard, "
              "shards, kept, dangerous, blocks_check, summary_check, tables_check, whole_check) "
              "VALUES (1,?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13,?14,?15)") {}
};

void TrialStore::remove(const std::string& path) {
    ::unlink(path.c_str());
    for (const char* const log : logs) ::unlink((path + log).c_str());
}

std::optional<std::string> TrialStore::log_of(const std::string& path) {
    struct stat about {};
    for (const char* const log : logs)
        if (::stat((path + log).c_str(), &about) == 0 && about.st_size > 0) return path + log;
    return std::nullopt;
}

TrialStore::TrialStore(std::string path, Database database)
    : path_(std::move(path)), database_(std::make_unique<Database>(std::move(database))) {}
TrialStore::TrialStore(TrialStore&&) noexcept = default;
TrialStore& TrialStore::operator=(TrialStore&&) noexcept = default;
TrialStore::~TrialStore() {
    if (writing_) finish();
}

Failure TrialStore::refused(const std::string& why) const { return {Status::bad_input, path_, 0, {}, why}; }

Failure TrialStore::damaged() const {
    return refused("is no store of linkdrill, or a damaged one; it was left alone: write another name");
}

Failure TrialStore::altered(const std::string& what) const {
    return refused("was altered since it was written: " + what + "; it was left alone: take a copy that is whole, or " +
                   "begin anew under another name");
}

Failure TrialStore::failure() const {
    switch (database_->problem()) {
        case DatabaseProblem::busy:
            return machine_said_no(path_,
                                   "another process is working on it; wait until that ends, or write another name");
        case DatabaseProblem::damaged:
        case DatabaseProblem::strange: return damaged();
        case DatabaseProblem::full:
            return machine_said_no(path_, "no room to write (" + database_->message() +
                                              "); what was committed is kept: make room, then the same command with "
                                              "--resume");
        case DatabaseProblem::none:
        case DatabaseProblem::other: break;
    }
    return machine_said_no(path_, database_->message());
}

proto::Result<TrialStore, Failure> TrialStore::open(const std::string& path, const CampaignKey& key, Open how) {
    if (const auto why = unfit(path, how)) return Failure{Status::bad_input, path, 0, {}, *why};
    return open(path, Database(path, how == Open::read ? Database::Access::read : Database::Access::write), key, how);
}

proto::Result<TrialStore, Failure> TrialStore::open(std::string path, Database opened, const CampaignKey& key,
                                                    Open how) {
    TrialStore store(std::move(path), std::move(opened));
    // what is refused stays as it is, with the log that a killed process left
    store.database_->keep_log_at_end(true);
    const proto::Result<bool, Failure> empty = store.lock(how);
    if (!empty) return empty.error();
    if (empty.value() && how == Open::read) return store.damaged();
    if (auto failed = empty.value() ? store.create(key) : store.take_up(key, how)) return *failed;
    return store;
}

proto::Result<bool, Failure> TrialStore::lock(Open how) {
    if (database_->problem() != DatabaseProblem::none) return failure();
    // The lock is taken before the log is: then no third file is needed, and a second process is told at once.
    if (how != Open::read && !database_->run("PRAGMA locking_mode = EXCLUSIVE; BEGIN IMMEDIATE")) return failure();
    const bool empty = database_->number("SELECT count(*) FROM sqlite_master") == 0 &&
                       database_->number("PRAGMA application_id") == 0 && database_->number("PRAGMA user_version") == 0;
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (how != Open::read && !database_->run("COMMIT")) return failure();
    return empty;
}

std::optional<Failure> TrialStore::begin_writing() {
    if (writing_) return std::nullopt;
    if (!database_->run("PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL")) return failure();
    database_->keep_log_at_end(false);
    writing_ = std::make_unique<Writing>(*database_);
    if (database_->problem() != DatabaseProblem::none) return failure();
    return std::nullopt;
}

std::optional<Failure> TrialStore::create(const CampaignKey& key) {
    key_ = key;
    checks_ = TrialChecks(key.keep);
    summary_check_ = RunningCheck().value();
    const std::string mark =
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL; BEGIN IMMEDIATE; "
        "PRAGMA application_id = " +
        std::to_string(store_mark) + "; PRAGMA user_version = " + std::to_string(store_format);
    if (!database_->run(mark.c_str()) || !database_->run(trial_tables().c_str())) return failure();
    tables_check_ = check_of_tables();
    writing_ = std::make_unique<Writing>(*database_);
    database_->keep_log_at_end(false);
    known_ = true;
    if (auto failed = write_checks()) return failed;
    if (!database_->run("COMMIT")) return failure();
    tell();
    return std::nullopt;
}

std::optional<Failure> TrialStore::write_rows(Database::Statement& rows, std::span<const sim::TrialRecord> records) {
    int place = 0;
    for (const sim::TrialRecord& record : records)
        for (const std::optional<std::int64_t>& value : row_of(record)) rows.bind(++place, value);
    rows.step();
    if (!rows.reset()) return failure();
    rows_ += records.size();
    return std::nullopt;
}

std::optional<Failure> TrialStore::write_dangerous(const sim::DangerousTrial& dangerous) {
    Database::Statement& row = writing_->dangerous;
    row.bind(1, static_cast<std::int64_t>(dangerous.trial));
    row.bind(2, std::int64_t{dangerous.fault});
    row.bind(3, dangerous.why);
    row.step();
    if (!row.reset()) return failure();
    return std::nullopt;
}

std::optional<Failure> TrialStore::write_kept(const sim::TrialBatch& batch) {
    if (key_.keep == Keep::summary) return std::nullopt;
    std::vector<sim::TrialRecord> dangerous;
    if (key_.keep == Keep::dangerous)
        std::copy_if(batch.records.begin(), batch.records.end(), std::back_inserter(dangerous),
                     [](const sim::TrialRecord& record) { return record.outcome == sim::Outcome::dangerous; });
    for (std::span<const sim::TrialRecord> left = key_.keep == Keep::all ? batch.records : dangerous; !left.empty();) {
        const bool together = left.size() >= rows_together;
        const std::size_t count = together ? rows_together : 1;
        if (auto failed = write_rows(together ? writing_->together : writing_->one, left.first(count))) return failed;
        left = left.subspan(count);
    }
    for (const sim::DangerousTrial& one : batch.dangerous)
        if (auto failed = write_dangerous(one)) return failed;
    return std::nullopt;
}

std::optional<Failure> TrialStore::begin() {
    proto::require(known_, "trials are added to a store that was not read");
    proto::require(key_.keep == Keep::all || summary_ != nullptr, "trials without rows, and no summary of them");
    // after a failure the transaction may be gone: what came next would be kept with a gap before it
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (auto failed = begin_writing()) return failed;
    if (open_) return std::nullopt;
    if (!database_->run("BEGIN IMMEDIATE")) return failure();
    open_ = true;
    begun_ = Clock::now();
    rows_ = 0;
    return std::nullopt;
}

std::optional<Failure> TrialStore::commit_if_due() {
    const auto every = summary_bytes_ > large_summary ? Clock::duration(large_at_least_every) : at_least_every;
    return rows_ >= rows_at_most || Clock::now() - begun_ >= every ? commit() : std::nullopt;
}

std::optional<Failure> TrialStore::add(const sim::TrialBatch& batch) {
    if (auto failed = begin()) return failed;
    if (auto failed = write_kept(batch)) return failed;
    checks_.add(batch);
    kept_ += batch.records.size();
    return commit_if_due();
}

std::optional<Failure> TrialStore::add(const TrialPiece& piece) {
    if (key_.keep == Keep::all && piece.kept.records.size() == piece.of.trials) return add(piece.kept);
    proto::require(key_.keep != Keep::all, "trials without rows in a store of all rows");
    if (auto failed = begin()) return failed;
    if (auto failed = write_kept(piece.kept)) return failed;
    checks_.add(piece);
    kept_ += piece.of.trials;
    return std::nullopt;
}

std::optional<Failure> TrialStore::write_summary() {
    if (key_.keep == Keep::all) return std::nullopt;
    const std::vector<std::uint8_t> bytes = summary_ == nullptr ? std::vector<std::uint8_t>{} : summary_->to_bytes();
    summary_bytes_ = bytes.size();
    RunningCheck check;
    check.add(std::span(bytes));
    summary_check_ = check.value();
    Database::Statement& row = writing_->summary;
    row.bind(1, std::span<const std::uint8_t>(bytes));
    row.step();
    if (!row.reset()) return failure();
    return std::nullopt;
}

std::optional<Failure> TrialStore::write_checks() {
    Database::Statement& row = writing_->block;
    for (const TrialBlock& block : checks_.take_changed()) {
        int place = 0;
        for (const std::uint64_t number :
             {block.number, block.trials, block.dangerous, block.fingerprint, block.rows_check, block.dangerous_check})
            row.bind(++place, static_cast<std::int64_t>(number));
        row.step();
        if (!row.reset()) return failure();
    }
    if (auto failed = write_summary()) return failed;
    const TrialChecks::Totals totals = checks_.totals();
    Database::Statement& campaign = writing_->campaign;
    campaign.bind(1, key_.made_by);
    campaign.bind(2, key_.scenario);
    campaign.bind(3, key_.contents);
    // as text: a seed has 64 bits, an integer of SQLite 63 and a sign
    campaign.bind(4, std::to_string(key_.seed));
    int place = 4;
    for (const std::uint64_t number :
         {key_.model, static_cast<std::uint64_t>(key_.keep), key_.trials, key_.shard, key_.shards, totals.trials,
          totals.dangerous, totals.blocks_check, summary_check_, tables_check_, whole_check(totals)})
        campaign.bind(++place, static_cast<std::int64_t>(number));
    campaign.step();
    if (!campaign.reset()) return failure();
    return std::nullopt;
}

std::optional<Failure> TrialStore::commit() {
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (!std::exchange(open_, false)) return std::nullopt;
    if (auto failed = write_checks()) return failed;
    if (!database_->run("COMMIT")) return failure();
    if (key_.keep != Keep::all) tell();
    return std::nullopt;
}

void TrialStore::tell() {
    // out of the log into the file, for whoever looks at it; where there is no room for it the next commit says so
    static_cast<void>(database_->number("PRAGMA wal_checkpoint(PASSIVE)"));
}

void TrialStore::finish() {
    writing_.reset();
    // what is committed is safe whether these succeed or not
    static_cast<void>(database_->run("ROLLBACK"));
    database_->keep_log_at_end(false);
    static_cast<void>(database_->run("PRAGMA journal_mode = DELETE"));
}

}  // namespace tools
