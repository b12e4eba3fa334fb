#pragma once
// Many trials of a scenario's faults, shared by threads in batches; what they found comes out in the order of the
// trials, whatever the number of threads.
#include <cstdint>
#include <string>
#include <vector>

#include "sim/drive/trial.hpp"

namespace sim {

struct CellCampaign;
struct Scenario;

struct DangerousTrial {
    std::uint64_t trial = 0;
    std::uint32_t fault = 0;  ///< of the scenario
    std::string why;
};

/// Trials in a row.
struct TrialBatch {
    std::vector<TrialRecord> records;
    std::vector<DangerousTrial> dangerous;
};

/// Trials `first` to `end`, the latter not included.
struct CampaignQuestion {
    const Scenario& scenario;
    std::uint64_t seed = 1;
    std::uint64_t first = 0, end = 0;
    unsigned jobs = 1;
    /// Over all links of a cell, of which `scenario` then is the whole; nullptr: of one link.
    const CellCampaign* cell = nullptr;
};

/// Gets the batches, from the thread that asked for the campaign.
class CampaignSink {
  public:
    /// The next trials; false stops the campaign, and nothing more comes.
    virtual bool take(const TrialBatch& batch) = 0;
    /// Asked ten times a second and more; false stops the campaign. What is done already still comes to take(), as far
    /// as nothing is missing before it.
    virtual bool go_on() = 0;

  protected:
    ~CampaignSink() = default;
};

/// Requires a scenario with a fault, as read_scenario() gives it, and at least one job.
void run_campaign(const CampaignQuestion& question, CampaignSink& sink);

/// Part `number` (1..) of `parts` of a campaign: their trials follow one on the other and leave none out.
struct TrialRange {
    std::uint64_t first = 0, end = 0;
    [[nodiscard]] std::uint64_t count() const { return end - first; }
};
TrialRange shard_of(std::uint64_t trials, std::uint64_t number, std::uint64_t parts);

}  // namespace sim
