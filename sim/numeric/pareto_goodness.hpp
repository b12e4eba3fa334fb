#pragma once
// Whether excesses are as a generalised Pareto law has them, by the distance of their distribution from it: Anderson
// and Darling's and Cramer and von Mises'. Both parameters were estimated from the same excesses by maximum likelihood,
// which makes distances small; p-values take that into account (Choulakian and Stephens, Technometrics 43, 2001).
#include <vector>

namespace sim {

struct GoodnessTest {
    double value = 0.0;
    double p = 1.0;  ///< of one as large if the law is right; 0.001 to 0.99 within 2 % of itself for many excesses
};
struct ParetoGoodness {
    GoodnessTest anderson_darling;  ///< looks at the ends too
    GoodnessTest cramer_von_mises;
};
/// `above`: the share that the law has above each excess, the excesses in rising order, so that it falls; each between
/// 0 and 1, neither included. `shape`: of the law; p-values are those of -0.5 or 1 beyond these.
ParetoGoodness pareto_goodness(const std::vector<double>& above, double shape);

/// p-values of distances, as used there.
double anderson_darling_p(double value, double shape);
double cramer_von_mises_p(double value, double shape);

}  // namespace sim
