#pragma once
// run --live on a file with several links: all parts in this process, or one of them.
#include <memory>
#include <optional>
#include <vector>

#include "sim/drive/cell_result.hpp"
#include "sim/judge/time_line.hpp"
#include "sim/live/cell_live.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/program/command.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/page.hpp"

namespace tools {

struct CellOutcome {
    std::unique_ptr<const sim::WholeCell> cell;  ///< at the pace that was run
    std::optional<sim::CellResult> result;       ///< nothing as long as other parts are missing
    std::vector<sim::TimeLine> lines;            ///< of the result, one for each link
    std::vector<EvidenceFile> files;             ///< to be kept besides
    Page waiting{Columns{}};                     ///< for people, if there is no result
};

/// A live run of a cell as it was asked for.
struct CellAsked {
    std::string folder;
    std::uint64_t seed = 0;
    std::int64_t scale = 1;
};

/// Puts the result, its time lines and its files into `outcome`. False, and nothing of that, if the records do not
/// belong together; `in_one_process`: they do, even if nothing came through some link.
bool join_cell_records(CellOutcome& outcome, const CellAsked& asked, const sim::CellRecords& parts,
                       bool in_one_process);

/// Runs the part and joins all records if those of the others are in the folder by then; else tells in the outcome's
/// page what is still to come. A part that is ended in a run and started anew leaves that run without a verdict.
std::optional<Failure> run_one_cell_part(CellOutcome& outcome, const CellAsked& asked, sim::CellPartOptions part,
                                         sim::LiveOptions options);

/// Runs it; the seed is for the faults and draws of the channel.
proto::Result<CellOutcome, Failure> run_live_cell(const Request& request, const sim::WholeCell& as_written,
                                                  std::uint64_t seed, const std::string& folder);

}  // namespace tools
