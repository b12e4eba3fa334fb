#pragma once
// The plant of a drill: a scenario of plants/, of one link or of several at one controller, with what the drill lays
// over it.
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "sim/reading/section.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/training/drill.hpp"

namespace sim {

/// `over` laid over `base`: tables key by key, everything else as a whole.
Node laid_over(Node base, const Node& over);

/// The plant that a drill names.
struct DrillPlant {
    std::string name, file;
    Scenario sheet;                       ///< as it should be; of several links the one in question
    std::optional<WholeCell> cell_sheet;  ///< all links, if there are several
    std::size_t in_question = 0;          ///< the first of them with a machine
    Node written;                         ///< its file, with the drill's own [scenario] laid over it
    [[nodiscard]] std::vector<std::string> link_names() const;  ///< none of a plant with one link
};
/// That of a drill's document; nothing if it has none, or none that can be read, which is said.
std::optional<DrillPlant> plant_of(const Node& drill, const std::string& drill_file, Problems& problems);

/// The plant's scenario with the drill's own `[scenario]` laid over it; says what is wrong, and what no bench shows:
/// values in the payload, and beside several links a neighbour.
void take_plant(Drill& drill, DrillPlant plant, Problems& problems);

}  // namespace sim
