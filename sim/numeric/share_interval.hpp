#pragma once
// How far a share may be from what was counted: exact, by the binomial distribution (Clopper and Pearson, Biometrika
// 26, 1934), also where nothing or everything was counted.
#include <cstdint>

#include "sim/numeric/poisson_interval.hpp"

namespace sim {

/// Two-sided interval of 95 % for the share of which `seen` of `trials` are one outcome, 2.5 % at each side. Requires
/// seen <= trials; 0 to 1 for no trials. Up to 1e12 trials it is never narrower than the exact interval, and each end
/// is outside of it by less than a relative 2e-12, of an end's distance from 1 too, as far as a double can tell numbers
/// next to 1 apart. The same bits on every machine; some 5 us.
Interval share_interval(std::uint64_t seen, std::uint64_t trials);

/// One-sided: with 95 % confidence the share is not above this. As near to the exact bound, and never below it.
double share_at_most(std::uint64_t seen, std::uint64_t trials);

/// Probability that a beta distributed value of these parameters is at most x (the regularised incomplete beta function
/// I_x(a, b)). Requires a, b >= 1 and 0 <= x <= 1. Relative error below 1e-10 for a and b up to 1e6, if x is below the
/// mean, and absolute above it.
double beta_below(double a, double b, double x);

}  // namespace sim
