#pragma once
// A way on which nothing of the link under rehearsal arrives, from the start: its ends cannot reach each other.
#include <memory>

#include "sim/channel/channel.hpp"

namespace sim {

/// Drops every telegram of link 0 without counting or telling it: no fault and no loss of the channel did that.
std::unique_ptr<FaultStage> make_nothing_passes();

}  // namespace sim
