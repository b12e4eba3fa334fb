// The far tail of sums against Boost.Math, which is other people's work.
#include <cmath>

#include <doctest/doctest.h>
#include <boost/math/distributions/gamma.hpp>

#include "sim/numeric/convolution.hpp"
#include "tests/support/close.hpp"

namespace {

sim::Tail exponential() {
    return [](double x) { return std::exp(-x); };
}

}  // namespace

TEST_CASE("a sum of exponentials has the Erlang tail of Boost.Math to 1e-6 at 1e-10") {
    for (const unsigned terms : {2U, 4U}) {
        const boost::math::gamma_distribution<double> erlang(terms, 1.0);
        const double x = boost::math::quantile(boost::math::complement(erlang, 1e-10));
        const sim::SumTail found = sim::sum_above(std::vector<sim::Tail>(terms, exponential()), x, 3000);
        CAPTURE(terms);
        CHECK(tests::close_to(found.estimate, 1e-10, 1e-6));
        CHECK(found.low <= 1e-10);
        CHECK(found.high >= 1e-10);
    }
}

TEST_CASE("rounding down and up brackets the truth, within 1 % on a fine grid") {
    const boost::math::gamma_distribution<double> erlang(2.0, 1.0);
    const double x = boost::math::quantile(boost::math::complement(erlang, 1e-10));
    const sim::SumTail found = sim::sum_above({exponential(), exponential()}, x, 6000);
    CHECK(found.low < 1e-10);
    CHECK(found.high > 1e-10);
    CHECK(found.high - found.low < 0.01 * 1e-10);
}

TEST_CASE("a sum of two even values has the tail of a triangle") {
    const sim::Tail even = [](double x) { return x <= 0.0 ? 1.0 : x >= 1.0 ? 0.0 : 1.0 - x; };
    for (const double x : {0.5, 1.0, 1.5, 1.99}) {
        const double truth = x <= 1.0 ? 1.0 - x * x / 2.0 : (2.0 - x) * (2.0 - x) / 2.0;
        const sim::SumTail found = sim::sum_above({even, even}, x, 2000);
        CAPTURE(x);
        CHECK(found.low <= truth + 1e-12);
        CHECK(found.high >= truth - 1e-12);
    }
    CHECK(sim::sum_above({even, even}, 2.1, 1000).high == 0.0);
}
