#pragma once
// The whole law of a delay as pieces, its tail included: for whoever reckons with probabilities.
#include <vector>

#include "sim/scenario/channel.hpp"

namespace sim {

struct DelayPiece {
    Duration low, high;   ///< both included, every nanosecond between them as likely as another
    double weight = 0.0;  ///< over the sum of all: the share of the delays
};
/// In the order of the shape's cells, the tail after them; none without weight.
std::vector<DelayPiece> pieces_of(const DelayShape& shape);

/// No delay is longer, the tail of a formula included.
Duration latest_of(const DelayShape& shape);

}  // namespace sim
