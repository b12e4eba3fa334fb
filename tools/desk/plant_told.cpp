#include "tools/desk/plant_told.hpp"

#include "tools/desk/typed_plant.hpp"
#include "tools/plant/drawn_plant.hpp"

namespace tools {

Value plant_told(const TypedPlant& typed) {
    PlantToDraw plant{
        .links = {},
        .guard_stations = typed.is_cell() ? stations_of_guards(typed.cell()) : stations_of_guards(typed.link(0)),
        .functions = &typed.functions()};
    for (std::size_t i = 0; i < typed.links(); ++i)
        plant.links.push_back({typed.link_name(i), &typed.link(i), &typed.ends(i)});
    return drawn_plant(plant);
}

}  // namespace tools
