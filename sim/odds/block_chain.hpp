#pragma once
// How often a polled link stops for nothing whose delays on the way out come in blocks, as they were measured: the
// chain of sim/odds/polled_chain.hpp with the place in the measured times. What counts of a delay is the scan that
// finds the telegram, and blocks that begin alike are followed as one, so that there are far fewer ways through a block
// than places to begin at.
#include "sim/odds/chain_odds.hpp"
#include "sim/odds/link_model.hpp"

namespace sim {

/// Whether the chain describes this channel: a block on the way out alone, order kept both ways, no background traffic.
bool block_chain_suits(const LinkModel& link);

struct BlockEffort {
    std::uint64_t steps_most = 20'000'000;  ///< a state in one cycle of one way through a block
    double undecided_share = 0.01;          ///< of the stops: what may be left out
    std::size_t ordinary_most = 1000;       ///< blocks without one of the longest 1 % that are followed each
};

/// Requires block_chain_suits(link) and a polled exchange. After a stop the link begins again with a block.
ChainOdds block_chain(const LinkModel& link, const BlockEffort& effort = {});

}  // namespace sim
