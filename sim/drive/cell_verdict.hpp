#pragma once
// From what each link of a cell showed to the verdict on the whole.
#include <cstddef>
#include <optional>
#include <string>

#include "sim/drive/cell_result.hpp"

namespace sim {

struct WholeCell;

/// Whether the machine stopped in time after that: fills in `allowed`, `within_limit`, `ran_on` and `why`. `later_by`:
/// so much later the link that was struck may stop than by its settings alone. Requires the injections of the links.
/// Returns when it can be judged, if that is after the end of `cell`: it moves on, and its time is not over.
std::optional<Duration> judge_far_stop(const WholeCell& cell, const CellResult& result, FarStop& stop,
                                       Duration later_by = {});
/// From the contact of that guard to the output command of that link's machine, over all links of its way and by the
/// settings; nothing if there is no bound, or no way.
std::optional<Duration> bound_of_demand(const WholeCell& cell, std::size_t machine_link, const std::string& safeguard);

/// Requires that each link was concluded, and the twin, the demands and the stops elsewhere filled in.
void conclude_cell(const WholeCell& cell, CellResult& result);

/// See that of one link: the same for all of them and for what only the whole cell shows.
void withdraw_verdict(CellResult& result);

}  // namespace sim
