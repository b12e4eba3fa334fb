#pragma once
// What a store keeps of each block of 65 536 trials (block_digest.hpp), so that parts of a campaign can be joined by
// their blocks: how many trials, how many of them dangerous, their part of the fingerprint, and checks over the rows
// that the store has of them.
//   rows_check       over the block's rows that are kept, in order of the trials, each as RunningCheck takes columns
//   dangerous_check  over the kept list of its dangerous trials in the same order: trial and fault as numbers, then why
//   blocks_check     over all blocks in their order: number, trials, dangerous, fingerprint, rows_check,
//   dangerous_check
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "sim/drive/block_digest.hpp"
#include "sim/drive/campaign.hpp"
#include "tools/store/running_check.hpp"

namespace tools {

using sim::block_trials;

/// Of which trials a store has the rows. Their list of dangerous ones goes with the rows.
enum class Keep : std::uint8_t { all, dangerous, summary };
/// "all" …
std::string_view name_of(Keep keep);
std::optional<Keep> keep_named(std::string_view name);

struct TrialBlock {
    std::uint64_t number = 0;
    std::uint64_t trials = 0, dangerous = 0;
    std::uint64_t fingerprint = 0;  ///< the sum of its trials', modulo 2^64
    std::uint64_t rows_check = 0, dangerous_check = 0;
    [[nodiscard]] sim::DigestBlock digest() const { return {number, trials, fingerprint}; }
    friend bool operator==(const TrialBlock&, const TrialBlock&) = default;
};

/// Some trials in a row of one block, and what is kept of them: all rows, those of the dangerous ones, or none.
struct TrialPiece {
    sim::DigestBlock of;
    std::uint64_t dangerous = 0;
    sim::TrialBatch kept;
};

class TrialChecks {
  public:
    explicit TrialChecks(Keep keep) : keep_(keep) {}

    /// The next trials, in their order; their dangerous ones listed in the same order.
    void add(const sim::TrialBatch& batch);
    /// The same of which no more is known than that; what is kept of it is no less than is kept here.
    void add(const TrialPiece& piece);

    /// Of the block that the last trial is in; nothing before the first.
    [[nodiscard]] std::optional<TrialBlock> current() const;
    /// All that differ from what the last call gave: the current one, and before it those finished since.
    std::vector<TrialBlock> take_changed();

    struct Totals {
        std::uint64_t trials = 0, dangerous = 0, blocks_check = 0;
        friend bool operator==(const Totals&, const Totals&) = default;
    };
    [[nodiscard]] Totals totals() const;
    /// What they are of these blocks, all there are.
    static Totals totals_of(const std::vector<TrialBlock>& blocks);

  private:
    static void put(RunningCheck& into, const TrialBlock& block);
    /// Makes the block of that number the current one.
    void go_to(std::uint64_t number);
    void add_row(const sim::TrialRecord& record);
    void add_to_list(const sim::DangerousTrial& dangerous);

    Keep keep_;
    RunningCheck rows_, dangerous_;    ///< of the current block
    std::optional<TrialBlock> block_;  ///< its counts
    std::vector<TrialBlock> finished_;
    RunningCheck finished_check_;
    std::uint64_t trials_ = 0, dangerous_trials_ = 0;
};

}  // namespace tools
