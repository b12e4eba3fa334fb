#pragma once
// The records of a live run's parts become its result, with what a reader must know of it.
#include <cstdint>
#include <optional>
#include <string>

#include "sim/drive/join.hpp"
#include "sim/drive/limits.hpp"
#include "tools/run/live_run.hpp"

namespace tools {

/// A live run as it was asked for.
struct LiveAsked {
    const std::string& folder;
    std::uint64_t seed = 0;
    std::int64_t scale = 1;
    std::uint64_t most = 0;  ///< telegrams in the capture, 0 for none
    bool in_one_process = false;
};

/// Puts the result, its time line and its files into `outcome`, whose scenario becomes the one that was run: with the
/// restarts by hand. False, and nothing of that, if the records do not belong together; those of one process always do.
proto::Result<bool, Failure> join_records(LiveOutcome& outcome, const LiveAsked& asked, const sim::PartRecords& parts);

}  // namespace tools
