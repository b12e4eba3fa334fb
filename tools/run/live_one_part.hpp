#pragma once
// One part of a live run in this process, beside two others elsewhere.
#include <chrono>
#include <optional>

#include "sim/live/live.hpp"
#include "tools/run/live_join.hpp"

namespace tools {

/// How long a part that is over looks for the records of the others.
inline constexpr std::chrono::seconds wait_for_other_parts{3};

/// Runs the part and joins the three records if those of the others are in the folder by then; else tells in the
/// outcome's page what is still to come. An interrupt ends it with what was seen on record, see PartJournalFile.
std::optional<Failure> run_one_part(LiveOutcome& outcome, const LiveAsked& asked, sim::PartOptions part,
                                    sim::LiveOptions options);

}  // namespace tools
