#pragma once
// Which faults of a cell bring telegrams of one link to another.
#include <cstddef>
#include <vector>

namespace sim {

struct WholeCell;

struct CrossedFaults {
    struct Other {
        std::size_t link = 0;   ///< where it brings telegrams to, or takes them from
        std::size_t fault = 0;  ///< its index there, if it strikes that link too
    };
    bool any = false;
    std::vector<std::vector<Other>> of;  ///< by link and fault; only good for faults with another link
    std::vector<bool> overheard;         ///< by link: its telegrams are inserted elsewhere
};

/// Requires that what strikes two links stands in both of them, under the same place in the file.
CrossedFaults crossed_faults(const WholeCell& cell);

}  // namespace sim
