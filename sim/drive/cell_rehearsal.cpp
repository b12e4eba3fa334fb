#include "sim/drive/cell_rehearsal.hpp"

#include <algorithm>
#include <utility>

#include "sim/drive/cell_gathered.hpp"
#include "sim/drive/cell_verdict.hpp"
#include "sim/drive/joined_run.hpp"
#include "sim/drive/verdict.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/contract_context.hpp"

namespace sim {
namespace {

/// How long the links may take to come back once their faults are over and somebody acknowledges.
constexpr Duration recovery_at_most = proto::seconds(30);

/// The same cell without faults: what each link then stops for.
void run_twin(const WholeCell& cell, std::uint64_t seed, CellResult& result) {
    JoinedRun twin(cell, seed, Faults::none, {});
    const Instant end = Instant{} + cell.duration;
    twin.joined->run_until(end);
    for (std::size_t i = 0; i < twin.links.size(); ++i) {
        RunResult seen;
        twin.links[i]->cell.finish(seen, twin.links[i]->observer, end);
        result.links[i].twin.spurious_trips = seen.spurious_trips;
        result.links[i].twin.cycles = twin.links[i]->cell.cycles();
        result.twin_trips += seen.spurious_trips;
    }
}

void recover(JoinedRun& run, CellResult& result) {
    for (const auto& link : run.links) link->cell.calm_down();
    const Instant give_up = run.joined->now() + recovery_at_most;
    while (!run.joined->running() && run.joined->now() < give_up)
        run.joined->run_until(run.joined->now() + proto::milliseconds(10));
    for (const auto& link : run.links) {
        if (!link->cell.link().running())
            result.why_not_recovered = "with the faults gone a link did not run again within 30 s, acknowledged or not";
        else if (link->cell.plant().moved_by_itself())
            result.why_not_recovered = link->scenario.machine->name + " moved without having been started";
    }
    result.recovered = result.why_not_recovered.empty();
}

}  // namespace

std::uint64_t seed_of_link(std::uint64_t seed, std::size_t link) {
    return link == 0 ? seed : Random(seed, Concern::entropy, 1).at(link);
}

Scenario in_cell(const WholeCell& cell, std::size_t link) {
    Scenario scenario = cell.links[link].alone;
    std::erase_if(scenario.outside_parts, [](const OutsidePart& part) { return !part.link.empty(); });
    return scenario;
}

ScenarioLimits limits_in_cell(const WholeCell& cell, std::size_t link) {
    const Scenario& alone = cell.links[link].alone;
    ScenarioLimits limits = limits_of(in_cell(cell, link));
    limits.of_cell = true;
    for (const Safeguard& safeguard : alone.safeguards) {
        Duration beyond{};
        for (const OutsidePart& part : alone.outside_parts)
            if (!part.link.empty() && is_on_way_of(part, safeguard.name))
                beyond = beyond + (part.no_bound ? proto::seconds(3600) : part.with_fault);
        limits.limits.demand_beyond.push_back(beyond);
    }
    return limits;
}

CellResult rehearse_cell(const WholeCell& cell, std::uint64_t seed, const std::vector<Witnesses>& witnesses) {
    const ContractContext context(cell.file, seed);
    CellResult result;
    result.seed = seed;
    const Instant end = Instant{} + cell.duration;
    JoinedRun run(cell, seed, Faults::all, witnesses);
    run.joined->run_until(end);
    for (const Witnesses& one : witnesses)
        if (one.line != nullptr) one.line->finish(end);
    for (const auto& link : run.links) {
        link->line = LineIfAny(nullptr);
        link->trace = TraceIfAny(nullptr);
        RunResult of_link = result_of(link->scenario, seed);
        link->cell.finish(of_link, link->observer, end);
        link->trail.put_into(of_link);
        result.cycles += of_link.cycles;
        result.links.push_back(std::move(of_link));
    }
    run_twin(cell, seed, result);
    std::vector<const DemandTrail*> trails;
    std::vector<const FarStops*> fars;
    for (const auto& link : run.links) {
        trails.push_back(&link->trail);
        fars.push_back(&link->far);
    }
    gather_demands(cell, trails, result);
    result.far_stops = far_stops(run.joined->wiring(), fars, end);
    recover(run, result);
    for (std::size_t i = 0; i < run.links.size(); ++i)
        conclude(run.links[i]->scenario, run.links[i]->limits, result.links[i]);
    conclude_cell(cell, result);
    return result;
}

}  // namespace sim
