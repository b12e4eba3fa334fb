#pragma once
// Commands that reckon with a link that runs refuse one whose ends cannot reach each other: every figure of it would be
// better than the truth.
#include <optional>

#include "tools/program/failure.hpp"

namespace sim {
struct Scenario;
struct WholeCell;
}  // namespace sim

namespace tools {

/// Why nothing can be reckoned of that link; nothing where its ends reach each other, as far as is typed.
std::optional<Failure> cannot_reach(const sim::Scenario& scenario);
/// The same of any link of a cell.
std::optional<Failure> cannot_reach(const sim::WholeCell& cell);

}  // namespace tools
