#pragma once
// What only all links of a cell together show, once each link was heard to its end.
#include <vector>

#include "sim/cell/link_wiring.hpp"
#include "sim/drive/cell_result.hpp"
#include "sim/judge/demand_trail.hpp"
#include "sim/judge/far_stops.hpp"

namespace sim {

struct WholeCell;

/// The way of each demand, link after link, and the demands of all machines in the order of their contacts. The links'
/// own results must be there.
void gather_demands(const WholeCell& cell, const std::vector<const DemandTrail*>& trails, CellResult& result);

/// From now on what begins to strike a link is told to the machines that hang on it. `links`: of all, in their order.
void tell_each_other(const LinkWiring& wiring, const std::vector<FarStops*>& links);
/// What the machine of that link came to by `until`, after something struck another link.
FarStop far_stop_of(const FarStops::Stop& stop, const LinkWiring& wiring, std::size_t machine_link, Instant until);

/// What became of machines after something struck a link that is not their own. `end`: of the run.
std::vector<FarStop> far_stops(const LinkWiring& wiring, const std::vector<const FarStops*>& links, Instant end);

}  // namespace sim
