#include "tools/campaign/trial_checks.hpp"

#include <array>
#include <initializer_list>
#include <utility>

#include "proto/contract.hpp"
#include "sim/drive/campaign_summary.hpp"
#include "tools/campaign/trial_rows.hpp"

namespace tools {
namespace {

constexpr std::array<std::string_view, 3> keep_names{"all", "dangerous", "summary"};

}  // namespace

std::string_view name_of(Keep keep) { return keep_names.at(static_cast<std::size_t>(keep)); }

std::optional<Keep> keep_named(std::string_view name) {
    for (const Keep keep : {Keep::all, Keep::dangerous, Keep::summary})
        if (name == name_of(keep)) return keep;
    return std::nullopt;
}

void TrialChecks::put(RunningCheck& into, const TrialBlock& block) {
    for (const std::uint64_t number :
         {block.number, block.trials, block.dangerous, block.fingerprint, block.rows_check, block.dangerous_check})
        into.add(number);
}

void TrialChecks::go_to(std::uint64_t number) {
    if (block_ && block_->number == number) return;
    if (const auto finished = current()) {
        put(finished_check_, *finished);
        finished_.push_back(*finished);
    }
    rows_ = dangerous_ = RunningCheck();
    block_ = TrialBlock{.number = number};
}

void TrialChecks::add_row(const sim::TrialRecord& record) {
    if (keep_ == Keep::all || (keep_ == Keep::dangerous && record.outcome == sim::Outcome::dangerous))
        rows_.add(row_of(record));
}

void TrialChecks::add_to_list(const sim::DangerousTrial& dangerous) {
    if (keep_ == Keep::summary) return;
    dangerous_.add(dangerous.trial);
    dangerous_.add(std::uint64_t{dangerous.fault});
    dangerous_.add(std::string_view(dangerous.why));
}

void TrialChecks::add(const sim::TrialBatch& batch) {
    auto dangerous = batch.dangerous.begin();
    for (const sim::TrialRecord& record : batch.records) {
        go_to(record.trial / block_trials);
        add_row(record);
        block_->fingerprint += sim::fingerprint_of(record);
        ++block_->trials;
        ++trials_;
        for (; dangerous != batch.dangerous.end() && dangerous->trial == record.trial; ++dangerous) {
            add_to_list(*dangerous);
            ++block_->dangerous;
            ++dangerous_trials_;
        }
    }
    proto::require(dangerous == batch.dangerous.end(), "a dangerous trial that is not in its batch");
}

void TrialChecks::add(const TrialPiece& piece) {
    if (piece.of.trials == 0) return;
    go_to(piece.of.number);
    block_->trials += piece.of.trials;
    block_->dangerous += piece.dangerous;
    block_->fingerprint += piece.of.sum;
    trials_ += piece.of.trials;
    dangerous_trials_ += piece.dangerous;
    for (const sim::TrialRecord& record : piece.kept.records) add_row(record);
    for (const sim::DangerousTrial& dangerous : piece.kept.dangerous) add_to_list(dangerous);
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

TrialChecks::Totals TrialChecks::totals_of(const std::vector<TrialBlock>& blocks) {
    Totals totals;
    RunningCheck check;
    for (const TrialBlock& block : blocks) {
        totals.trials += block.trials;
        totals.dangerous += block.dangerous;
        put(check, block);
    }
    totals.blocks_check = check.value();
    return totals;
}

TrialChecks::Totals TrialChecks::totals() const {
    RunningCheck blocks = finished_check_;
    if (const auto block = current()) put(blocks, *block);
    return {trials_, dangerous_trials_, blocks.value()};
}

}  // namespace tools
