#pragma once
// The trials of a campaign in one SQLite file: a row each, in their order, so that what is committed is a beginning
// without gaps. Batched in transactions of up to half a second or ten thousand trials; killed at any moment, all that
// was committed is there, and going on from it gives what an uninterrupted campaign gives. One process at a time has
// the file. Nothing that is not a store of the very campaign is ever written to.
//
// All that is believed of a store is under a check (trial_checks.hpp, and whole_check over the campaign's own row),
// which is written with each commit and held before anything is believed: altered anywhere, a store gives what it gave,
// or is refused. A check finds accidents; it is no signature.
#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "proto/result.hpp"
#include "sim/drive/campaign.hpp"
#include "sim/drive/campaign_summary.hpp"
#include "tools/campaign/trial_checks.hpp"
#include "tools/program/failure.hpp"
#include "tools/store/database.hpp"

namespace tools {

/// Which campaign: stores of one campaign have all of this alike, but for the shard.
struct CampaignKey {
    std::string version;   ///< of linkdrill
    std::string scenario;  ///< its title, for messages
    std::string contents;  ///< of the scenario and of what the first trials came to
    std::uint64_t seed = 0;
    std::uint64_t trials = 0;             ///< of the whole campaign
    std::uint64_t shard = 1, shards = 1;  ///< part `shard` of `shards`
    [[nodiscard]] sim::TrialRange range() const { return sim::shard_of(trials, shard, shards); }
};

class TrialStore {
  public:
    enum class Open : std::uint8_t {
        anew,    ///< refused if the file holds anything
        resume,  ///< the same campaign's, or none yet
        read,    ///< any shard of the same campaign, whole; neither the file nor its folder is written to
    };
    /// Refused with status 2: a file that is no store, a damaged or altered one, one of another campaign; to read, one
    /// that a killed process left with a log beside it. With status 3: in use, no right, no room. With `resume` an
    /// unsharded campaign may have more trials than before.
    static proto::Result<TrialStore, Failure> open(const std::string& path, const CampaignKey& key, Open how);
    /// The same of a database that is open; `path` is its name in messages.
    static proto::Result<TrialStore, Failure> open(std::string path, Database database, const CampaignKey& key,
                                                   Open how);
    TrialStore(TrialStore&&) noexcept;
    TrialStore& operator=(TrialStore&&) noexcept;
    TrialStore(const TrialStore&) = delete;
    TrialStore& operator=(const TrialStore&) = delete;
    /// As finish(), if anything was written.
    ~TrialStore();

    [[nodiscard]] const std::string& path() const { return path_; }
    /// Of the store itself.
    [[nodiscard]] const CampaignKey& key() const { return key_; }
    /// Trials that are kept.
    [[nodiscard]] std::uint64_t kept() const { return kept_; }

    /// Gets what was read, some hundred trials at a time and in their order; a failure ends the reading.
    using Reader = std::function<std::optional<Failure>(const sim::TrialBatch&)>;
    /// All that is kept, of a scenario with so many faults. What the reader got is to be believed only if no failure
    /// comes: with status 2 if rows were altered, are missing or too many. Once, before anything is added.
    std::optional<Failure> read(std::size_t faults, const Reader& reader);
    /// The trials after those kept, which were read; on a failure what was committed before stays.
    std::optional<Failure> add(const sim::TrialBatch& batch);
    /// Makes sure of what was added.
    std::optional<Failure> commit();
    /// After the last commit: leaves one plain file that can be read from anywhere, as far as there is room for it.
    /// What was not committed is lost.
    void finish();

  private:
    TrialStore(std::string path, Database database);
    /// Takes the lock; says whether nothing has been kept yet.
    proto::Result<bool, Failure> lock(Open how);
    std::optional<Failure> create(const CampaignKey& key);
    std::optional<Failure> begin_writing();
    /// What is kept, if it is of that campaign.
    std::optional<Failure> take_up(const CampaignKey& key, Open how);
    std::optional<Failure> read_key();
    /// The same campaign.
    [[nodiscard]] std::optional<Failure> compare(const CampaignKey& wanted) const;
    /// The same part of it, and as long; longer from the next commit on if that is possible.
    std::optional<Failure> fit(const CampaignKey& wanted, Open how);
    /// The block that was just read is the next that the table has.
    std::optional<Failure> hold_block(Database::Statement& blocks) const;
    /// Over the campaign's own row with such totals.
    [[nodiscard]] std::uint64_t whole_check(const TrialChecks::Totals& totals) const;
    /// Over the shapes of the tables, and the names in them.
    std::uint64_t check_of_tables();
    /// By a statement for as many rows.
    std::optional<Failure> write_rows(Database::Statement& rows, std::span<const sim::TrialRecord> records);
    std::optional<Failure> write_dangerous(const sim::DangerousTrial& dangerous);
    std::optional<Failure> write_checks();
    [[nodiscard]] Failure failure() const;
    [[nodiscard]] Failure refused(const std::string& why) const;
    [[nodiscard]] Failure damaged() const;
    /// `what`: a sentence about what does not fit.
    [[nodiscard]] Failure altered(const std::string& what) const;

    using Clock = std::chrono::steady_clock;
    struct Writing;  ///< statements that were prepared
    std::string path_;
    std::unique_ptr<Database> database_;
    std::unique_ptr<Writing> writing_;  ///< there from the first write on
    CampaignKey key_;
    std::uint64_t kept_ = 0;
    TrialChecks checks_;
    TrialChecks::Totals told_;  ///< of the campaign's row, when it was opened
    std::uint64_t tables_check_ = 0;
    bool known_ = false;      ///< all that is kept was read
    bool open_ = false;       ///< a transaction
    std::uint64_t rows_ = 0;  ///< in it
    Clock::time_point begun_{};
};

}  // namespace tools
