// Measured delays with a fitted tail: what is seen stays, what is beyond follows the fit and its limits.
#include "sim/channel/fitted_tail.hpp"

#include <doctest/doctest.h>

#include <cmath>

#include "sim/channel/delay.hpp"
#include "sim/channel/delay_law.hpp"
#include "sim/channel/delay_shapes.hpp"
#include "sim/numeric/pareto_tail.hpp"
#include "sim/numeric/portable_math.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/fitted_tail_words.hpp"
#include "tests/support/close.hpp"

namespace {

using proto::Duration;

/// 2 ms and an exponential part with a mean of 0.5 ms; without libm, so that it is the same everywhere.
std::vector<Duration> measured(std::uint64_t seed, std::size_t count) {
    const sim::Random random(seed, sim::Concern::delay);
    std::vector<Duration> delays;
    for (std::size_t i = 0; i < count; ++i) {
        const double u = (static_cast<double>(random.at(i) >> 11) + 0.5) * 0x1p-53;
        delays.push_back({static_cast<std::int64_t>(2e6 - 5e5 * sim::portable_log(u))});
    }
    return delays;
}

sim::DelayShape shape_of(const std::vector<Duration>& delays, std::uint64_t unanswered = 0) {
    sim::DelayShape shape = sim::histogram_of_seen(delays);
    sim::keep_fitted_tail(shape, sim::fitted_tail_of(delays, unanswered));
    return shape;
}

/// Of the delays that the shape describes: the share that is longer.
double share_above(const sim::DelayShape& shape, std::int64_t ns) {
    double all = 0.0, above = 0.0;
    for (const sim::DelayPiece& piece : sim::pieces_of(shape)) {
        all += piece.weight;
        if (piece.low.ns > ns)
            above += piece.weight;
        else if (piece.high.ns > ns)
            above += piece.weight * static_cast<double>(piece.high.ns - ns) /
                     static_cast<double>(piece.high.ns - piece.low.ns + 1);
    }
    return above / all;
}

}  // namespace

TEST_CASE("each shape has the shares that the fit and its limits have") {
    const auto delays = measured(1, 20'000);
    const sim::DelayShape shape = shape_of(delays);
    REQUIRE(shape.fitted);
    REQUIRE(shape.fitted->refused.empty());
    const sim::ParetoTail tail = sim::pareto_tail(delays, 0);
    const sim::FittedShapes shapes = sim::fitted_shapes(shape);
    const sim::FittedTail& fitted = *shape.fitted;
    CHECK(fitted.excesses == tail.fit->excesses());
    CHECK(fitted.reach > fitted.longest);
    struct Law {
        const sim::DelayShape& shape;
        const sim::FittedTail::Law& law;
        double sim::ShareAbove::*share;
    };
    for (const Law& law :
         {Law{shapes.central, fitted.central, &sim::ShareAbove::central},
          Law{shapes.low, fitted.low, &sim::ShareAbove::low}, Law{shapes.high, fitted.high, &sim::ShareAbove::high}}) {
        CHECK(sim::latest_of(law.shape) <= fitted.reach);
        double before = 1.0;
        for (std::int64_t ns = fitted.threshold.ns; ns < fitted.reach.ns; ns += 50'000) {
            const double height = std::max(0.0, static_cast<double>(ns) - tail.threshold_ns);
            const double asked = tail.fit->share_above(height).*law.share;
            // beside what is beyond the reach
            const double found = share_above(law.shape, ns) * (1.0 - law.law.beyond) + law.law.beyond;
            CAPTURE(ns);
            CHECK(found <= before);
            if (asked > 1e-7) CHECK(tests::close_to(found, asked, 0.01));
            before = found;
        }
        const double at_reach = tail.fit->share_above(tail.reach_ns - tail.threshold_ns).*law.share;
        if (at_reach > 0.0) CHECK(tests::close_to(law.law.beyond, at_reach, 1e-3));
    }
    CHECK(fitted.high.beyond < 3.0 / 20'000);
    CHECK(fitted.low.beyond <= fitted.central.beyond);
    CHECK(fitted.central.beyond < fitted.high.beyond);
}

TEST_CASE("below the threshold what was seen stays, in proportion") {
    const auto delays = measured(1, 20'000);
    const sim::DelayShape shape = shape_of(delays);
    REQUIRE(shape.fitted->refused.empty());
    const sim::DelayShape seen = sim::histogram_of_seen(delays);
    CHECK(shape.cells.size() == seen.cells.size());  // the measured histogram itself is left as it is
    CHECK(shape.samples == 20'000);
    const sim::DelayShape central = sim::fitted_shapes(shape).central;
    for (const std::int64_t ns : {2'000'500, 2'100'000, 2'700'000, 3'500'000}) {
        REQUIRE(ns < shape.fitted->threshold.ns);
        CHECK(tests::close_to(share_above(central, ns), share_above(seen, ns), 2e-4));
    }
}

TEST_CASE("the tail that is drawn begins where the longest was seen") {
    const auto delays = measured(3, 5'000);
    const sim::DelayShape shape = shape_of(delays);
    REQUIRE(shape.fitted->refused.empty());
    const sim::FittedTail& fitted = *shape.fitted;
    REQUIRE_FALSE(shape.tail.empty());
    CHECK(shape.tail.front().low.ns == fitted.longest.ns + 1);
    CHECK(shape.tail.back().high == fitted.reach);
    const sim::DelayTable table(shape);
    const sim::Random random(4, sim::Concern::delay);
    constexpr int draws = 4'000'000;
    int longer = 0;
    for (int i = 0; i < draws; ++i)
        longer += table.at(random.at(static_cast<std::uint64_t>(i))) > fitted.longest ? 1 : 0;
    const double expected = shape.tail_share * draws;
    CHECK(expected > 50);
    CHECK(std::abs(longer - expected) < 4.0 * std::sqrt(expected));
}

TEST_CASE("a fit that is not to be believed leaves the shape alone and says why") {
    const auto delays = measured(1, 20'000);
    const sim::DelayShape lossy = shape_of(delays, 3);
    CHECK(lossy.tail.empty());
    CHECK(lossy.tail_share == 0.0);
    REQUIRE(lossy.fitted->refused.size() == 1);
    CHECK(lossy.fitted->central.cells.empty());
    CHECK(sim::in_words(*lossy.fitted) ==
          "The longest measured times are not fitted: 3 telegrams have no time: how late they would have come is cut "
          "off. "
          "How long others may take stays unknown.");
    const sim::DelayShape few = shape_of(measured(1, 400));
    CHECK(sim::clause_about(*few.fitted).find("of 400 times too few are long and differ") != std::string::npos);
    // at least one clause for each doubt
    auto cut = delays;
    for (Duration& delay : cut) delay.ns = std::min<std::int64_t>(delay.ns, 4'400'000);
    CHECK(sim::clause_about(*shape_of(cut).fitted).find("as if cut off by a time-out") != std::string::npos);
}

TEST_CASE("a believed fit is said with its limits") {
    sim::FittedTail tail;
    tail.values = 20'000;
    tail.excesses = 489;
    tail.threshold = Duration{3'856'789};
    tail.shape = -0.021;
    tail.shape_low = -0.104;
    tail.shape_high = 0.082;
    tail.longest = Duration{7'100'000};
    tail.reach = Duration{8'412'345};
    tail.anderson_darling_p = 0.53;
    tail.cramer_von_mises_p = 0.61;
    tail.high.beyond = 3.44e-5;
    CHECK(
        sim::clause_about(tail) ==
        "over 3.857 ms (489 of 20000 times) they are taken to follow a generalised Pareto law of shape -0.02 (95 %: "
        "-0.10 "
        "to 0.08), up to 8.412 ms where the longest seen is 7.1 ms; of all times a share of at most 0.0034 % (95 %) is "
        "longer, and nobody knows by how much");
    CHECK(sim::in_words(tail).find("(p 0.53 by Anderson and Darling, 0.61 by Cramer and von Mises)") !=
          std::string::npos);
}

TEST_CASE("the fitted weights are those written down here, on every machine") {
    // Computed once by this code: a libm that differs in a last bit would change them.
    const sim::DelayShape shape = shape_of(measured(1, 20'000));
    std::uint64_t mixed = 0;
    for (const auto* law : {&shape.fitted->central, &shape.fitted->low, &shape.fitted->high})
        for (const sim::DelayCell& cell : law->cells)
            mixed = sim::scramble(mixed + cell.weight) + static_cast<std::uint64_t>(cell.high.ns);
    CHECK(mixed == 1770975163447288871ULL);
}
