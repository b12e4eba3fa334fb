#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check.hpp"
#include "sim/timing/response.hpp"
#include "tools/text/value.hpp"

namespace sim {
struct Scenario;
}

namespace tools {

/// What was found out about a plant before any rehearsal.
struct PlantFound {
    sim::CrossCheck check;
    sim::LongestWatchdog longest;
    std::vector<std::string> stations = {};  ///< of a link of a cell: which station reads each safeguard
    /// Of a link of a cell: the controller's, of which the link's safety layer takes every so many.
    std::optional<sim::Duration> controller_scan = {};
    /// What check says of the guards, for the drawing; of a link of a cell nothing: there the cell is drawn.
    std::optional<sim::FunctionCheck> functions = {};
};

/// What the scenario says about plant and link, as the report and the two sheets need it: names, settings of both ends
/// side by side, bit map, network, signature, limits. `found` is of this `scenario`.
Value describe_plant(const sim::Scenario& scenario, std::uint64_t seed, const PlantFound& found);

}  // namespace tools
