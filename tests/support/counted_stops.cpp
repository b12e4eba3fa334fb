#include "tests/support/counted_stops.hpp"

#include <doctest/doctest.h>
#include <boost/math/distributions/chi_squared.hpp>

#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "sim/odds/trip_odds.hpp"

namespace tests {

Counted simulate(sim::Scenario s, std::int64_t cycles, std::uint64_t seed) {
    s.operator_acts = {{sim::OperatorAct::Event::acknowledgement_requested,
                        sim::OperatorAct::Act::acknowledge,
                        proto::milliseconds(500),
                        {}}};
    const sim::ScenarioLimits limits = limits_of(s);
    sim::JudgedRun run(s, seed, sim::Faults::none, limits.limits);
    Counted counted;
    const proto::Duration cycle = s.controller.link.cycle;
    std::int64_t running = 0;
    for (std::int64_t i = 0; i < cycles; ++i) {
        run.cell.run_until(proto::Instant{} + cycle * (i + 1));
        running += run.cell.link().running() ? 1 : 0;
    }
    sim::RunResult result;
    run.finish(result, run.cell.now());
    counted.stops = result.spurious_trips;
    counted.years = static_cast<double>(running) * static_cast<double>(cycle.ns) / (sim::hours_per_year * 3600e9);
    return counted;
}

Interval garwood(std::uint64_t count, double error) {
    const auto n = static_cast<double>(count);
    const auto quantile = [](double freedom, double share) {
        return boost::math::quantile(boost::math::chi_squared(freedom), share) / 2.0;
    };
    return {count == 0 ? 0.0 : quantile(2.0 * n, error / 2.0), quantile(2.0 * n + 2.0, 1.0 - error / 2.0)};
}

void check_against_simulation(const std::string& name, const sim::Scenario& s, std::int64_t cycles) {
    CAPTURE(name);
    const sim::TripOdds odds = trip_odds(model_of(s), {});
    CHECK(odds.method.starts_with("exact chain"));
    const Counted counted = simulate(s, cycles, 11);
    CHECK(counted.stops >= 20);
    const Interval interval =
        garwood(counted.stops, 1e-3);  // a false alarm in 1000 changes of the draws of one channel
    CAPTURE(counted.stops);
    CHECK(odds.high.value() * counted.years > interval.low);
    CHECK(odds.low * counted.years < interval.high);
}

}  // namespace tests
