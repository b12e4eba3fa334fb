#pragma once
// How often a polled link stops for nothing: an exact Markov chain over the cycles of the controller.
//
// Why it is exact. Everything is only looked at in scans, so a delay counts by the scan that finds the telegram, and
// the sum of two delays needs no grid finer than the device's scans. The controller sends one telegram in each cycle,
// whether it is new or a repeat, and the device answers each of those that come, so losses and delays do not depend on
// what the ends make of them. On a way that keeps its order nothing sent later arrives earlier; hence of all that is on
// its way only five numbers matter: the scan in which the last telegram will be found at the device, the scan in which
// its answer will be found (needed if a telegram with the next number is found together with it), the scan before which
// no later answer is found, the scan in which the answer waited for will be found, and the device's deadline. With the
// cycles since the last acceptance and the two states of burst losses they are a state. Draws are made when a
// telegram is sent.
//
// Floating point is in order here: nothing of this reaches a draw or a digest.
#include "sim/odds/chain_odds.hpp"
#include "sim/odds/link_model.hpp"

namespace sim {

/// Whether the chain describes this channel: order kept both ways, each delay drawn alone, no background
/// traffic.
bool polled_chain_suits(const LinkModel& link);

struct ChainEffort {
    std::size_t solved_states_most = 20'000;  ///< more are followed instead
    std::size_t solved_steps_most = 100'000;
    std::uint64_t solving_work_most = 20'000'000;
    std::size_t states_before_pruning = 30'000;  ///< up to so many states nothing is left out
    std::size_t states_most = 120'000;
    double least_first = 1e-6;      ///< states with less are left out in the first try with pruning
    double undecided_share = 0.01;  ///< of the stops: what may be left out
    std::uint64_t steps_most =
        100'000'000;  ///< of all tries together, a step being one state in one cycle and one slot
};

/// Requires polled_chain_suits(link) and a polled exchange. With reaction `discard` a rejected telegram counts as lost;
/// the second within an error interval is the caller's to reckon, from bent_to_device and bent_to_controller.
ChainOdds polled_chain(const LinkModel& link, const ChainEffort& effort = {});

}  // namespace sim
