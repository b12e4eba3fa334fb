#pragma once
// The trials of a campaign in one SQLite file: a row each, in their order, so that what is committed is a beginning
// without gaps. Batched in transactions of up to half a second or ten thousand trials; killed at any moment, all that
// was committed is there, and going on from it gives what an uninterrupted campaign gives. One process at a time has
// the file. Nothing that is not a store of the very campaign is ever written to.
#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "proto/result.hpp"
#include "sim/drive/campaign.hpp"
#include "sim/drive/campaign_summary.hpp"
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
        read,    ///< any shard of the same campaign, whole
    };
    /// Refused with status 2: a file that is no store, a damaged one, one of another campaign. With status 3: in use,
    /// no right, no room. With `resume` an unsharded campaign may have more trials than before.
    static proto::Result<TrialStore, Failure> open(const std::string& path, const CampaignKey& key, Open how);
    /// The same of a database that is open; `path` is its name in messages.
    static proto::Result<TrialStore, Failure> open(std::string path, Database database, const CampaignKey& key,
                                                   Open how);

    [[nodiscard]] const std::string& path() const { return path_; }
    /// Of the store itself.
    [[nodiscard]] const CampaignKey& key() const { return key_; }
    /// Trials that are kept.
    [[nodiscard]] std::uint64_t kept() const { return kept_; }

    /// All that is kept, in order; into `copy` too, if there is one.
    std::optional<Failure> read(sim::CampaignSummary& into, TrialStore* copy = nullptr);
    /// The trials after those kept; on a failure what was committed before stays.
    std::optional<Failure> add(const sim::TrialBatch& batch);
    /// Makes sure of what was added.
    std::optional<Failure> commit();
    /// After the last commit: leaves one plain file that can be read from anywhere.
    void finish();

  private:
    TrialStore(std::string path, Database database);
    /// Takes the lock; says whether nothing has been kept yet.
    proto::Result<bool, Failure> lock();
    std::optional<Failure> create(const CampaignKey& key);
    /// What is kept, if it is of that campaign.
    std::optional<Failure> take_up(const CampaignKey& key, Open how);
    std::optional<Failure> read_key();
    /// The same campaign.
    [[nodiscard]] std::optional<Failure> compare(const CampaignKey& wanted) const;
    /// The same part of it, and as long; made longer if that is possible.
    std::optional<Failure> fit(const CampaignKey& wanted, Open how);
    std::optional<Failure> count_kept();
    /// By a statement for as many rows.
    std::optional<Failure> write_rows(Database::Statement& rows, std::span<const sim::TrialRecord> records);
    [[nodiscard]] Failure failure() const;
    [[nodiscard]] Failure refused(const std::string& why) const;
    [[nodiscard]] Failure damaged() const;

    using Clock = std::chrono::steady_clock;
    std::string path_;
    std::unique_ptr<Database> database_;
    std::optional<Database::Statement> insert_, insert_together_, insert_dangerous_;
    CampaignKey key_;
    std::uint64_t kept_ = 0;
    bool open_ = false;       ///< a transaction
    std::uint64_t rows_ = 0;  ///< in it
    Clock::time_point begun_{};
};

}  // namespace tools
