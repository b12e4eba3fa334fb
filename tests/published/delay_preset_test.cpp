// The presets beside what was published about such networks.
#include <doctest/doctest.h>

#include "sim/channel/delay_shapes.hpp"
#include "sim/odds/delay_chance.hpp"
#include "tests/support/close.hpp"

// Rischke and others, IEEE Access 9, 2021, 121786: 95 % of the one-way delays of a 5G campus network in 4 to 10 ms.
TEST_CASE("the middle 95 % of the 5G preset lie in the published 4 to 10 ms") {
    const sim::DelayChance delay(*sim::delay_preset("5g-campus"));
    constexpr double ms = 1e6;
    const double low = static_cast<double>(delay.quantile(0.025)) / ms;
    const double high = static_cast<double>(delay.quantile(0.975)) / ms;
    CHECK(low >= 4.0);
    CHECK(high <= 10.0);
    // 4 ms and a lognormal value of median 2.2 ms and sigma 0.5: 4 + 2.2 exp(-+1.96 / 2)
    CHECK(tests::close_to(low, 4.826, 0.002));
    CHECK(tests::close_to(high, 9.862, 0.002));
    CHECK(delay.between(3'999'999, 10'000'000) >= 0.95);
}
