// Taking up what a store keeps: nothing is believed before its check is held.
#include <algorithm>
#include <exception>
#include <string>
#include <utility>

#include "proto/contract.hpp"
#include "tools/campaign/trial_rows.hpp"
#include "tools/campaign/trial_store.hpp"
#include "tools/campaign/trial_tables.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// As batches come from a campaign.
constexpr std::size_t rows_passed_on = 256;

std::uint64_t unsigned_at(const Database::Statement& row, int column) {
    return static_cast<std::uint64_t>(row.number(column));
}

/// The list of the dangerous trials, beside the trials.
class DangerousList {
  public:
    explicit DangerousList(Database& database)
        : rows_(database, "SELECT trial, fault, why FROM dangerous ORDER BY trial"), more_(rows_.step()) {}

    /// What it says of that trial, which must be its next; nothing if it is not.
    std::optional<sim::DangerousTrial> next(const sim::TrialRecord& record) {
        if (!more_ || unsigned_at(rows_, 0) != record.trial || unsigned_at(rows_, 1) != record.fault)
            return std::nullopt;
        sim::DangerousTrial dangerous{record.trial, record.fault, rows_.text(2)};
        more_ = rows_.step();
        return dangerous;
    }
    /// It has trials that next() did not get to.
    [[nodiscard]] bool more() const { return more_; }

  private:
    Database::Statement rows_;
    bool more_;
};

const char* const list_differs = "its list of dangerous trials is not that of its trials";

}  // namespace

std::uint64_t TrialStore::whole_check(const TrialChecks::Totals& totals) const {
    RunningCheck check;
    for (const std::string* text : {&key_.version, &key_.scenario, &key_.contents}) check.add(std::string_view(*text));
    for (const std::uint64_t number : {key_.seed, key_.trials, key_.shard, key_.shards, totals.trials, totals.dangerous,
                                       totals.blocks_check, tables_check_})
        check.add(number);
    return check.value();
}

std::uint64_t TrialStore::check_of_tables() {
    RunningCheck check;
    for (const char* const sql : {"SELECT type, name, tbl_name, sql FROM sqlite_master ORDER BY rowid",
                                  "SELECT number, name, error, '' FROM way_name ORDER BY number",
                                  "SELECT number, name, '', '' FROM outcome_name ORDER BY number",
                                  "SELECT number, name, '', '' FROM measure_name ORDER BY number"}) {
        Database::Statement rows(*database_, sql);
        while (rows.step())
            for (int column = 0; column < 4; ++column) check.add(std::string_view(rows.text(column)));
    }
    return check.value();
}

std::optional<Failure> TrialStore::take_up(const CampaignKey& key, Open how) {
    if (database_->number("PRAGMA application_id") != store_mark) return damaged();
    if (database_->number("PRAGMA user_version") != store_format)
        return refused("is a store of another version of linkdrill; go on with that one, or write another name");
    if (database_->text("PRAGMA quick_check(1)") != "ok") return damaged();
    if (auto failed = read_key()) return failed;
    if (auto failed = compare(key)) return failed;
    return fit(key, how);
}

std::optional<Failure> TrialStore::read_key() {
    Database::Statement row(*database_,
                            "SELECT version, scenario, contents, seed, trials, shard, shards, kept, dangerous, "
                            "blocks_check, tables_check, whole_check, count(*) FROM campaign");
    if (!row.step()) return failure();
    key_ = {row.text(0), row.text(1), row.text(2), 0, unsigned_at(row, 4), unsigned_at(row, 5), unsigned_at(row, 6)};
    try {
        key_.seed = std::stoull(row.text(3));
    } catch (const std::exception&) {
        return damaged();
    }
    told_ = {unsigned_at(row, 7), unsigned_at(row, 8), unsigned_at(row, 9)};
    tables_check_ = unsigned_at(row, 10);
    kept_ = told_.trials;
    if (unsigned_at(row, 11) != whole_check(told_) || row.number(12) != 1)
        return altered("what it says of its campaign does not fit its check");
    if (check_of_tables() != tables_check_) return altered("its tables, or the names in them, do not fit their check");
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (key_.shards < 1 || key_.shard < 1 || key_.shard > key_.shards || kept_ > key_.range().count()) return damaged();
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
    return std::nullopt;
}

std::optional<Failure> TrialStore::hold_block(Database::Statement& blocks) const {
    const std::optional<TrialBlock> read = checks_.current();
    if (!read) return std::nullopt;
    const bool there = blocks.step();
    if (there && TrialBlock{unsigned_at(blocks, 0), unsigned_at(blocks, 1), unsigned_at(blocks, 2),
                            unsigned_at(blocks, 3), unsigned_at(blocks, 4)} == *read)
        return std::nullopt;
    if (database_->problem() != DatabaseProblem::none) return failure();
    const std::uint64_t first = std::max(read->number * block_trials, key_.range().first);
    return altered("trials " + std::to_string(first) + " to " + std::to_string(first + read->trials - 1) +
                   ", or which of them were dangerous, do not fit their check");
}

std::optional<Failure> TrialStore::read(std::size_t faults, const Reader& reader) {
    if (known_) return std::nullopt;  // made anew
    Database::Statement rows(*database_, select_trials);
    Database::Statement blocks(
        *database_, "SELECT number, trials, dangerous, rows_check, dangerous_check FROM block ORDER BY number");
    DangerousList list(*database_);
    sim::TrialBatch batch;
    const auto pass_on = [&] {
        checks_.add(batch);
        auto failed = reader(batch);
        batch.records.clear();
        batch.dangerous.clear();
        return failed;
    };
    const std::uint64_t first = key_.range().first;
    std::uint64_t next = first;
    while (rows.step()) {
        const std::optional<sim::TrialRecord> record = record_from(rows, faults);
        if (!record) return altered("trial " + std::to_string(next) + " holds what none can");
        if (record->trial != next) return altered("trial " + std::to_string(next) + " is missing");
        const bool begins_block = next % block_trials == 0 && next != first;
        if (begins_block || batch.records.size() == rows_passed_on)
            if (auto failed = pass_on()) return failed;
        if (begins_block)
            if (auto failed = hold_block(blocks)) return failed;
        batch.records.push_back(*record);
        if (record->outcome == sim::Outcome::dangerous) {
            auto dangerous = list.next(*record);
            if (!dangerous) return altered(list_differs);
            batch.dangerous.push_back(std::move(*dangerous));
        }
        ++next;
    }
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (auto failed = pass_on()) return failed;
    if (list.more()) return altered(list_differs);
    if (auto failed = hold_block(blocks)) return failed;
    if (blocks.step() || checks_.totals() != told_)
        return altered("it has " + counted(next - first, "trial", "trials") + ", and was left with " +
                       grouped(told_.trials));
    if (database_->problem() != DatabaseProblem::none) return failure();
    static_cast<void>(checks_.take_changed());  // kept already
    known_ = true;
    return std::nullopt;
}

}  // namespace tools
