#pragma once
// Every change of one link as it was told, for whoever compares two runs.
#include <variant>
#include <vector>

#include "sim/judge/events.hpp"

namespace sim {

using DeskChange =
    std::variant<Changed, MachineTold, OutputUsed, Contacted, Computed, InUse, OutputsOff, DriveSlows, SpeedLimited>;
/// Of each link its own, in the order of the file.
using DeskTrace = std::vector<std::vector<DeskChange>>;

}  // namespace sim
