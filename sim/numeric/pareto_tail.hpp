#pragma once
// The longest of a series of measured times as a generalised Pareto law (peaks over a threshold: Pickands, Annals of
// Statistics 3, 1975; Davison and Smith, Journal of the Royal Statistical Society B 52, 1990), how far it may be
// believed, and when not.
//
// Threshold: of some thresholds, from a twentieth of the values (500 at most) down to 50 above it, the lowest for which
// neither it nor those above it are given up by Anderson and Darling's test, rejections being stopped so that about 5 %
// of them are false (Bader, Yan and Zhang, Annals of Applied Statistics 12, 2018). Values that were rounded alike are
// spread evenly over what was rounded to them.
//
// Reach: the largest time whose share above it is at least 1 / (10 values), one order of magnitude beyond what was
// seen, and whose upper limit is at most ten times that share. What is longer is not claimed.
//
// A generalised Pareto law is what the longest of independent times tend to, not what they have: where times are normal
// the upper limit at the reach was above the truth in 93 to 96 of 100 series, for exponential, lognormal and Pareto
// ones in 96 to 98 (97.5 asked; 3000 to 100 000 values, 200 series each). A second, rarer cause of long times that was
// never seen while measuring is in no fit.
#include <cstdint>
#include <optional>
#include <vector>

#include "proto/time.hpp"
#include "sim/numeric/exceedances.hpp"
#include "sim/numeric/pareto_goodness.hpp"
#include "sim/numeric/pareto_profile.hpp"

namespace sim {

/// Why a fit is not to be believed.
enum class TailDoubt : std::uint8_t {
    too_few,     ///< under 1000 values, or no 50 above a threshold
    unanswered,  ///< some had no answer: how long they would have taken is cut off
    piled_up,    ///< they crowd at the longest, as behind a time-out
    clustered,   ///< the times over the threshold depend on each other
    too_coarse,  ///< rounded to steps of more than a quarter of the scale
    bad_fit,     ///< no threshold, or the one chosen not at 2.5 % by each test
    short_end,   ///< a shape under -0.5: the end decides, where likelihood says nothing
    too_heavy,   ///< a shape of 1 is possible: not even a mean
    no_reach     ///< it would reach no further than the longest that was seen
};

struct ParetoTail {
    std::uint64_t values = 0;
    proto::Duration longest{};           ///< that was seen
    std::vector<TailDoubt> doubts = {};  ///< empty: to be believed as far as it reaches
    /// Nothing where there was nothing to fit; in `threshold` and above, of the threshold taken.
    std::optional<ParetoProfile> fit = {};
    double threshold_ns = 0.0;  ///< between two values that could be measured
    ParetoGoodness goodness = {};
    std::optional<ClusterTest> clusters = {};
    double step_ns = 1.0;  ///< all times over the threshold are apart by multiples of it
    std::uint64_t thresholds_tried = 0, thresholds_given_up = 0;
    double reach_ns = 0.0;  ///< no share is claimed above; 0 without a fit

    [[nodiscard]] bool believed() const { return fit.has_value() && doubts.empty(); }
};

/// `series` in the order in which it was measured, none negative; `unanswered`: of so many more no time is known.
ParetoTail pareto_tail(const std::vector<proto::Duration>& series, std::uint64_t unanswered);

}  // namespace sim
