#pragma once
// Joins what the parts of a live cell wrote down: of each link three records, of which the controller's are all of one
// part and the channel's of another.
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/drive/cell_result.hpp"
#include "sim/drive/join.hpp"

namespace sim {

struct WholeCell;

using CellRecords = std::vector<PartRecords>;  ///< by link

/// Whether records are known to be of one run, or are only if they match. Those of one process are, even of a link over
/// which nothing came.
enum class Together : std::uint8_t { if_they_match, surely };

/// A link's records are brought together as join() does; then all are heard in the order of the channel's clock, so
/// that what begins in one link is known in the others. When a contact opened is known by the station that reads it.
/// Nothing if the parts do not belong together. Each link's result says which part was not there all the time: what was
/// done then nobody may judge. `witnesses`: none, or those of each link.
std::optional<CellResult> join_cell(const WholeCell& cell, std::uint64_t seed, const CellRecords& parts,
                                    Together together, const std::vector<Witnesses>& witnesses = {});

}  // namespace sim
