#pragma once
// A whole rehearsal of several links at one controller, in virtual time.
#include <cstdint>
#include <vector>

#include "sim/cell/link_wiring.hpp"
#include "sim/drive/cell_result.hpp"
#include "sim/drive/limits.hpp"
#include "sim/judge/far_stops.hpp"
#include "sim/judge/witnesses.hpp"

namespace sim {

struct Scenario;
struct WholeCell;

/// Each link draws from a seed of its own.
std::uint64_t seed_of_link(std::uint64_t seed, std::size_t link);

/// A link as it is while the whole cell runs: nothing of the others is reckoned with where it is rehearsed.
Scenario in_cell(const WholeCell& cell, std::size_t link);
/// The limits by which that link is judged while the whole cell runs: a demand from another link has the time of the
/// links before it too.
ScenarioLimits limits_in_cell(const WholeCell& cell, std::size_t link);

/// What the machine of that link came to by `until`, after something struck another link.
FarStop far_stop_of(const FarStops::Stop& stop, const LinkWiring& wiring, std::size_t machine_link, Instant until);

/// Requires a cell as read_cell() gives it. The same cell and seed give the same result, whoever else hears of it.
/// `witnesses`: none, or those of each link.
CellResult rehearse_cell(const WholeCell& cell, std::uint64_t seed, const std::vector<Witnesses>& witnesses = {});

}  // namespace sim
