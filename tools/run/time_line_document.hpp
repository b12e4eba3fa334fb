#pragma once
#include <cstddef>

#include "sim/judge/time_line.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// Of each line at most so many changes are written; a line with more is thinned, and says so.
inline constexpr std::size_t changes_written = 4000;

/// The time line of a run as a document: changes with the time of the run in ms, by end, signal and machine. Where a
/// line is thinned, each slice of time keeps its first, last, lowest and highest value, so that nothing short vanishes.
Value describe(const sim::Scenario& scenario, const sim::TimeLine& line, std::size_t most = changes_written);

}  // namespace tools
