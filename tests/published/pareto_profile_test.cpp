// The fit of a generalised Pareto law beside published ones of the same data.
#include "sim/numeric/pareto_profile.hpp"

#include <doctest/doctest.h>

#include <vector>

#include "tests/support/close.hpp"
#include "tests/support/danish_losses.hpp"

namespace {

std::vector<double> excesses() {
    std::vector<double> found;
    found.reserve(tests::danish_losses_over_10.size());
    for (const double loss : tests::danish_losses_over_10) found.push_back(loss - 10.0);
    return found;
}

/// The height at which a falling share is `wanted`.
double height_of(double wanted, auto share) {
    double low = 0.0, high = 1000.0;
    for (int i = 0; i < 60; ++i) {
        const double middle = (low + high) / 2;
        (share(middle) > wanted ? low : high) = middle;
    }
    return low;
}

}  // namespace

// McNeil, ASTIN Bulletin 27, 1997: over 10 million kroner 109 excesses, shape 0.497 and scale 6.98. McNeil, "Extreme
// Value Theory for Risk Managers", 1999: the 99 % quantile is 27.3, by profile likelihood between 23.3 and 33.1.
// Figures from memory; shape and scale are repeated in many places.
TEST_CASE("the fit to the Danish losses is the published one") {
    const auto fit = sim::ParetoProfile::of(excesses(), tests::danish_losses_in_all);
    REQUIRE(fit);
    CHECK(tests::close_to(fit->shape(), 0.497, 0.001));
    CHECK(tests::close_to(fit->scale(), 6.98, 0.001));
    CHECK(tests::close_to(10.0 + height_of(0.01, [&](double x) { return fit->share_above(x).central; }), 27.3, 0.001));
    // Theirs take the share of losses over 10 for known, so that ours are a little wider.
    const double low = 10.0 + height_of(0.01, [&](double x) { return fit->share_above(x).low; });
    const double high = 10.0 + height_of(0.01, [&](double x) { return fit->share_above(x).high; });
    CHECK(low < 23.3);
    CHECK(high > 33.1);
    CHECK(tests::close_to(low, 23.3, 0.04));
    CHECK(tests::close_to(high, 33.1, 0.04));
    // with far more losses over 10, and the same part of all, that share is known: the published interval
    const auto sure = sim::ParetoProfile::of(excesses(), 109);
    const double part = 0.01 * tests::danish_losses_in_all / 109;
    CHECK(tests::close_to(10.0 + height_of(part, [&](double x) { return sure->share_above(x).low; }), 23.3, 0.003));
    CHECK(tests::close_to(10.0 + height_of(part, [&](double x) { return sure->share_above(x).high; }), 33.1, 0.004));
}
