#include "sim/drive/cell_gathered.hpp"

#include <algorithm>
#include <utility>

#include "sim/plant/reached.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/cell_ways.hpp"

namespace sim {

void gather_demands(const WholeCell& cell, const std::vector<const DemandTrail*>& trails, CellResult& result) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (std::size_t d = 0; d < result.links[i].demands.size(); ++d) {
            const DemandResult& demand = result.links[i].demands[d];
            CellDemand row;
            row.machine_link = i;
            row.result = d;
            const Scenario& alone = cell.links[i].alone;
            const std::uint64_t on_way = made_of(alone.signals, obeyed_by_machine(alone));
            for (const WayOverLink& way : way_over_links(cell, i, alone.demands[demand.demand].safeguard))
                for (DemandHop& hop : trails[way.link]->hops_of(demand.demand))
                    if ((on_way >> hop.signal & 1) != 0) row.hops.push_back({way.link, std::move(hop)});
            result.demands.push_back(std::move(row));
        }
    std::stable_sort(result.demands.begin(), result.demands.end(), [&](const CellDemand& a, const CellDemand& b) {
        return result.links[a.machine_link].demands[a.result].at < result.links[b.machine_link].demands[b.result].at;
    });
}

void tell_each_other(const LinkWiring& wiring, const std::vector<FarStops*>& links) {
    for (std::size_t i = 0; i < links.size(); ++i) {
        std::vector<FarStops*> others;
        for (std::size_t j = 0; j < links.size(); ++j)
            if (j != i && (wiring.hangs_on[j] >> i & 1U) != 0) others.push_back(links[j]);
        links[i]->tell(i, std::move(others));
    }
}

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

std::vector<FarStop> far_stops(const LinkWiring& wiring, const std::vector<const FarStops*>& links, Instant end) {
    std::vector<FarStop> found;
    for (std::size_t i = 0; i < links.size(); ++i)
        for (const FarStops::Stop& stop : links[i]->stops()) found.push_back(far_stop_of(stop, wiring, i, end));
    std::stable_sort(found.begin(), found.end(), [](const FarStop& a, const FarStop& b) {
        return std::pair(a.link, a.injection) < std::pair(b.link, b.injection);
    });
    return found;
}

}  // namespace sim
