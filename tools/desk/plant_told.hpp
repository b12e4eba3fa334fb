#pragma once
// The plant of a file, for the drawing of the page.
#include "tools/text/value.hpp"

namespace tools {

class TypedPlant;

/// Safeguards, controller, links, stations and machines by name, with how much differs or warns at each. Requires one
/// that could be read.
Value plant_told(const TypedPlant& typed);

}  // namespace tools
