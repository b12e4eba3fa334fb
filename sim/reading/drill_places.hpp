#pragma once
// Figures in the texts of a drill are not typed: a place in braces says which one is meant, and it is reckoned from the
// drill's plant when the drill is read. The places are described in scenarios/drills/README.md.
#include <optional>
#include <string>

#include "sim/reading/section.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

/// `over` laid over `base`: tables key by key, everything else as a whole.
Node laid_over(Node base, const Node& over);

/// The plant that a drill names.
struct DrillPlant {
    std::string name, file;
    Scenario sheet;  ///< as it should be
    Node written;    ///< its file, with the drill's own [scenario] laid over it
};
/// That of a drill's document; nothing if it has none, or none that can be read, which is said.
std::optional<DrillPlant> plant_of(const Node& drill, const std::string& drill_file, Problems& problems);

/// A bench shows signals: values in the payload are refused in a drill.
void refuse_values(const Scenario& scenario, const std::string& drill_file, Problems& problems);

/// The drill's document with all places of its texts filled in; says which one cannot be.
Node with_places_filled(Node drill, const DrillPlant& plant, Problems& problems);

}  // namespace sim
