#pragma once
// What campaign does besides running its trials: reading what was asked for, one trial alone, joining stores.
#include <optional>
#include <string>
#include <vector>

#include "sim/drive/campaign_summary.hpp"
#include "tools/campaign/trial_store.hpp"
#include "tools/program/command.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

struct CampaignRequest {
    CampaignKey key;
    std::optional<std::string> store;
    bool resume = false;
    std::vector<std::string> merge;          ///< stores to join; empty: none
    std::optional<std::uint64_t> one_trial;  ///< to run and show
};

/// What was typed, with the key of the campaign. Refused: options that do not go together, or no number of trials.
proto::Result<CampaignRequest, Failure> campaign_request(const Request& request, const sim::Scenario& scenario);

/// One trial by itself, shown as a rehearsal is.
proto::Result<Finished, Failure> show_trial(const Request& request, const CampaignRequest& wanted,
                                            const sim::Scenario& scenario);

/// Reads all stores into `summary`, in the order of the trials, and writes the joined one if that is asked for; returns
/// the number of trials. Refused, with nothing written: a store of another campaign, one that is not finished, parts
/// that leave trials out or have them twice.
proto::Result<std::uint64_t, Failure> merge_stores(const CampaignRequest& wanted, sim::CampaignSummary& summary);

}  // namespace tools
