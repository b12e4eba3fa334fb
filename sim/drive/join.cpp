#include "sim/drive/join.hpp"

#include "sim/drive/replayed_link.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

std::optional<RunResult> join(const Scenario& scenario, std::uint64_t seed, const ScenarioLimits& limits,
                              const PartRecords& parts, const Witnesses& witnesses) {
    ReplayedLink link(scenario, limits, parts, witnesses);
    if (!link.belong_together()) return std::nullopt;
    const Instant end = Instant{} + scenario.duration;
    for (const Moment& moment : link.in_order()) {
        if (Instant{moment.at} >= end) break;
        link.hear(moment);
    }
    return link.result(seed);
}

}  // namespace sim
