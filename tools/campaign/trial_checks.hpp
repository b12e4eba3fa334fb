#pragma once
// The checks of a store's rows, kept for each block of 65 536 trials (block = number of the trial / 65 536), so that
// parts of a campaign can be joined by their blocks: only a block that two parts share has to be made anew from rows.
//   rows_check       over the block's rows in order of the trials, each as RunningCheck takes columns
//   dangerous_check  over its dangerous trials in the same order: trial and fault as numbers, then why
//   blocks_check     over all blocks in their order: number, trials, dangerous, rows_check, dangerous_check
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/drive/campaign.hpp"
#include "tools/store/running_check.hpp"

namespace tools {

inline constexpr std::uint64_t block_trials = 65'536;

struct TrialBlock {
    std::uint64_t number = 0;
    std::uint64_t trials = 0, dangerous = 0;
    std::uint64_t rows_check = 0, dangerous_check = 0;
    friend bool operator==(const TrialBlock&, const TrialBlock&) = default;
};

class TrialChecks {
  public:
    /// The next trials, in their order; their dangerous ones listed in the same order.
    void add(const sim::TrialBatch& batch);

    /// Of the block that the last trial is in; nothing before the first.
    [[nodiscard]] std::optional<TrialBlock> current() const;
    /// All that differ from what the last call gave: the current one, and before it those finished since.
    std::vector<TrialBlock> take_changed();

    struct Totals {
        std::uint64_t trials = 0, dangerous = 0, blocks_check = 0;
        friend bool operator==(const Totals&, const Totals&) = default;
    };
    [[nodiscard]] Totals totals() const;

  private:
    static void put(RunningCheck& into, const TrialBlock& block);
    RunningCheck rows_, dangerous_;    ///< of the current block
    std::optional<TrialBlock> block_;  ///< its counts
    std::vector<TrialBlock> finished_;
    RunningCheck finished_check_;
    std::uint64_t trials_ = 0, dangerous_trials_ = 0;
};

}  // namespace tools
