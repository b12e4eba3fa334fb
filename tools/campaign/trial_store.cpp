#include "tools/campaign/trial_store.hpp"

#include <utility>

#include <sys/stat.h>
#include <unistd.h>

#include "sim/scenario/errors.hpp"
#include "tools/campaign/trial_tables.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::int64_t store_mark = 0x4C444341;  ///< SQLite's application_id: "LDCA"
constexpr std::int64_t store_format = 2;
constexpr auto at_least_every = std::chrono::milliseconds(500);
constexpr std::uint64_t rows_at_most = 10'000;

constexpr int columns = 23;
/// As many trials as one statement takes: most of them come in batches, and a statement costs as much as a row.
constexpr std::size_t rows_together = 32;

std::string insert_trials(std::size_t rows) {
    std::string text = "INSERT INTO trial VALUES ";
    for (std::size_t row = 0; row < rows; ++row) {
        text += row == 0 ? "(?" : ",(?";
        for (int column = 1; column < columns; ++column) text += ",?";
        text += ')';
    }
    return text;
}

constexpr const char* select_trials = "SELECT * FROM trial ORDER BY trial";

std::optional<std::int64_t> ns_of(const std::optional<sim::Duration>& time) {
    if (!time) return std::nullopt;
    return time->ns;
}

template <class Enum>
std::optional<std::int64_t> number_of(const std::optional<Enum>& value) {
    if (!value) return std::nullopt;
    return static_cast<std::int64_t>(*value);
}

/// A row as a record; nothing if it holds what no trial can be.
std::optional<sim::TrialRecord> record_from(const Database::Statement& row, std::size_t faults) {
    sim::TrialRecord record;
    bool right = true;
    const auto within = [&](int column, std::uint64_t below) {
        const auto value = static_cast<std::uint64_t>(row.number(column));
        right = right && value < below;
        return value;
    };
    const auto time = [&](int column) -> std::optional<sim::Duration> {
        if (row.is_null(column)) return std::nullopt;
        return sim::Duration{row.number(column)};
    };
    record.trial = static_cast<std::uint64_t>(row.number(0));
    record.fault = static_cast<std::uint32_t>(within(1, faults));
    record.way = static_cast<sim::FaultWay>(within(2, trial_ways));
    record.outcome = static_cast<sim::Outcome>(within(3, trial_outcomes));
    record.phase = static_cast<sim::TrialPhase>(within(4, 2));
    record.demand = within(5, 2) == 1;
    record.in_time = within(6, 2) == 1;
    record.started = within(7, 2) == 1;
    if (!row.is_null(8)) record.detected_by = static_cast<proto::Measure>(within(8, proto::measure_count));
    if (!row.is_null(9)) record.detected_end = static_cast<proto::End>(within(9, 2));
    record.detect = time(10);
    record.safe_state = time(11);
    record.standstill = time(12);
    record.allowed = time(13);
    record.exchanges = static_cast<std::uint32_t>(row.number(14));
    record.cycles = static_cast<std::uint32_t>(row.number(15));
    record.spurious = static_cast<std::uint32_t>(row.number(16));
    record.digest = static_cast<std::uint64_t>(row.number(17));
    record.functions_met = static_cast<std::uint64_t>(row.number(18));
    record.functions_not_met = static_cast<std::uint64_t>(row.number(19));
    record.functions_not_shown = static_cast<std::uint64_t>(row.number(20));
    record.demand_reduced = time(21);
    record.demand_stands = time(22);
    if (!right) return std::nullopt;
    return record;
}

/// Why no store can be opened so at that path; nullptr if one can.
const char* unfit(const std::string& path, TrialStore::Open how) {
    struct stat about {};
    const bool there = ::stat(path.c_str(), &about) == 0;
    if (there && !S_ISREG(about.st_mode)) return "is no file; write another name";
    if (!there && how == TrialStore::Open::read) return "is not there; name stores of this campaign";
    if (there && about.st_size > 0 && how == TrialStore::Open::anew)
        return "is there already; add --resume to go on, or write another name";
    return nullptr;
}

}  // namespace

TrialStore::TrialStore(std::string path, Database database)
    : path_(std::move(path)), database_(std::make_unique<Database>(std::move(database))) {}

Failure TrialStore::refused(const std::string& why) const { return {Status::bad_input, path_, 0, {}, why}; }

Failure TrialStore::damaged() const {
    return refused("is no store of linkdrill, or a damaged one; it was left alone: write another name");
}

Failure TrialStore::failure() const {
    switch (database_->problem()) {
        case DatabaseProblem::busy:
            return machine_said_no(path_,
                                   "another process is working on it; wait until that ends, or write another name");
        case DatabaseProblem::damaged: return damaged();
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
    if (const char* why = unfit(path, how)) return Failure{Status::bad_input, path, 0, {}, why};
    return open(path, Database(path), key, how);
}

proto::Result<TrialStore, Failure> TrialStore::open(std::string path, Database opened, const CampaignKey& key,
                                                    Open how) {
    TrialStore store(std::move(path), std::move(opened));
    Database& database = *store.database_;
    const proto::Result<bool, Failure> empty = store.lock();
    if (!empty) return empty.error();
    if (empty.value() && how == Open::read) return store.damaged();
    if (!empty.value())
        if (auto failed = store.take_up(key, how)) return *failed;
    if (!database.run("PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL")) return store.failure();
    if (empty.value())
        if (auto failed = store.create(key)) return *failed;
    store.insert_.emplace(database, insert_trials(1).c_str());
    store.insert_together_.emplace(database, insert_trials(rows_together).c_str());
    store.insert_dangerous_.emplace(database, "INSERT INTO dangerous VALUES (?1,?2,?3)");
    if (database.problem() != DatabaseProblem::none) return store.failure();
    return store;
}

proto::Result<bool, Failure> TrialStore::lock() {
    if (database_->problem() != DatabaseProblem::none) return failure();
    // The lock is taken before the log is: then no third file is needed, and a second process is told at once.
    if (!database_->run("PRAGMA locking_mode = EXCLUSIVE; BEGIN IMMEDIATE")) return failure();
    const bool empty = database_->number("SELECT count(*) FROM sqlite_master") == 0 &&
                       database_->number("PRAGMA application_id") == 0 && database_->number("PRAGMA user_version") == 0;
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (!database_->run("COMMIT")) return failure();
    return empty;
}

std::optional<Failure> TrialStore::take_up(const CampaignKey& key, Open how) {
    if (database_->number("PRAGMA application_id") != store_mark) return damaged();
    if (database_->text("PRAGMA quick_check(1)") != "ok") return damaged();
    if (auto failed = read_key()) return failed;
    if (auto failed = compare(key)) return failed;
    if (auto failed = count_kept()) return failed;
    return fit(key, how);
}

std::optional<Failure> TrialStore::create(const CampaignKey& key) {
    key_ = key;
    const std::string mark = "BEGIN IMMEDIATE; PRAGMA application_id = " + std::to_string(store_mark) +
                             "; PRAGMA user_version = " + std::to_string(store_format);
    if (!database_->run(mark.c_str()) || !database_->run(trial_tables().c_str())) return failure();
    Database::Statement statement(*database_, "INSERT INTO campaign VALUES (?1,?2,?3,?4,?5,?6,?7)");
    statement.bind(1, key.version);
    statement.bind(2, key.scenario);
    statement.bind(3, key.contents);
    // as text: a seed has 64 bits, an integer of SQLite 63 and a sign
    statement.bind(4, std::to_string(key.seed));
    statement.bind(5, static_cast<std::int64_t>(key.trials));
    statement.bind(6, static_cast<std::int64_t>(key.shard));
    statement.bind(7, static_cast<std::int64_t>(key.shards));
    statement.step();
    if (!statement.reset() || !database_->run("COMMIT")) return failure();
    return std::nullopt;
}

std::optional<Failure> TrialStore::read_key() {
    if (database_->number("PRAGMA user_version") != store_format)
        return refused("is a store of another version of linkdrill; go on with that one, or write another name");
    Database::Statement row(*database_,
                            "SELECT version, scenario, contents, seed, trials, shard, shards FROM campaign");
    if (!row.step()) return damaged();
    const auto number = [&](int column) { return static_cast<std::uint64_t>(row.number(column)); };
    key_ = {row.text(0), row.text(1), row.text(2), number(3), number(4), number(5), number(6)};
    try {
        key_.seed = std::stoull(row.text(3));
    } catch (const std::exception&) {
        return damaged();
    }
    if (key_.shards < 1 || key_.shard < 1 || key_.shard > key_.shards) return damaged();
    return std::nullopt;
}

std::optional<Failure> TrialStore::compare(const CampaignKey& wanted) const {
    if (key_.version != wanted.version)
        return refused("was begun by linkdrill " + key_.version + ", this is " + wanted.version +
                       "; go on with that one, or write another name");
    if (key_.scenario != wanted.scenario)
        return refused("holds trials of another scenario, " + in_quotes(key_.scenario) +
                       "; name that one, or another store");
    if (key_.seed != wanted.seed)
        return refused("holds trials of seed " + std::to_string(key_.seed) + ", not " + std::to_string(wanted.seed) +
                       "; write --seed " + std::to_string(key_.seed) + ", or another name");
    if (key_.contents != wanted.contents)
        return refused(
            "holds trials of another scenario: this file, or what it names, was changed since; begin anew under "
            "another "
            "name");
    return std::nullopt;
}

std::optional<Failure> TrialStore::fit(const CampaignKey& wanted, Open how) {
    if (how == Open::read) return std::nullopt;
    if (key_.shard != wanted.shard || key_.shards != wanted.shards)
        return refused("holds part " + std::to_string(key_.shard) + "/" + std::to_string(key_.shards) + ", not " +
                       std::to_string(wanted.shard) + "/" + std::to_string(wanted.shards) +
                       "; write another name for each part");
    if (key_.trials == wanted.trials) return std::nullopt;
    if (key_.shards > 1 || wanted.trials < key_.trials)
        return refused("is of a campaign of " + std::to_string(key_.trials) + " trials, not " +
                       std::to_string(wanted.trials) + "; write --trials " + std::to_string(key_.trials) +
                       (key_.shards > 1 ? "" : " or more"));
    key_.trials = wanted.trials;
    const std::string longer = "UPDATE campaign SET trials = " + std::to_string(key_.trials);
    if (!database_->run(longer.c_str())) return failure();
    return std::nullopt;
}

std::optional<Failure> TrialStore::count_kept() {
    const auto count = database_->number("SELECT count(*) FROM trial");
    if (!count) return failure();
    kept_ = static_cast<std::uint64_t>(*count);
    if (kept_ == 0) return std::nullopt;
    const sim::TrialRange range = key_.range();
    const auto first = static_cast<std::uint64_t>(database_->number("SELECT min(trial) FROM trial").value_or(-1));
    const auto last = static_cast<std::uint64_t>(database_->number("SELECT max(trial) FROM trial").value_or(-1));
    if (first != range.first || last != first + kept_ - 1 || last >= range.end) return damaged();
    return std::nullopt;
}

std::optional<Failure> TrialStore::read(sim::CampaignSummary& into, TrialStore* copy) {
    const std::size_t faults = into.faults();
    Database::Statement rows(*database_, select_trials);
    while (rows.step()) {
        const std::optional<sim::TrialRecord> record = record_from(rows, faults);
        if (!record) return damaged();
        into.add(*record);
        if (copy == nullptr) continue;
        if (auto failed = copy->add({{*record}, {}})) return failed;
    }
    Database::Statement dangerous(*database_, "SELECT trial, fault, why FROM dangerous ORDER BY trial");
    while (dangerous.step()) {
        const auto fault = static_cast<std::uint64_t>(dangerous.number(1));
        if (fault >= faults) return damaged();
        const sim::DangerousTrial one{static_cast<std::uint64_t>(dangerous.number(0)),
                                      static_cast<std::uint32_t>(fault), dangerous.text(2)};
        into.add(one);
        if (copy == nullptr) continue;
        if (auto failed = copy->add({{}, {one}})) return failed;
    }
    if (database_->problem() != DatabaseProblem::none) return failure();
    return std::nullopt;
}

std::optional<Failure> TrialStore::write_rows(Database::Statement& rows, std::span<const sim::TrialRecord> records) {
    const auto flag = [](bool value) { return std::int64_t{value ? 1 : 0}; };
    int place = 0;
    for (const sim::TrialRecord& record : records) {
        const auto next = [&](auto value) { rows.bind(++place, value); };
        next(static_cast<std::int64_t>(record.trial));
        next(std::int64_t{record.fault});
        next(static_cast<std::int64_t>(record.way));
        next(static_cast<std::int64_t>(record.outcome));
        next(static_cast<std::int64_t>(record.phase));
        next(flag(record.demand));
        next(flag(record.in_time));
        next(flag(record.started));
        next(number_of(record.detected_by));
        next(number_of(record.detected_end));
        next(ns_of(record.detect));
        next(ns_of(record.safe_state));
        next(ns_of(record.standstill));
        next(ns_of(record.allowed));
        next(std::int64_t{record.exchanges});
        next(std::int64_t{record.cycles});
        next(std::int64_t{record.spurious});
        next(static_cast<std::int64_t>(record.digest));
        next(static_cast<std::int64_t>(record.functions_met));
        next(static_cast<std::int64_t>(record.functions_not_met));
        next(static_cast<std::int64_t>(record.functions_not_shown));
        next(ns_of(record.demand_reduced));
        next(ns_of(record.demand_stands));
    }
    rows.step();
    if (!rows.reset()) return failure();
    kept_ += records.size();
    return std::nullopt;
}

std::optional<Failure> TrialStore::add(const sim::TrialBatch& batch) {
    // after a failure the transaction may be gone: what came next would be kept with a gap before it
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (!open_) {
        if (!database_->run("BEGIN IMMEDIATE")) return failure();
        open_ = true;
        begun_ = Clock::now();
        rows_ = 0;
    }
    for (std::span<const sim::TrialRecord> left = batch.records; !left.empty();) {
        const bool together = left.size() >= rows_together;
        const std::size_t count = together ? rows_together : 1;
        if (auto failed = write_rows(together ? *insert_together_ : *insert_, left.first(count))) return failed;
        left = left.subspan(count);
    }
    for (const sim::DangerousTrial& dangerous : batch.dangerous) {
        Database::Statement& row = *insert_dangerous_;
        row.bind(1, static_cast<std::int64_t>(dangerous.trial));
        row.bind(2, std::int64_t{dangerous.fault});
        row.bind(3, dangerous.why);
        row.step();
        if (!row.reset()) return failure();
    }
    rows_ += batch.records.size();
    return rows_ >= rows_at_most || Clock::now() - begun_ >= at_least_every ? commit() : std::nullopt;
}

std::optional<Failure> TrialStore::commit() {
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (!std::exchange(open_, false)) return std::nullopt;
    if (!database_->run("COMMIT")) return failure();
    return std::nullopt;
}

void TrialStore::finish() {
    insert_.reset();
    insert_together_.reset();
    insert_dangerous_.reset();
    // what is committed is safe either way
    static_cast<void>(database_->run("PRAGMA journal_mode = DELETE"));
}

}  // namespace tools
