#pragma once
// Stations of a cell that have one address or one name: either may take what is for the other.
namespace sim {

struct WholeCell;

/// Notes at each end of each link which other station has the same; see AroundEnd. The controller is one station,
/// whatever it has at each link.
void mark_stations_twice(WholeCell& cell);

}  // namespace sim
