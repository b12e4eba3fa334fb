#pragma once
// The plant of one file as data for its drawing (`tools/pages/plant_drawing.js`): of what is typed, never of how it
// runs.
#include <string>
#include <vector>

#include "tools/text/value.hpp"

namespace sim {
struct CrossCheck;
struct FunctionCheck;
struct Scenario;
struct WholeCell;
}  // namespace sim

namespace tools {

/// A link as it is drawn: `alone` as in a cell, and what was found comparing its own ends.
struct LinkToDraw {
    std::string name;  ///< empty where the file has but one
    const sim::Scenario* alone = nullptr;
    const sim::CrossCheck* ends = nullptr;
};

struct PlantToDraw {
    std::vector<LinkToDraw> links;            ///< at least one, in the order of the file
    std::vector<std::string> guard_stations;  ///< by safeguard, as stations_of_guards() gives them
    const sim::FunctionCheck* functions = nullptr;
};

/// Who reads each safeguard, by name.
std::vector<std::string> stations_of_guards(const sim::Scenario& scenario);
std::vector<std::string> stations_of_guards(const sim::WholeCell& cell);

/// Controller, stations, links, safeguards and machines by name, with how many settings differ and how many functions
/// warn at each: the member `drawing` of plant.json. Requires pointers that are set and the stations of all safeguards.
Value drawn_plant(const PlantToDraw& plant);

}  // namespace tools
