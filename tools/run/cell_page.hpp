#pragma once
// A cell's rehearsal for people.
#include "sim/drive/cell_result.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/run/run_page.hpp"
#include "tools/text/page.hpp"

namespace tools {

/// Verdict, guards and functions over all links, then each link with what struck it, evidence, repeat.
Page page_of(const sim::WholeCell& cell, const sim::CellResult& result, const RunPageNotes& notes, Columns columns);

}  // namespace tools
