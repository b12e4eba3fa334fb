#pragma once
// Figures in the texts of a drill are not typed: a place in braces says which one is meant, and it is reckoned from the
// drill's plant when the drill is read. The places are described in scenarios/drills/README.md.
#include "sim/reading/drill_plant.hpp"

namespace sim {

/// The drill's document with all places of its texts filled in; says which one cannot be.
Node with_places_filled(Node drill, const DrillPlant& plant, Problems& problems);

}  // namespace sim
