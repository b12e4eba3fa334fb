#include "tools/plant/drawn_plant.hpp"

#include <algorithm>
#include <cstdint>
#include <utility>

#include "sim/scenario/network.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

std::string ip_of(const sim::TypedEnd& end) {
    const sim::NetworkTyped* const network = sim::network_of(end);
    return network != nullptr && network->ip ? sim::written(*network->ip) : std::string();
}

std::string watchdog_of(const sim::Scenario& link) {
    const proto::Duration controller = link.controller.link.watchdog, device = link.device.link.watchdog;
    return sim::written(controller) + (controller == device ? "" : " / " + sim::written(device));
}

/// Settings that are mended at that end, or at both.
std::uint64_t differing_at(const LinkToDraw& link, sim::MendAt end) {
    const auto& all = link.ends->differences;
    return static_cast<std::uint64_t>(std::count_if(all.begin(), all.end(), [&](const sim::Difference& one) {
        return one.mend_at == end || one.mend_at == sim::MendAt::both;
    }));
}

Value drawn_link(const LinkToDraw& link) {
    const sim::Scenario& alone = *link.alone;
    const bool polled = alone.controller.link.exchange == proto::Exchange::polled, apart = link.ends->apart.has_value();
    return Value::Object{{"name", link.name},
                         {"device", alone.device.name},
                         {"exchange", polled ? "polled" : "streaming"},
                         {"cycle", sim::written(alone.controller.link.cycle)},
                         {"watchdog", watchdog_of(alone)},
                         {"apart", apart},
                         {"differs", std::uint64_t{link.ends->differences.size()} + (apart ? 1U : 0U)}};
}

Value drawn_station(const LinkToDraw& link) {
    return Value::Object{{"name", link.alone->device.name},
                         {"link", link.name},
                         {"ip", ip_of(link.alone->device)},
                         {"differs", differing_at(link, sim::MendAt::device)}};
}

Value drawn_safeguard(const PlantToDraw& plant, std::size_t number) {
    const sim::Safeguard& guard = plant.links.front().alone->safeguards[number];
    const auto& rows = plant.functions->rows;
    const auto wrong = std::count_if(rows.begin(), rows.end(), [&](const sim::FunctionCheckRow& row) {
        return row.safeguard == guard.name && !row.ok;
    });
    return Value::Object{{"name", guard.name},
                         {"kind", guard.kind ? Value(sim::name_of(*guard.kind)) : Value()},
                         {"at", plant.guard_stations[number]},
                         {"warns", static_cast<std::uint64_t>(wrong)}};
}

Value drawn_machine(const sim::Scenario& link) {
    const sim::Machine& machine = *link.machine;
    return Value::Object{{"name", machine.name},
                         {"at", link.end(machine.at).name},
                         {"speed", speed_in_words(machine.speed_um_s)},
                         {"reactions", std::uint64_t{machine.reactions.size()}}};
}

}  // namespace

std::vector<std::string> stations_of_guards(const sim::Scenario& scenario) {
    std::vector<std::string> stations;
    for (const sim::Safeguard& guard : scenario.safeguards) stations.push_back(scenario.end(guard.at).name);
    return stations;
}

std::vector<std::string> stations_of_guards(const sim::WholeCell& cell) {
    std::vector<std::string> stations;
    for (std::size_t i = 0; i < cell.safeguards.size(); ++i) stations.push_back(cell.station_of_safeguard(i));
    return stations;
}

Value drawn_plant(const PlantToDraw& plant) {
    Value::List links, stations, safeguards, machines;
    std::uint64_t at_controller = 0;
    for (const LinkToDraw& link : plant.links) {
        links.push_back(drawn_link(link));
        stations.push_back(drawn_station(link));
        if (link.alone->machine) machines.push_back(drawn_machine(*link.alone));
        at_controller += differing_at(link, sim::MendAt::controller);
    }
    for (std::size_t i = 0; i < plant.guard_stations.size(); ++i) safeguards.push_back(drawn_safeguard(plant, i));
    const sim::TypedEnd& controller = plant.links.front().alone->controller;
    return Value::Object{{"controller", controller.name},       {"controller_ip", ip_of(controller)},
                         {"controller_differs", at_controller}, {"stations", std::move(stations)},
                         {"links", std::move(links)},           {"safeguards", std::move(safeguards)},
                         {"machines", std::move(machines)}};
}

}  // namespace tools
