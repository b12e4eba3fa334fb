#pragma once
// The trials of a campaign in one SQLite file, in their order, so that what is committed is a beginning without gaps: a
// row each, or their summary with the rows of the dangerous ones or without rows. Batched in transactions of up to half
// a second or ten thousand rows (ten seconds where the summary is large); killed at any moment, all that was committed
// is there, and going on from it gives what an uninterrupted campaign gives. One process at a time has the file.
// Nothing that is not a store of the very campaign is ever written to.
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

/// Which campaign: parts of one campaign have all of this alike, but for the shard, what is kept, and who made it.
struct CampaignKey {
    std::uint64_t model = 0;    ///< sim::model_number
    std::string made_by = {};   ///< the builds that worked at it, a line each; for people, compared with nothing
    std::string scenario = {};  ///< its title, for messages
    std::string contents = {};  ///< of the scenario and of what the first trials came to
    std::uint64_t seed = 0;
    std::uint64_t trials = 0;             ///< of the whole campaign
    std::uint64_t shard = 1, shards = 1;  ///< part `shard` of `shards`
    Keep keep = Keep::all;
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

    /// What a store says of itself, which holds its check; its trials are not looked at. Of one that is being written,
    /// or was left with a log, what is in the file itself.
    struct Seen {
        CampaignKey key;
        std::uint64_t kept = 0;
    };
    static proto::Result<Seen, Failure> look(const std::string& path);
    /// Why a store of that name with that key is none of the wanted campaign; nothing if it is one.
    static std::optional<Failure> compare(const std::string& path, const CampaignKey& key, const CampaignKey& wanted);
    /// Removes the file of that name and any log beside it, as far as they are there.
    static void remove(const std::string& path);
    /// The log that lies beside the file of that name, if there is something in it.
    static std::optional<std::string> log_of(const std::string& path);

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

    /// Gets what was read, some hundred rows or a block of trials at a time and in their order; a failure ends the
    /// reading.
    using Reader = std::function<std::optional<Failure>(const TrialPiece&)>;
    /// All that is kept, added to `into`, the summary of that campaign. It is to be believed only if no failure comes:
    /// with status 2 if anything was altered, is missing or too much. Once, before anything is added.
    std::optional<Failure> read(sim::CampaignSummary& into, const Reader& reader);
    /// What is written of trials without a row: before any is added, unless all rows are kept. It must outlive the
    /// writing, and have had all that was added at each commit.
    void write_of(sim::CampaignSummary& summary) { summary_ = &summary; }
    /// The trials after those kept, which were read; on a failure what was committed before stays.
    std::optional<Failure> add(const sim::TrialBatch& batch);
    /// The same of another part's store, which keeps no less than this one; to be committed by commit().
    std::optional<Failure> add(const TrialPiece& piece);
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
    /// The same part of it, and as long; longer from the next commit on if that is possible.
    std::optional<Failure> fit(const CampaignKey& wanted, Open how);
    /// The block that was just read is the next that the table has.
    std::optional<Failure> hold_block(Database::Statement& blocks) const;
    /// Over the campaign's own row with such totals.
    [[nodiscard]] std::uint64_t whole_check(const TrialChecks::Totals& totals) const;
    /// Over the shapes of the tables, and the names in them.
    std::uint64_t check_of_tables();
    std::optional<Failure> read_rows(sim::CampaignSummary& into, const Reader& reader);
    std::optional<Failure> read_summary(sim::CampaignSummary& into);
    std::optional<Failure> read_summed(sim::CampaignSummary& into, const Reader& reader);
    /// Begins a transaction, if none is open.
    std::optional<Failure> begin();
    /// Ends it, if it is due.
    std::optional<Failure> commit_if_due();
    /// Those of its rows that are kept, and its list of dangerous ones.
    std::optional<Failure> write_kept(const sim::TrialBatch& batch);
    /// By a statement for as many rows.
    std::optional<Failure> write_rows(Database::Statement& rows, std::span<const sim::TrialRecord> records);
    std::optional<Failure> write_dangerous(const sim::DangerousTrial& dangerous);
    std::optional<Failure> write_summary();
    std::optional<Failure> write_checks();
    /// What was committed, to who looks at the file meanwhile.
    void tell();
    [[nodiscard]] Failure failure() const;
    [[nodiscard]] Failure refused(const std::string& why) const;
    [[nodiscard]] Failure damaged() const;
    [[nodiscard]] Failure of_another_layout() const;
    /// `what`: a sentence about what does not fit.
    [[nodiscard]] Failure altered(const std::string& what) const;

    using Clock = std::chrono::steady_clock;
    struct Writing;  ///< statements that were prepared
    std::string path_;
    std::unique_ptr<Database> database_;
    std::unique_ptr<Writing> writing_;  ///< there from the first write on
    CampaignKey key_;
    std::uint64_t kept_ = 0;
    TrialChecks checks_{Keep::all};
    sim::CampaignSummary* summary_ = nullptr;  ///< there unless all rows are kept, as soon as trials are added
    std::size_t summary_bytes_ = 0;            ///< of what was written of it last
    std::uint64_t summary_check_ = 0;
    TrialChecks::Totals told_;  ///< of the campaign's row, when it was opened
    std::uint64_t tables_check_ = 0;
    bool known_ = false;      ///< all that is kept was read
    bool open_ = false;       ///< a transaction
    std::uint64_t rows_ = 0;  ///< in it
    Clock::time_point begun_{};
};

}  // namespace tools
