#pragma once
// From what each link of a cell showed to the verdict on the whole.
#include "sim/drive/cell_result.hpp"

namespace sim {

struct WholeCell;

/// Requires that each link was concluded, and the twin, the demands and the stops elsewhere filled in.
void conclude_cell(const WholeCell& cell, CellResult& result);

}  // namespace sim
