#pragma once
// What slips through all links that a safety function of a cell crosses, added up, against 1 % of what the function's
// level allows.
#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/scenario/whole_cell.hpp"
#include "tools/residual/link_residual.hpp"

namespace tools {

/// A link that a function crosses, by the function's level. Rates and methods as of one link: both receivers together.
struct CrossedLink {
    std::size_t link = 0;  ///< of the cell
    LinkResidual found;
};

struct FunctionResidual {
    std::size_t function = 0;                ///< of the cell
    std::string level;                       ///< as typed: "PL d"; empty: it states none
    unsigned sil = 0;                        ///< that goes with it, 1 to 4; 0: none does, and no link is crossed
    bool by_claim = false;                   ///< no SIL goes with its level: `sil` is the lowest that its links claim
    std::vector<CrossedLink> links;          ///< in the order of the cell
    std::vector<sim::MethodResult> methods;  ///< over all these links, in the order of a study's methods; empty: none
    LevelVerdict verdict = LevelVerdict::not_met;
    std::string why;  ///< not met whatever the rates: demands that cross no link; else empty
    /// Of the methods that decide, the one with the highest rate, which decides last; nothing if none has a rate.
    [[nodiscard]] const sim::MethodResult* highest(const std::string& method) const;
};

struct CellResidual {
    const sim::WholeCell& cell;
    std::vector<FunctionResidual> functions;  ///< in the order of the cell
    std::string method;                       ///< that decides; empty: all that have a rate
    double bit_error_rate = 0;
    /// There is a function, and each is met.
    [[nodiscard]] bool met() const;
};

/// Places of the links that demands of that function cross on their way to the machines that it asks something of.
std::vector<std::size_t> links_of_function(const sim::WholeCell& cell, const sim::SafetyFunction& function);
/// Its guards whose demands cross none of them: they reach nothing that its machines obey.
std::vector<std::string> guards_without_way(const sim::WholeCell& cell, const sim::SafetyFunction& function);

/// The rates of several links of one function by one method. `links`: at least one, each of its first member's share;
/// bool: a study of that link has bounds only.
sim::MethodResult added_over_links(const std::vector<std::pair<std::string, sim::MethodResult>>& links, bool bounds);

/// `question` as for one link. The cell must outlive the finding.
CellResidual residual_of_cell(const sim::WholeCell& cell, const ResidualQuestion& question, const std::string& method,
                              WeightsCache& cache, const sim::Effort& effort);

Value describe(const CellResidual& found);
Page page_of(const CellResidual& found, Columns columns);

}  // namespace tools
