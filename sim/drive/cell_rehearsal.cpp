#include "sim/drive/cell_rehearsal.hpp"

#include <algorithm>
#include <utility>

#include "sim/drive/cell_verdict.hpp"
#include "sim/drive/joined_run.hpp"
#include "sim/drive/verdict.hpp"
#include "sim/numeric/random.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/contract_context.hpp"
#include "sim/timing/cell_ways.hpp"

namespace sim {
namespace {

/// How long the links may take to come back once their faults are over and somebody acknowledges.
constexpr Duration recovery_at_most = proto::seconds(30);

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

/// The way of each demand, link after link, and the demands of all machines in the order of their contacts.
void gather_demands(const WholeCell& cell, const JoinedRun& run, CellResult& result) {
    for (std::size_t i = 0; i < run.links.size(); ++i)
        for (std::size_t d = 0; d < result.links[i].demands.size(); ++d) {
            const DemandResult& demand = result.links[i].demands[d];
            CellDemand row;
            row.machine_link = i;
            row.result = d;
            const Scenario& alone = cell.links[i].alone;
            const std::uint64_t on_way = made_of(alone.signals, obeyed_by_machine(alone));
            for (const WayOverLink& way : way_over_links(cell, i, alone.demands[demand.demand].safeguard))
                for (DemandHop& hop : run.links[way.link]->trail.hops_of(demand.demand))
                    if ((on_way >> hop.signal & 1) != 0) row.hops.push_back({way.link, std::move(hop)});
            result.demands.push_back(std::move(row));
        }
    std::stable_sort(result.demands.begin(), result.demands.end(), [&](const CellDemand& a, const CellDemand& b) {
        return result.links[a.machine_link].demands[a.result].at < result.links[b.machine_link].demands[b.result].at;
    });
}

std::vector<FarStop> far_stops(const JoinedRun& run, Instant end) {
    std::vector<FarStop> found;
    for (std::size_t i = 0; i < run.links.size(); ++i)
        for (const FarStops::Stop& stop : run.links[i]->far.stops())
            found.push_back(far_stop_of(stop, run.joined->wiring(), i, end));
    std::stable_sort(found.begin(), found.end(), [](const FarStop& a, const FarStop& b) {
        return std::pair(a.link, a.injection) < std::pair(b.link, b.injection);
    });
    return found;
}

}  // namespace

FarStop far_stop_of(const FarStops::Stop& stop, const LinkWiring& wiring, std::size_t machine_link, Instant until) {
    FarStop one;
    one.link = stop.link;
    one.injection = stop.fault;
    one.machine_link = machine_link;
    one.moved = stop.motion.moved;
    one.stopping = stop.motion.moved && !stop.motion.commanded && stop.motion.in_force >= DriveCommand::stop_category_2;
    one.required = (wiring.fails_with[machine_link] >> stop.link & 1U) != 0;
    const auto after = [&](const std::optional<Instant>& at) -> std::optional<Duration> {
        if (!stop.motion.moved || !stop.motion.commanded || !at || *at > until) return std::nullopt;
        return std::max(Duration{}, *at - stop.since);
    };
    one.reduced = after(stop.motion.reduced);
    one.standstill = after(stop.motion.stands);
    return one;
}

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
    gather_demands(cell, run, result);
    result.far_stops = far_stops(run, end);
    recover(run, result);
    for (std::size_t i = 0; i < run.links.size(); ++i)
        conclude(run.links[i]->scenario, run.links[i]->limits, result.links[i]);
    conclude_cell(cell, result);
    return result;
}

}  // namespace sim
