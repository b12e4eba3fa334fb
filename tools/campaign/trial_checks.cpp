#include "tools/campaign/trial_checks.hpp"

#include <utility>

#include "proto/contract.hpp"
#include "tools/campaign/trial_rows.hpp"

namespace tools {

void TrialChecks::put(RunningCheck& into, const TrialBlock& block) {
    for (const std::uint64_t number :
         {block.number, block.trials, block.dangerous, block.rows_check, block.dangerous_check})
        into.add(number);
}

void TrialChecks::add(const sim::TrialBatch& batch) {
    auto dangerous = batch.dangerous.begin();
    for (const sim::TrialRecord& record : batch.records) {
        const std::uint64_t number = record.trial / block_trials;
        if (!block_ || block_->number != number) {
            if (const auto finished = current()) {
                put(finished_check_, *finished);
                finished_.push_back(*finished);
            }
            rows_ = dangerous_ = RunningCheck();
            block_ = TrialBlock{.number = number};
        }
        rows_.add(row_of(record));
        ++block_->trials;
        ++trials_;
        for (; dangerous != batch.dangerous.end() && dangerous->trial == record.trial; ++dangerous) {
            dangerous_.add(dangerous->trial);
            dangerous_.add(std::uint64_t{dangerous->fault});
            dangerous_.add(std::string_view(dangerous->why));
            ++block_->dangerous;
            ++dangerous_trials_;
        }
    }
    proto::require(dangerous == batch.dangerous.end(), "a dangerous trial that is not in its batch");
}

std::optional<TrialBlock> TrialChecks::current() const {
    if (!block_) return std::nullopt;
    TrialBlock block = *block_;
    block.rows_check = rows_.value();
    block.dangerous_check = dangerous_.value();
    return block;
}

std::vector<TrialBlock> TrialChecks::take_changed() {
    std::vector<TrialBlock> changed = std::exchange(finished_, {});
    if (const auto block = current()) changed.push_back(*block);
    return changed;
}

TrialChecks::Totals TrialChecks::totals() const {
    RunningCheck blocks = finished_check_;
    if (const auto block = current()) put(blocks, *block);
    return {trials_, dangerous_trials_, blocks.value()};
}

}  // namespace tools
