#pragma once
// What a campaign comes to. Made of the records alone, in the order of the trials: the same bytes whether they were
// just simulated, read from a store or joined from several, with their rows or without.
#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "sim/drive/block_digest.hpp"
#include "sim/drive/campaign.hpp"
#include "sim/numeric/distribution.hpp"
#include "sim/scenario/errors.hpp"

namespace sim {

struct CellCampaign;
struct Fault;
struct Scenario;

/// The name under which the trials of a fault are counted: its error's, or for one of an end its way's.
std::string_view campaign_name_of(const Fault& fault);

/// All trials of one error.
struct ErrorSummary {
    std::string name;
    std::uint64_t trials = 0;
    std::uint64_t detected = 0;                           ///< a measure found something wrong
    std::array<std::uint64_t, outcome_count> outcomes{};  ///< by Outcome
    std::array<std::uint64_t, proto::measure_count> first_measure{};
    std::uint64_t late = 0;  ///< safe later than allowed
    // from the injection
    Distribution detect;
    Distribution safe_state, standstill;  ///< of stops that have a bound
    Distribution without_bound;           ///< of stops for which none can be stated: until the output was safe
    std::optional<Duration> allowed;      ///< the longest bound of any trial
    /// All its kinds of times.
    [[nodiscard]] std::array<Distribution*, 4> times() { return {&detect, &safe_state, &standstill, &without_bound}; }
    [[nodiscard]] std::uint64_t of(Outcome outcome) const { return outcomes[static_cast<std::size_t>(outcome)]; }
    /// Trials in which there was something to act on, and a link that ran: the others show nothing.
    [[nodiscard]] std::uint64_t fired() const { return trials - of(Outcome::not_fired) - of(Outcome::never_ran); }
};

/// What the demands of all trials showed of one function.
struct FunctionSummary {
    std::string name;
    bool to_reduced = false;   ///< its hazard has ended at reduced speed
    bool times_mixed = false;  ///< a guard of it stops machines of other functions too: whose time it is nobody knows
    std::uint64_t met = 0, not_met = 0, not_shown = 0;
    std::optional<Duration> worst;  ///< from the demand to the end of the hazard, sensor included
};

/// The trials whose fault struck one link of a cell.
struct LinkSummary {
    std::string name;  ///< empty: a fault of the controller, in all links at once
    std::uint64_t trials = 0, late = 0;
    std::array<std::uint64_t, outcome_count> outcomes{};  ///< by Outcome
    [[nodiscard]] std::uint64_t of(Outcome outcome) const { return outcomes[static_cast<std::size_t>(outcome)]; }
    [[nodiscard]] std::uint64_t fired() const { return trials - of(Outcome::not_fired) - of(Outcome::never_ran); }
};

/// What a trial comes to, for the fingerprint of its block.
std::uint64_t fingerprint_of(const TrialRecord& record);

class CampaignSummary {
  public:
    /// So many dangerous trials are listed, the first ones; all are counted.
    static constexpr std::size_t dangerous_listed_most = 10'000;

    /// Requires a scenario with a fault, which must outlive this.
    explicit CampaignSummary(const Scenario& scenario);
    /// The same over all links of a cell.
    explicit CampaignSummary(const CellCampaign& campaign);
    /// Of the same campaign, without trials.
    [[nodiscard]] CampaignSummary anew() const;

    /// The next trials, in order.
    void add(const TrialRecord& record);
    void add(DangerousTrial dangerous);
    void add(const TrialBatch& batch);
    /// The trials of `next`, a summary for the same scenario, which follow on these; `blocks` are those of its trials,
    /// in their order.
    void join(const CampaignSummary& next, std::span<const DigestBlock> blocks);

    /// Of the scenario.
    [[nodiscard]] std::size_t faults() const { return error_of_fault_.size(); }
    [[nodiscard]] std::uint64_t trials() const { return trials_; }
    [[nodiscard]] std::uint64_t digest() const { return digest_.value(); }
    [[nodiscard]] std::uint64_t of(Outcome outcome) const;
    [[nodiscard]] std::uint64_t fired() const { return trials() - of(Outcome::not_fired) - of(Outcome::never_ran); }
    [[nodiscard]] std::uint64_t late() const;
    [[nodiscard]] std::uint64_t cycles() const { return cycles_; }
    [[nodiscard]] std::uint64_t exchanges() const { return exchanges_; }
    [[nodiscard]] std::uint64_t demands() const { return demands_; }
    [[nodiscard]] std::uint64_t starting() const { return starting_; }        ///< trials begun in the start of the link
    [[nodiscard]] std::uint64_t spurious() const { return spurious_; }        ///< stops that no fault of a trial caused
    [[nodiscard]] std::uint64_t not_started() const { return not_started_; }  ///< trials whose link never ran
    /// In the order of the errors of a scenario's faults.
    [[nodiscard]] std::vector<ErrorSummary>& errors() { return errors_; }
    [[nodiscard]] const std::vector<ErrorSummary>& errors() const { return errors_; }
    /// In the order of the scenario's functions.
    [[nodiscard]] const std::vector<FunctionSummary>& functions() const { return functions_; }
    /// Of a cell: each link in its order, and the controller's own faults if there are any. Else empty.
    [[nodiscard]] const std::vector<LinkSummary>& links() const { return links_; }
    /// The error whose trials those of this fault of the scenario are.
    [[nodiscard]] const ErrorSummary& error_of(std::uint32_t fault) const { return errors_[error_of_fault_[fault]]; }
    /// By fault of a cell: its place in links(); empty for one link.
    friend const std::vector<std::size_t>& links_of_faults(const CampaignSummary& summary) {
        return summary.link_of_fault_;
    }
    /// In the order of the trials; those beyond dangerous_listed_most are not there.
    [[nodiscard]] const std::vector<DangerousTrial>& dangerous() const { return dangerous_; }

    /// All of it but the digest, for read().
    [[nodiscard]] std::vector<std::uint8_t> to_bytes();
    /// Takes the place of this empty one: what to_bytes() wrote, of trials with those blocks. False, and of no use any
    /// more, if it is not that, or its sums and lists do not agree.
    bool from_bytes(std::span<const std::uint8_t> bytes, std::span<const DigestBlock> blocks);

  private:
    CampaignSummary() = default;
    [[nodiscard]] bool agrees() const;
    [[nodiscard]] bool links_agree() const;
    /// The number of their trials.
    std::uint64_t add_to_digest(std::span<const DigestBlock> blocks);
    void add_functions(const TrialRecord& record);
    static void add_stop(ErrorSummary& error, const TrialRecord& record);
    std::vector<ErrorSummary> errors_;
    std::vector<std::size_t> error_of_fault_;
    std::vector<DangerousTrial> dangerous_;
    std::vector<FunctionSummary> functions_;
    std::vector<LinkSummary> links_;
    std::vector<std::size_t> link_of_fault_;  ///< place in links_; empty for one link
    std::uint64_t trials_ = 0, cycles_ = 0, exchanges_ = 0, demands_ = 0, starting_ = 0, spurious_ = 0,
                  not_started_ = 0;
    BlockDigest digest_;
};

}  // namespace sim
