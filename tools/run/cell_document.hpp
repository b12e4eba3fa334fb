#pragma once
// A cell's rehearsal for programs.
#include "sim/drive/cell_result.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// Faults of the scenario. One of the controller strikes every link and is one all the same.
struct CellCounts {
    std::size_t injected = 0, not_fired = 0, as_expected = 0, dangerous = 0;
};
CellCounts counts_of(const sim::WholeCell& cell, const sim::CellResult& result);

/// The keys of a rehearsal of one link where they mean the same of several, each injection and hop with its link, and
/// `links`: what each link showed by itself.
Value describe(const sim::WholeCell& cell, const sim::CellResult& result);

/// One injection of that link; with `machines`, those of other links that depend on it.
Value describe_injection(const sim::WholeCell& cell, const sim::CellResult& result, std::size_t link,
                         std::size_t injection);

}  // namespace tools
