#pragma once
// Measured delays whose longest ones are replaced by a fitted law, so that there are some longer than those that were
// seen, by no more than the law is believed. Made with sim/numeric/portable_math.hpp: the same on every machine.
#include <cstdint>
#include <vector>

#include "sim/scenario/channel.hpp"

namespace sim {

/// See sim/numeric/pareto_tail.hpp for threshold, reach and what speaks against the fit. `delays` in the order in which
/// they were measured; of `unanswered` more none is known.
FittedTail fitted_tail_of(const std::vector<Duration>& delays, std::uint64_t unanswered);

/// Lets `seen`, made of the same delays by histogram_of_seen(), reach further: what was seen stays, and the central law
/// beyond the longest of it becomes the tail. A refused one is only kept.
void keep_fitted_tail(DelayShape& seen, FittedTail tail);

/// The whole distribution by one of the laws of `seen.fitted`, for odds: what was seen up to the threshold, the law
/// above it, which up to the longest seen is in the cells, and then in the tail. It is that of all delays up to the
/// reach; the law's `beyond` comes on top. Requires a fit that is not refused.
DelayShape fitted_shape(const DelayShape& seen, const FittedTail::Law& law);

/// The distribution as fitted, and those with every share at its lower and at its upper limit.
struct FittedShapes {
    DelayShape central, low, high;
};
FittedShapes fitted_shapes(const DelayShape& seen);

}  // namespace sim
