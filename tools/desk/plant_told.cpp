#include "tools/desk/plant_told.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include "sim/scenario/network.hpp"
#include "sim/scenario/units.hpp"
#include "tools/desk/typed_plant.hpp"
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

Value link_told(const TypedPlant& typed, std::size_t number) {
    const sim::Scenario& link = typed.link(number);
    const bool polled = link.controller.link.exchange == proto::Exchange::polled;
    return Value::Object{
        {"name", typed.link_name(number)},
        {"device", link.device.name},
        {"exchange", polled ? "polled" : "streaming"},
        {"cycle", sim::written(link.controller.link.cycle)},
        {"watchdog", watchdog_of(link)},
        {"apart", typed.ends(number).apart.has_value()},
        {"differs", std::uint64_t{typed.ends(number).differences.size()} + (typed.ends(number).apart ? 1U : 0U)}};
}

Value station_told(const TypedPlant& typed, std::size_t number) {
    const sim::Scenario& link = typed.link(number);
    const auto& differences = typed.ends(number).differences;
    const auto here = std::count_if(differences.begin(), differences.end(), [](const sim::Difference& one) {
        return one.mend_at == sim::MendAt::device || one.mend_at == sim::MendAt::both;
    });
    return Value::Object{{"name", link.device.name},
                         {"link", typed.link_name(number)},
                         {"ip", ip_of(link.device)},
                         {"differs", std::uint64_t(here)}};
}

/// The station that reads a safeguard.
std::string station_of(const TypedPlant& typed, std::size_t safeguard) {
    if (typed.is_cell()) return typed.cell().station_of_safeguard(safeguard);
    const sim::Scenario& link = typed.link(0);
    return link.end(link.safeguards[safeguard].at).name;
}

Value safeguard_told(const TypedPlant& typed, std::size_t number) {
    const sim::Safeguard& guard = typed.link(0).safeguards[number];
    const auto& rows = typed.functions().rows;
    const auto wrong = std::count_if(rows.begin(), rows.end(), [&](const sim::FunctionCheckRow& row) {
        return row.safeguard == guard.name && !row.ok;
    });
    return Value::Object{{"name", guard.name},
                         {"kind", guard.kind ? Value(sim::name_of(*guard.kind)) : Value()},
                         {"at", station_of(typed, number)},
                         {"warns", std::uint64_t(wrong)}};
}

Value machine_told(const sim::Scenario& link) {
    const sim::Machine& machine = *link.machine;
    return Value::Object{{"name", machine.name},
                         {"at", link.end(machine.at).name},
                         {"speed", speed_in_words(machine.speed_um_s)},
                         {"reactions", std::uint64_t{machine.reactions.size()}}};
}

}  // namespace

Value plant_told(const TypedPlant& typed) {
    Value::List links, stations, safeguards, machines;
    for (std::size_t i = 0; i < typed.links(); ++i) {
        links.push_back(link_told(typed, i));
        stations.push_back(station_told(typed, i));
        if (typed.link(i).machine) machines.push_back(machine_told(typed.link(i)));
    }
    for (std::size_t i = 0; i < typed.link(0).safeguards.size(); ++i) safeguards.push_back(safeguard_told(typed, i));
    return Value::Object{{"controller", typed.link(0).controller.name},
                         {"controller_ip", ip_of(typed.link(0).controller)},
                         {"stations", std::move(stations)},
                         {"links", std::move(links)},
                         {"safeguards", std::move(safeguards)},
                         {"machines", std::move(machines)}};
}

}  // namespace tools
