#pragma once
// Whether neighbours in a series of measured times depend on each other. Odds that take every telegram for itself are
// too good where late ones come together.
//
// Everything rests on the order of the values only, so no law is assumed of them, and p-values hold under the one
// hypothesis that every order was as likely as another. A p-value is two-sided: the chance of a figure at least as far
// out. The same bits on every machine.
#include <cstdint>
#include <optional>
#include <vector>

#include "proto/time.hpp"
#include "sim/numeric/exceedances.hpp"

namespace sim {

/// Runs about the median (Wald and Wolfowitz, Annals of Mathematical Statistics 11, 1940). Values that equal the median
/// go to the side that makes both as even as can be.
struct RunsTest {
    std::uint64_t above = 0, below = 0;
    std::uint64_t runs = 0;
    double expected = 0.0;  ///< if independent
    double z = 0.0;         ///< distance from it in standard deviations; negative: fewer runs than expected
    double p = 1.0;         ///< exact
};
RunsTest runs_about_median(const std::vector<proto::Duration>& series);

/// Correlations of the ranks at lags 1, 2 ... (equal values share the mean of their ranks), summed up by Ljung and Box
/// (Biometrika 65, 1978); with ranks free of the distribution (Dufour and Roy, Communications in Statistics A 15,
/// 1986).
struct RankCorrelations {
    std::vector<double> by_lag;  ///< [0]: lag 1; empty if nothing varies
    double q = 0.0;
    double p = 1.0;  ///< by chi-square with as many degrees of freedom as lags
};
/// Requires lags below the number of values.
RankCorrelations rank_correlations(const std::vector<proto::Duration>& series, std::uint64_t lags);

enum class DependenceVerdict : std::uint8_t {
    independent_as_far_as_seen,  ///< no test finds anything; that is no proof
    dependent,                   ///< at least one does
    too_few                      ///< under `dependence_needs`, or too few different ones
};

/// Values below which nothing is concluded from finding nothing.
inline constexpr std::uint64_t dependence_needs = 200;
/// Of all tests together: of series whose values are independent so many are called dependent, at most.
inline constexpr double dependence_level = 0.05;

struct Dependence {
    std::uint64_t count = 0;
    RunsTest runs;
    RankCorrelations correlations;         ///< lags: 20, or a fifth of the values if that is less
    std::optional<ClusterTest> late = {};  ///< of the longest 1 % (20 at least), see longest_of_all()
    double p_asked = 0.0;                  ///< a p-value below it counts: the level over the number of tests
    DependenceVerdict verdict = DependenceVerdict::too_few;
    /// Values that hang together at most: the larger of the longest cluster of late ones and the first lag from which
    /// on 20 rank correlations in a row lie within the 95 % band of independent values, widened by sqrt(log10 count)
    /// for looking at so many (as Politis and White, Econometric Reviews 23, 2004). 1: each stands for itself. Nothing
    /// where there are under 40 values or it is over a tenth of them (or of what can be looked at: 4e8 products).
    std::optional<std::uint64_t> block_length = {};
};
/// `series` in the order in which it was measured; what is missing in between, such as a loss, is taken for not there.
Dependence dependence_of(const std::vector<proto::Duration>& series);

}  // namespace sim
