#pragma once
// The bit map of a link as a grid, one for each way, and the places of its signals and values as a list.
#include <string>

#include "tools/text/value.hpp"

namespace sim {
class WrittenFile;
}

namespace tools {

class TypedPlant;

/// Where the tables of a link stand in its file: "link[2].device.", or "device." where there is one link.
struct LinkPaths {
    std::string link, controller, device, whole;  ///< `whole`: before [bits] and [value] of both ends
    bool in_cell = false;
};
LinkPaths paths_of(const TypedPlant& typed, std::size_t link);

/// "bits" and "signals" of the page.
Value bits_told(const TypedPlant& typed, std::size_t link);
Value signals_told(const TypedPlant& typed, std::size_t link, const sim::WrittenFile& file);

}  // namespace tools
