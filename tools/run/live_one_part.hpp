#pragma once
// One part of a live run in this process, beside two others elsewhere.
#include <optional>

#include "sim/live/live.hpp"
#include "tools/run/live_join.hpp"

namespace tools {

/// Runs the part and joins the three records if those of the others are in the folder by then; else tells in the
/// outcome's page what is still to come. An interrupt ends it with what was seen on record, see PartJournalFile.
std::optional<Failure> run_one_part(LiveOutcome& outcome, const LiveAsked& asked, sim::PartOptions part,
                                    sim::LiveOptions options);

}  // namespace tools
