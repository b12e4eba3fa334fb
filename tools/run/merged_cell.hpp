#pragma once
// A cell's rehearsal as one scenario and one result, for what tells of guards and functions whatever links they cross.
#include "sim/drive/cell_result.hpp"
#include "sim/judge/result.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace tools {

struct MergedCell {
    sim::Scenario scenario;  ///< names, safeguards, signals, demands, functions with what they ask of every machine
    sim::RunResult result;   ///< demands and functions, each naming its machine and links; no injections
};

MergedCell merged(const sim::WholeCell& cell, const sim::CellResult& result);

}  // namespace tools
