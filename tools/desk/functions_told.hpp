#pragma once
// Guard, bit, reaction, machine and level, row by row, with what check warns of beside its row.
#include "tools/text/value.hpp"

namespace tools {

class TypedPlant;

struct FunctionsTold {
    Value rows;                ///< "functions" of the page
    Value problems, cautions;  ///< those that belong to no row
};
/// Requires one that could be read.
FunctionsTold functions_told(const TypedPlant& typed);

}  // namespace tools
