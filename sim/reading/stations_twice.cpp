#include "sim/reading/stations_twice.hpp"

#include <memory>
#include <vector>

#include "sim/scenario/network.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {
namespace {

struct Station {
    TypedEnd* end;
    std::size_t link;
};

bool is_one_station(const Station& a, const Station& b) {
    const bool both_controller = a.end->link.end == End::controller && b.end->link.end == End::controller;
    return both_controller || (a.link == b.link && a.end->link.end == b.end->link.end);
}

}  // namespace

void mark_stations_twice(WholeCell& cell) {
    std::vector<Station> stations;
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (TypedEnd* end : {&cell.links[i].alone.controller, &cell.links[i].alone.device})
            if (network_of(*end) != nullptr) stations.push_back({end, i});
    for (const Station& one : stations) {
        AroundEnd around = *one.end->around;
        for (const Station& other : stations) {
            // what the two ends of one link have alike is told of that link
            if (is_one_station(one, other) || one.link == other.link) continue;
            const NetworkTyped& its = other.end->around->network;
            if (around.network.ip && around.network.ip == its.ip) around.ip_also_at = other.end->name;
            if (around.network.station && around.network.station == its.station)
                around.station_also_at = other.end->name;
        }
        if (!around.ip_also_at.empty() || !around.station_also_at.empty())
            one.end->around = std::make_shared<const AroundEnd>(around);
    }
}

}  // namespace sim
