#pragma once
// run --live: the same scenario over UDP, all parts in this process or one part of it.
#include <memory>
#include <vector>

#include "sim/drive/join.hpp"
#include "sim/judge/result.hpp"
#include "sim/judge/time_line.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/program/command.hpp"
#include "tools/run/run_capture.hpp"
#include "tools/store/evidence.hpp"

namespace tools {

struct LiveOutcome {
    std::unique_ptr<const sim::Scenario>
        scenario;                          ///< at the pace that was run; of the result: with what was done by hand
    std::optional<sim::RunResult> result;  ///< nothing as long as other parts are missing
    std::optional<sim::TimeLine> line;     ///< of the result
    std::vector<EvidenceFile> files;       ///< to be kept besides
    Page waiting{Columns{}};               ///< for people, if there is no result
    std::unique_ptr<RunCapture> capture;   ///< not finished yet; may be missing
};

/// Runs it; the seed is for the faults and draws of the channel.
proto::Result<LiveOutcome, Failure> run_live_command(const Request& request, const sim::Scenario& as_written,
                                                     std::uint64_t seed, const std::string& folder);

}  // namespace tools
