#pragma once
// The far tail of a sum of independent values that are not negative, from their own tails, by convolution on a grid.
// Rounding every value down to the grid gives a sum that is too small, rounding up one that is too large: the truth
// lies between. Only positive terms are added, so a tail of 1e-10 is as exact as one of a half.
#include <functional>
#include <vector>

namespace sim {

/// Probability of more than x. Never rises; 1 below 0.
using Tail = std::function<double(double)>;

struct SumTail {
    double low = 0.0, high = 0.0;  ///< the truth lies between
    double estimate = 0.0;         ///< by the middle of the cells, the error's leading term removed with a grid of half
                                   ///< the step; good where the distributions are smooth, within low..high otherwise
};

/// Probability that the sum of one value of each is above `x`, on a grid of x / cells. Requires 1 to 16 values, x > 0,
/// 16 <= cells <= 20000. Takes time with the square of `cells`.
SumTail sum_above(const std::vector<Tail>& values, double x, unsigned cells);

}  // namespace sim
