// Taking up what a store keeps: nothing is believed before its check is held.
#include <algorithm>
#include <exception>
#include <string>
#include <utility>

#include <sys/stat.h>

#include "proto/contract.hpp"
#include "tools/campaign/trial_rows.hpp"
#include "tools/campaign/trial_store.hpp"
#include "tools/campaign/trial_tables.hpp"
#include "tools/program/made_by.hpp"
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

TrialBlock block_under(const Database::Statement& row) {
    return {unsigned_at(row, 0), unsigned_at(row, 1), unsigned_at(row, 2),
            unsigned_at(row, 3), unsigned_at(row, 4), unsigned_at(row, 5)};
}

constexpr const char* select_blocks =
    "SELECT number, trials, dangerous, fingerprint, rows_check, dangerous_check FROM block ORDER BY number";

const char* const list_differs = "its list of dangerous trials is not that of its trials";

}  // namespace

std::uint64_t TrialStore::whole_check(const TrialChecks::Totals& totals) const {
    RunningCheck check;
    for (const std::string* text : {&key_.made_by, &key_.scenario, &key_.contents}) check.add(std::string_view(*text));
    for (const std::uint64_t number :
         {key_.seed, key_.model, static_cast<std::uint64_t>(key_.keep), key_.trials, key_.shard, key_.shards,
          totals.trials, totals.dangerous, totals.blocks_check, summary_check_, tables_check_})
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

Failure TrialStore::of_another_layout() const {
    return refused(
        "is a store of another layout, of another version of linkdrill; go on with that one, or write another "
        "name");
}

std::optional<Failure> TrialStore::take_up(const CampaignKey& key, Open how) {
    if (database_->number("PRAGMA application_id") != store_mark) return damaged();
    if (database_->number("PRAGMA user_version") != store_format) return of_another_layout();
    if (database_->text("PRAGMA quick_check(1)") != "ok") return damaged();
    if (auto failed = read_key()) return failed;
    if (auto failed = compare(path_, key_, key)) return failed;
    return fit(key, how);
}

std::optional<Failure> TrialStore::read_key() {
    Database::Statement row(
        *database_,
        "SELECT made_by, scenario, contents, seed, model, keep, trials, shard, shards, kept, "
        "dangerous, blocks_check, summary_check, tables_check, whole_check, count(*) FROM campaign");
    if (!row.step()) return failure();
    const std::uint64_t keep = unsigned_at(row, 5);
    if (keep > static_cast<std::uint64_t>(Keep::summary)) return damaged();
    key_ = {.model = unsigned_at(row, 4),
            .made_by = row.text(0),
            .scenario = row.text(1),
            .contents = row.text(2),
            .trials = unsigned_at(row, 6),
            .shard = unsigned_at(row, 7),
            .shards = unsigned_at(row, 8),
            .keep = static_cast<Keep>(keep)};
    try {
        key_.seed = std::stoull(row.text(3));
    } catch (const std::exception&) {
        return damaged();
    }
    checks_ = TrialChecks(key_.keep);
    told_ = {unsigned_at(row, 9), unsigned_at(row, 10), unsigned_at(row, 11)};
    summary_check_ = unsigned_at(row, 12);
    tables_check_ = unsigned_at(row, 13);
    kept_ = told_.trials;
    if (unsigned_at(row, 14) != whole_check(told_) || row.number(15) != 1)
        return altered("what it says of its campaign does not fit its check");
    if (check_of_tables() != tables_check_) return altered("its tables, or the names in them, do not fit their check");
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (key_.shards < 1 || key_.shard < 1 || key_.shard > key_.shards || kept_ > key_.range().count()) return damaged();
    return std::nullopt;
}

proto::Result<TrialStore::Seen, Failure> TrialStore::look(const std::string& path) {
    struct stat about {};
    if (::stat(path.c_str(), &about) != 0 || !S_ISREG(about.st_mode))
        return Failure{Status::bad_input, path, 0, {}, "is not there; name stores of this campaign"};
    TrialStore store(path, Database(path, Database::Access::read));
    if (store.database_->problem() != DatabaseProblem::none) return store.failure();
    if (store.database_->number("PRAGMA application_id") != store_mark) return store.damaged();
    if (store.database_->number("PRAGMA user_version") != store_format) return store.of_another_layout();
    if (auto failed = store.read_key()) return *failed;
    return Seen{store.key_, store.kept_};
}

std::optional<Failure> TrialStore::compare(const std::string& path, const CampaignKey& key, const CampaignKey& wanted) {
    const auto refused = [&path](const std::string& why) { return Failure{Status::bad_input, path, 0, {}, why}; };
    if (key.model != wanted.model)
        return refused("was begun by a program that judges otherwise (model " + std::to_string(key.model) +
                       ", this one is " + std::to_string(wanted.model) +
                       "); go on with that one, or write another name");
    if (key.scenario != wanted.scenario)
        return refused("holds trials of another scenario, " + in_quotes(key.scenario) +
                       "; name that one, or another store");
    if (key.seed != wanted.seed)
        return refused("holds trials of seed " + std::to_string(key.seed) + ", not " + std::to_string(wanted.seed) +
                       "; write --seed " + std::to_string(key.seed) + ", or another name");
    if (key.contents != wanted.contents)
        return refused(
            "holds trials of another scenario: this file, or what it names, was changed since; begin anew under "
            "another name");
    return std::nullopt;
}

std::optional<Failure> TrialStore::fit(const CampaignKey& wanted, Open how) {
    if (how == Open::read) return std::nullopt;
    if (key_.shard != wanted.shard || key_.shards != wanted.shards)
        return refused("holds part " + std::to_string(key_.shard) + "/" + std::to_string(key_.shards) + ", not " +
                       std::to_string(wanted.shard) + "/" + std::to_string(wanted.shards) +
                       "; write another name for each part");
    if (key_.keep != wanted.keep)
        return refused("keeps " + std::string(name_of(key_.keep)) + ", not " + std::string(name_of(wanted.keep)) +
                       "; write --keep " + std::string(name_of(key_.keep)) + ", or another name");
    add_builds(key_.made_by, wanted.made_by);
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
    if (blocks.step() && block_under(blocks) == *read) return std::nullopt;
    if (database_->problem() != DatabaseProblem::none) return failure();
    const std::uint64_t first = std::max(read->number * block_trials, key_.range().first);
    return altered("trials " + std::to_string(first) + " to " + std::to_string(first + read->trials - 1) +
                   ", or which of them were dangerous, do not fit their check");
}

std::optional<Failure> TrialStore::read_rows(sim::CampaignSummary& into, const Reader& reader) {
    Database::Statement rows(*database_, select_trials);
    Database::Statement blocks(*database_, select_blocks);
    DangerousList list(*database_);
    TrialPiece piece;
    const auto pass_on = [&]() -> std::optional<Failure> {
        piece.of.trials = piece.kept.records.size();
        piece.dangerous = piece.kept.dangerous.size();
        checks_.add(piece.kept);
        into.add(piece.kept);
        auto failed = reader(piece);
        piece = {};
        return failed;
    };
    const std::uint64_t first = key_.range().first;
    std::uint64_t next = first;
    while (rows.step()) {
        const std::optional<sim::TrialRecord> record = record_from(rows, into.faults());
        if (!record) return altered("trial " + std::to_string(next) + " holds what none can");
        if (record->trial != next) return altered("trial " + std::to_string(next) + " is missing");
        const bool begins_block = next % block_trials == 0 && next != first;
        if (begins_block || piece.kept.records.size() == rows_passed_on)
            if (auto failed = pass_on()) return failed;
        if (begins_block)
            if (auto failed = hold_block(blocks)) return failed;
        piece.of.number = next / block_trials;
        piece.of.sum += sim::fingerprint_of(*record);
        piece.kept.records.push_back(*record);
        if (record->outcome == sim::Outcome::dangerous) {
            auto dangerous = list.next(*record);
            if (!dangerous) return altered(list_differs);
            piece.kept.dangerous.push_back(std::move(*dangerous));
        }
        ++next;
    }
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (auto failed = pass_on()) return failed;
    if (list.more()) return altered(list_differs);
    if (auto failed = hold_block(blocks)) return failed;
    if (blocks.step()) return altered("it has blocks of trials that it has no rows of");
    return std::nullopt;
}

std::optional<Failure> TrialStore::read_summary(sim::CampaignSummary& into) {
    std::vector<TrialBlock> blocks;
    {
        Database::Statement rows(*database_, select_blocks);
        while (rows.step()) blocks.push_back(block_under(rows));
    }
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (TrialChecks::totals_of(blocks) != told_) return altered("the blocks of its trials do not fit their check");
    std::vector<sim::DigestBlock> digests;
    const sim::TrialRange range = key_.range();
    for (const TrialBlock& block : blocks) {
        // in the order of the parts, whoever made the checks anew
        if (block.trials == 0 || block.number < range.first / block_trials ||
            block.number > (range.end - 1) / block_trials)
            return altered("it has blocks of trials that are not its own");
        digests.push_back(block.digest());
    }
    Database::Statement content(*database_, "SELECT content FROM summary");
    const std::vector<std::uint8_t> bytes = content.step() ? content.bytes(0) : std::vector<std::uint8_t>{};
    if (database_->problem() != DatabaseProblem::none) return failure();
    RunningCheck check;
    check.add(std::span(bytes));
    if (check.value() != summary_check_) return altered("its summary does not fit its check");
    summary_bytes_ = bytes.size();
    if (bytes.empty() && digests.empty()) return std::nullopt;  // nothing was kept yet
    sim::CampaignSummary summary = into.anew();
    if (!summary.from_bytes(bytes, digests) || summary.of(sim::Outcome::dangerous) != told_.dangerous)
        return altered("its summary is not that of its trials");
    into.join(summary, digests);
    return std::nullopt;
}

std::optional<Failure> TrialStore::read_summed(sim::CampaignSummary& into, const Reader& reader) {
    if (auto failed = read_summary(into)) return failed;
    Database::Statement rows(*database_, select_trials);
    Database::Statement blocks(*database_, select_blocks);
    DangerousList list(*database_);
    bool more = rows.step();
    while (blocks.step()) {
        const TrialBlock told = block_under(blocks);
        TrialPiece piece{told.digest(), told.dangerous, {}};
        for (; more && unsigned_at(rows, 0) / block_trials == told.number; more = rows.step()) {
            const std::optional<sim::TrialRecord> record = record_from(rows, into.faults());
            if (!record || record->outcome != sim::Outcome::dangerous)
                return altered("its row of trial " + std::to_string(unsigned_at(rows, 0)) + " is of no dangerous one");
            auto dangerous = list.next(*record);
            if (!dangerous) return altered(list_differs);
            piece.kept.records.push_back(*record);
            piece.kept.dangerous.push_back(std::move(*dangerous));
        }
        checks_.add(piece);
        if (*checks_.current() != told ||
            piece.kept.records.size() != (key_.keep == Keep::dangerous ? told.dangerous : 0))
            return altered("block " + std::to_string(told.number) +
                           " of its trials does not fit its rows or its check");
        if (auto failed = reader(piece)) return failed;
    }
    if (database_->problem() != DatabaseProblem::none) return failure();
    if (more || list.more()) return altered("it has rows of trials that its blocks do not have");
    return std::nullopt;
}

std::optional<Failure> TrialStore::read(sim::CampaignSummary& into, const Reader& reader) {
    if (known_) return std::nullopt;  // made anew
    if (auto failed = key_.keep == Keep::all ? read_rows(into, reader) : read_summed(into, reader)) return failed;
    const TrialChecks::Totals totals = checks_.totals();
    if (totals != told_)
        return altered("it has " + counted(totals.trials, "trial", "trials") + ", and was left with " +
                       grouped(told_.trials));
    if (database_->problem() != DatabaseProblem::none) return failure();
    static_cast<void>(checks_.take_changed());  // kept already
    known_ = true;
    return std::nullopt;
}

}  // namespace tools
