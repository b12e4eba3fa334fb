// What can be said of simulated years before anything runs.
#include <algorithm>
#include <optional>

#include "sim/drive/endurance.hpp"
#include "sim/drive/quiet_period.hpp"

namespace sim {
namespace {

/// With more strange telegrams than that jumps are not worth it.
constexpr double strange_most = 0.25;
/// Rough costs on one processor of today, for estimates only.
constexpr double seconds_per_cycle = 200e-9;
constexpr double seconds_per_window = 6e-6;
constexpr double seconds_per_year = 365.25 * 86400.0;

}  // namespace

EnduranceParts parts_of_years(double years) {
    // A month or more each, so that power on and the first error of each part weigh nothing; a hundred years at most,
    // since an instant holds 292.
    constexpr double parts_per_year = 12.0;
    constexpr double parts_enough = 256.0;
    const double wanted = std::max({1.0, std::min(years * parts_per_year, parts_enough), years / 100.0});
    auto count = static_cast<std::uint64_t>(wanted);
    if (static_cast<double>(count) < wanted) ++count;
    return {count, Duration{static_cast<std::int64_t>(years * seconds_per_year * 1e9 / static_cast<double>(count))}};
}

EnduranceOutlook endurance_outlook(const Scenario& scenario) {
    EnduranceOutlook outlook;
    const double cycles = seconds_per_year * 1e9 / static_cast<double>(scenario.controller.link.cycle.ns);
    outlook.seconds_per_year = cycles * seconds_per_cycle;
    if (scenario.to_device.queue || scenario.to_controller.queue) {
        outlook.why = "other traffic queues in front of the telegrams, so no two cycles are alike";
        return outlook;
    }
    const std::optional<Duration> period = period_of(scenario);
    if (!period) {
        outlook.why = "the scans of the two ends never meet again in the same way";
        return outlook;
    }
    double strange = 0.0;
    for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
        const auto quiet = quiet_of(scenario, direction, *period, 0);
        if (!quiet) {
            outlook.why = "telegrams may change places in every cycle";
            return outlook;
        }
        const std::int64_t places = period->ns / scenario.end(sender(direction)).link.scan.ns;
        double most = 0.0;
        for (std::int64_t i = 0; i < places; ++i) most = std::max(most, quiet->strange(static_cast<std::size_t>(i)));
        // a polled device answers each telegram of the controller, whenever it scans
        const bool answers =
            direction == Direction::to_controller && scenario.controller.link.exchange == proto::Exchange::polled;
        const std::int64_t sent = answers ? period->ns / scenario.controller.link.scan.ns : places;
        strange += most * static_cast<double>(sent);
    }
    if (strange > strange_most) {
        outlook.why = "something happens in nearly every cycle";
        return outlook;
    }
    outlook.method = EnduranceMethod::jumps;
    outlook.period = *period;
    outlook.strange_per_period = strange;
    const double periods = seconds_per_year * 1e9 / static_cast<double>(period->ns);
    outlook.seconds_per_year = std::min(periods * strange * seconds_per_window, outlook.seconds_per_year);
    return outlook;
}

}  // namespace sim
