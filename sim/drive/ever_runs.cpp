#include "sim/drive/ever_runs.hpp"

#include <algorithm>

#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

std::optional<proto::Duration> never_ran_within(const Scenario& scenario) {
    const proto::LinkSettings &c = scenario.controller.link, &d = scenario.device.link;
    const proto::Duration a_while = std::max({proto::seconds(3), c.watchdog * 100, d.watchdog * 100});
    const proto::Duration watched = std::min({scenario.duration, a_while, proto::seconds(60)});
    JudgedRun run(scenario, scenario.seed, Faults::none, limits_of(scenario).limits);
    // nearly every link runs after a few cycles, and is not watched any longer
    const proto::Duration some = std::max(c.cycle, d.cycle) * 16;
    for (proto::Duration until = some; !run.observer.link_started(); until = until * 2) {
        run.cell.run_until(proto::Instant{} + std::min(until, watched));
        if (until >= watched) break;
    }
    if (run.observer.link_started()) return std::nullopt;
    return watched;
}

}  // namespace sim
