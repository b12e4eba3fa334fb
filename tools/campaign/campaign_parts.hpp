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
struct CellCampaign;
struct Scenario;
}  // namespace sim

namespace tools {

struct CampaignRequest {
    CampaignKey key;
    const sim::CellCampaign* cell = nullptr;  ///< over all links of a cell, else nullptr
    std::optional<std::string> store;
    bool resume = false;
    std::optional<Keep> keep;                ///< as typed
    std::optional<sim::Duration> until;      ///< of this process, by the clock on the wall
    std::vector<std::string> stores;         ///< to join or to look at
    std::optional<std::uint64_t> one_trial;  ///< to run and show
    enum class What : std::uint8_t { trials, one_trial, join, plan, status } what = What::trials;
};

/// What was typed, with the key of the campaign. Refused: options that do not go together, or no number of trials.
/// `cell`: nullptr for one link; else `scenario` is the whole of it, here and below. Both must outlive the request.
proto::Result<CampaignRequest, Failure> campaign_request(const Request& request, const sim::Scenario& scenario,
                                                         const sim::CellCampaign* cell);

/// Of that campaign, without trials.
sim::CampaignSummary summary_of(const sim::Scenario& scenario, const sim::CellCampaign* cell);

/// One trial by itself, shown as a rehearsal is.
proto::Result<Finished, Failure> show_trial(const Request& request, const CampaignRequest& wanted,
                                            const sim::Scenario& scenario);
/// The same of a campaign over all links of a cell.
proto::Result<Finished, Failure> show_cell_trial(const Request& request, const CampaignRequest& wanted);

/// Reads all stores into `summary`, one open at a time, in the order of the trials, and writes the joined one if that
/// is asked for; returns the number of trials. Refused, with nothing written: a store of another campaign; parts that
/// are missing or not finished, all named at once; one that is there twice.
proto::Result<std::uint64_t, Failure> merge_stores(const CampaignRequest& wanted, sim::CampaignSummary& summary);

/// What a campaign of that size costs, by about a second of it run here, and the commands for it. Writes a store beside
/// the temporary files meanwhile.
proto::Result<Finished, Failure> plan_campaign(const Request& request, const CampaignRequest& wanted,
                                               const sim::Scenario& scenario);

/// Which of the stores' parts are finished, unfinished and missing. Status 1 unless all are finished.
proto::Result<Finished, Failure> show_status(const Request& request, const CampaignRequest& wanted,
                                             const sim::Scenario& scenario);

}  // namespace tools
