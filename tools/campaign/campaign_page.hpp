#pragma once
#include <cstdint>
#include <optional>
#include <string>

#include "sim/drive/campaign_summary.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

enum class CampaignVerdict : std::uint8_t {
    pass,
    fail,  ///< a stop came later than allowed, or the most trials found nothing to act on
    dangerous,
    not_running,  ///< the link never ran
    stopped,      ///< by Ctrl-C, nothing dangerous and nothing late so far
};

/// Of twenty trials or more, fewer than half found something to act on: what they show is shown by too few.
bool mostly_idle(const sim::CampaignSummary& summary);

/// A campaign and what it is judged by. The summary is sorted where it is asked, so it is not constant.
struct CampaignFinding {
    const sim::Scenario& scenario;
    sim::CampaignSummary& summary;
    std::uint64_t seed = 0;
    std::uint64_t trials = 0;             ///< wanted, of the whole campaign
    std::uint64_t shard = 1, shards = 1;  ///< 1 of 1: the whole campaign
    std::uint64_t wanted = 0;             ///< of this part
    std::optional<std::string> store;     ///< its file, for the hint how to go on
    /// Over all links of a cell, of which `scenario` then is the whole.
    [[nodiscard]] bool of_cell() const { return !summary.links().empty(); }
    /// Requires such a one.
    [[nodiscard]] const sim::LinkSummary& link_of(std::uint32_t fault) const {
        return summary.links()[links_of_faults(summary)[fault]];
    }
    [[nodiscard]] bool complete() const { return summary.trials() == wanted; }
    [[nodiscard]] CampaignVerdict verdict() const;
};

/// The command that repeats one trial.
std::string repeat_command(const CampaignFinding& found, std::uint64_t trial);

/// For people: verdict and bound, how the trials of each error ended, how fast, what was dangerous.
Page page_of(const CampaignFinding& found, Columns columns);
/// Without the store, threads or times of the computer: the same bytes for the same trials.
Value describe(const CampaignFinding& found);

}  // namespace tools
