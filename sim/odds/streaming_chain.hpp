#pragma once
// How often one way of a streaming link stops for nothing: an exact Markov chain over the scans of the sender, one
// telegram in each. A telegram counts by the scan of the receiver that finds it; on a way that keeps its order only the
// scan of the last one, the receiver's deadline, the numbers missing in a row and the state of burst losses matter.
#include "sim/odds/chain_odds.hpp"
#include "sim/odds/link_model.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// Whether the chain describes that way: order kept, each delay drawn alone and no background traffic.
bool streaming_chain_suits(const LinkModel& link, Direction way);

/// Stops of the receiver of that way, per scan of its sender. Requires a streaming link and streaming_chain_suits().
/// Limits on the lag of fed-back numbers and on the age of stamps are not part of it.
ChainOdds streaming_chain(const LinkModel& link, Direction direction);

}  // namespace sim
