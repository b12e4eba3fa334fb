#pragma once
// What check says of a cell: each link's ends, what its guards do against what they must over all links, and what only
// the whole shows.
#include <string>
#include <vector>

#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check.hpp"

namespace sim {

struct WholeCell;

struct CellCheck {
    std::vector<CrossCheck> ends;  ///< by link
    FunctionCheck functions;       ///< of all machines; every thing once
    std::vector<std::string> problems, cautions;
    [[nodiscard]] bool ok() const;
};

/// Requires a cell as read_cell() gives it.
CellCheck check_cell(const WholeCell& cell);

}  // namespace sim
