#pragma once
// Laws of counts by which tests of order are exact. The same bits on every machine.
#include <cstdint>

namespace sim {

/// Probability, two-sided, of a number of runs as far out as `runs`, when `a` of one kind and `b` of another stand in a
/// row in any order as likely as another: twice the smaller tail, at most 1. Requires a, b >= 1 and 2 <= runs <=
/// 2 min(a, b) + 1. Relative error below 1e-7 for up to 1e7 values.
double runs_p(std::uint64_t a, std::uint64_t b, std::uint64_t runs);

/// The same of the runs of one kind only: `runs` groups of the `a`. Requires 1 <= runs <= min(a, b + 1).
double groups_p(std::uint64_t a, std::uint64_t b, std::uint64_t runs);

/// Probability, two-sided, of a sum of y (y - 1) as far out as `sum`, over the `parts` parts y >= 0 of `total`, when
/// each way to part it is as likely as another (spacings of places drawn at random: Greenwood, Journal of the Royal
/// Statistical Society 109, 1946). The first three moments are exact; between them a shifted lognormal law above the
/// mean and a power that is nearly normal below it. From 19 parts on the p-value is within a third of the exact one
/// down to 0.001, by 200 000 draws each for 19, 59 and 500 parts. Requires parts >= 2 and total >= 2.
double spacings_p(std::uint64_t total, std::uint64_t parts, double sum);

}  // namespace sim
