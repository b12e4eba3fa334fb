#pragma once
// What campaign does besides running its trials: reading what was asked for, one trial alone, joining stores.
#include <optional>
#include <string>
#include <vector>

#include "proto/time.hpp"
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
    std::optional<Keep> keep;                ///< as typed
    std::optional<sim::Duration> until;      ///< of this process, by the clock on the wall
    std::vector<std::string> stores;         ///< to join or to look at
    std::optional<std::uint64_t> one_trial;  ///< to run and show
    enum class What : std::uint8_t { trials, one_trial, join, plan, status } what = What::trials;
};

/// What was typed, with the key of the campaign. Refused: options that do not go together, or no number of trials.
proto::Result<CampaignRequest, Failure> campaign_request(const Request& request, const sim::Scenario& scenario);

/// One trial by itself, shown as a rehearsal is.
proto::Result<Finished, Failure> show_trial(const Request& request, const CampaignRequest& wanted,
                                            const sim::Scenario& scenario);

/// Reads all stores into `summary`, one open at a time, in the order of the trials, and writes the joined one if that
/// is asked for; returns the number of trials. Refused, with nothing written: a store of another campaign; parts that
/// are missing or not finished, all named at once; one that is there twice.
proto::Result<std::uint64_t, Failure> merge_stores(const CampaignRequest& wanted, const sim::Scenario& scenario,
                                                   sim::CampaignSummary& summary);

/// What a campaign of that size costs, by about a second of it run here, and the commands for it. Writes a store beside
/// the temporary files meanwhile.
proto::Result<Finished, Failure> plan_campaign(const Request& request, const CampaignRequest& wanted,
                                               const sim::Scenario& scenario);

/// Which of the stores' parts are finished, unfinished and missing. Status 1 unless all are finished.
proto::Result<Finished, Failure> show_status(const Request& request, const CampaignRequest& wanted,
                                             const sim::Scenario& scenario);

}  // namespace tools
