#include "sim/drive/campaign_summary.hpp"

#include <algorithm>

#include "proto/contract.hpp"
#include "sim/drive/cell_campaign.hpp"
#include "sim/numeric/random.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

std::string_view campaign_name_of(const Fault& fault) {
    return fault.at_end ? name_of(fault.way) : name_of(fault.error);
}

std::uint64_t fingerprint_of(const TrialRecord& record) {
    std::uint64_t mixed = 0;
    const auto mix = [&mixed](std::uint64_t value) {
        mixed = (mixed ^ value) * 0x9E3779B97F4A7C15ULL;
        mixed ^= mixed >> 29;
    };
    mix(record.trial);
    mix(record.digest);
    mix(std::uint64_t{record.fault} << 32 | static_cast<std::uint64_t>(record.way) << 16 |
        static_cast<std::uint64_t>(record.outcome) << 8 |
        (record.detected_by ? 1 + static_cast<std::uint64_t>(*record.detected_by) : 0));
    mix(static_cast<std::uint64_t>(record.in_time) << 1 | static_cast<std::uint64_t>(record.started));
    for (const std::optional<Duration>& time : {record.detect, record.safe_state, record.standstill, record.allowed,
                                                record.demand_reduced, record.demand_stands})
        mix(time ? static_cast<std::uint64_t>(time->ns) : ~std::uint64_t{0});
    for (const std::uint64_t functions : {record.functions_met, record.functions_not_met, record.functions_not_shown})
        mix(functions);
    // scrambled once more: sums of these are compared
    return scramble(mixed);
}

CampaignSummary::CampaignSummary(const Scenario& scenario) {
    for (const Fault& fault : scenario.faults) {
        const std::string_view name = campaign_name_of(fault);
        auto found =
            std::find_if(errors_.begin(), errors_.end(), [&](const ErrorSummary& e) { return e.name == name; });
        if (found == errors_.end()) {
            errors_.emplace_back().name = name;
            found = errors_.end() - 1;
        }
        error_of_fault_.push_back(static_cast<std::size_t>(found - errors_.begin()));
    }
    for (const SafetyFunction& function : scenario.functions) {
        const bool slows = std::any_of(function.must.begin(), function.must.end(),
                                       [](const MustReact& must) { return must.must == StopCategory::reduced_speed; });
        functions_.push_back(
            {.name = function.name, .to_reduced = slows || reduced_speed_counts(scenario, function), .worst = {}});
    }
}

namespace {

/// A guard of that function is one of another function too, which asks something of another machine.
bool shares_guards(const std::vector<SafetyFunction>& functions, const SafetyFunction& function) {
    const auto machines_differ = [](const SafetyFunction& a, const SafetyFunction& b) {
        return std::any_of(a.must.begin(), a.must.end(), [&](const MustReact& one) {
            return std::any_of(b.must.begin(), b.must.end(),
                               [&](const MustReact& other) { return one.machine != other.machine; });
        });
    };
    return std::any_of(functions.begin(), functions.end(), [&](const SafetyFunction& other) {
        return other.name != function.name && machines_differ(function, other) &&
               std::any_of(other.safeguards.begin(), other.safeguards.end(),
                           [&](const std::string& guard) { return names(function, guard); });
    });
}

/// At any machine that it asks something of.
bool reduced_speed_counts(const WholeCell& cell, const SafetyFunction& function) {
    return std::any_of(cell.links.begin(), cell.links.end(), [&](const CellLink& link) {
        const std::vector<SafetyFunction>& shares = link.alone.functions;
        return std::any_of(shares.begin(), shares.end(), [&](const SafetyFunction& share) {
            return share.name == function.name && reduced_speed_counts(link.alone, share);
        });
    });
}

}  // namespace

CampaignSummary::CampaignSummary(const CellCampaign& campaign) : CampaignSummary(campaign.whole) {
    for (std::size_t i = 0; i < functions_.size(); ++i) {
        const SafetyFunction& function = campaign.cell.functions[i];
        functions_[i].to_reduced = functions_[i].to_reduced || reduced_speed_counts(campaign.cell, function);
        functions_[i].times_mixed = shares_guards(campaign.cell.functions, function);
    }
    for (const CellLink& link : campaign.cell.links) links_.push_back({.name = link.name});
    for (std::size_t fault = 0; fault < campaign.strikes.size(); ++fault) {
        if (campaign.strikes_all(fault) && links_.size() == campaign.cell.links.size()) links_.emplace_back();
        link_of_fault_.push_back(campaign.strikes_all(fault) ? campaign.cell.links.size()
                                                             : campaign.strikes[fault].front().link);
    }
}

CampaignSummary CampaignSummary::anew() const {
    CampaignSummary other;
    for (const ErrorSummary& error : errors_) other.errors_.emplace_back().name = error.name;
    other.error_of_fault_ = error_of_fault_;
    for (const FunctionSummary& one : functions_)
        other.functions_.push_back(
            {.name = one.name, .to_reduced = one.to_reduced, .times_mixed = one.times_mixed, .worst = {}});
    for (const LinkSummary& link : links_) other.links_.push_back({.name = link.name});
    other.link_of_fault_ = link_of_fault_;
    return other;
}

void CampaignSummary::add_stop(ErrorSummary& error, const TrialRecord& record) {
    if (!record.allowed) {
        if (record.safe_state) error.without_bound.add(*record.safe_state);
        return;
    }
    error.allowed = std::max(error.allowed.value_or(Duration{}), *record.allowed);
    if (record.safe_state) error.safe_state.add(*record.safe_state);
    if (record.standstill) error.standstill.add(*record.standstill);
}

void CampaignSummary::add_functions(const TrialRecord& record) {
    for (std::size_t i = 0; i < functions_.size(); ++i) {
        FunctionSummary& function = functions_[i];
        const auto bit = [&](std::uint64_t functions) { return functions >> i & 1; };
        function.met += bit(record.functions_met);
        function.not_met += bit(record.functions_not_met);
        function.not_shown += bit(record.functions_not_shown);
        if (function.times_mixed || bit(record.functions_met | record.functions_not_met) == 0) continue;
        const auto& took = function.to_reduced && record.demand_reduced ? record.demand_reduced : record.demand_stands;
        if (took) function.worst = std::max(function.worst.value_or(Duration{}), *took);
    }
}

void CampaignSummary::add(const TrialRecord& record) {
    proto::require(record.fault < error_of_fault_.size(), "a trial of another scenario");
    ErrorSummary& error = errors_[error_of_fault_[record.fault]];
    ++trials_;
    ++error.trials;
    ++error.outcomes[static_cast<std::size_t>(record.outcome)];
    if (record.detected_by) {
        ++error.detected;
        ++error.first_measure[static_cast<std::size_t>(*record.detected_by)];
    }
    if (!record.in_time) ++error.late;
    if (!link_of_fault_.empty()) {
        LinkSummary& link = links_[link_of_fault_[record.fault]];
        ++link.trials;
        ++link.outcomes[static_cast<std::size_t>(record.outcome)];
        link.late += record.in_time ? 0 : 1;
    }
    if (record.detect) error.detect.add(*record.detect);
    if (record.outcome == Outcome::safe_state) add_stop(error, record);
    cycles_ += record.cycles;
    exchanges_ += record.exchanges;
    demands_ += record.demand ? 1 : 0;
    starting_ += record.phase == TrialPhase::starting ? 1 : 0;
    spurious_ += record.spurious;
    not_started_ += record.started ? 0 : 1;
    add_functions(record);
    digest_.add({record.trial / block_trials, 1, fingerprint_of(record)});
}

void CampaignSummary::add(DangerousTrial dangerous) {
    if (dangerous_.size() < dangerous_listed_most) dangerous_.push_back(std::move(dangerous));
}

void CampaignSummary::add(const TrialBatch& batch) {
    for (const TrialRecord& record : batch.records) add(record);
    for (const DangerousTrial& dangerous : batch.dangerous) add(dangerous);
}

std::uint64_t CampaignSummary::of(Outcome outcome) const {
    std::uint64_t sum = 0;
    for (const ErrorSummary& error : errors_) sum += error.of(outcome);
    return sum;
}

std::uint64_t CampaignSummary::late() const {
    std::uint64_t sum = 0;
    for (const ErrorSummary& error : errors_) sum += error.late;
    return sum;
}

}  // namespace sim
