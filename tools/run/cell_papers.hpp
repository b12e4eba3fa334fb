#pragma once
// What a cell's run leaves besides its result, so that papers can be made of it: what is known of the plant, and the
// acts of its acceptance test.
#include <cstdint>
#include <vector>

#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/cell_acceptance.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// plant.json of the whole cell and plant_1.json ... of its links, each with provenance.
std::vector<EvidenceFile> plant_files_of(const sim::WholeCell& cell, std::uint64_t seed);

/// acceptance.json: rows as those of one link, where "device" stands for all stations but the controller.
Value describe_acceptance(const sim::WholeCell& cell, const sim::CellAcceptance& study);

}  // namespace tools
