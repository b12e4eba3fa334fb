#include "tools/program/reachable.hpp"

#include <string>

#include "sim/scenario/reach.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

Failure unreachable(const std::string& file, int line, const std::string& link, const sim::KeptApart& apart) {
    return {Status::bad_input,
            file,
            line,
            {},
            in_words(apart, link) +
                "; nothing is reckoned of a link that never runs, and linkdrill run shows what each "
                "end does"};
}

}  // namespace

std::optional<Failure> cannot_reach(const sim::Scenario& scenario) {
    const auto apart = sim::kept_apart(scenario);
    if (!apart) return std::nullopt;
    return unreachable(scenario.file, 0, scenario.cell_link, *apart);
}

std::optional<Failure> cannot_reach(const sim::WholeCell& cell) {
    const auto apart = sim::kept_apart(cell);
    if (!apart) return std::nullopt;
    const sim::CellLink& link = cell.links[apart->first];
    return unreachable(cell.file, link.where.line, link.name, apart->second);
}

}  // namespace tools
