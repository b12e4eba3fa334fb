#pragma once
// What is typed of each link, row by row: meant, and at either end; how the bits lie; and what each end would show.
#include "tools/text/value.hpp"

namespace sim {
class WrittenFile;
}

namespace tools {

class TypedPlant;

/// "links" of the page. Requires a plant that could be read; `file` is the same text.
Value links_told(const TypedPlant& typed, const sim::WrittenFile& file);

}  // namespace tools
