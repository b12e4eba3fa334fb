#include "sim/cell/neighbour_link.hpp"

#include <algorithm>
#include <utility>

#include "sim/cell/pressing.hpp"
#include "sim/link/end_run_body.hpp"

namespace sim {
namespace {

/// Set like the controller of the first link, with its own addresses.
proto::LinkSettings settings_of(const Scenario& scenario, End end) {
    proto::LinkSettings settings = scenario.controller.link;
    settings.own_address = scenario.neighbour->controller_address;
    settings.peer_address = scenario.neighbour->device_address;
    if (end == End::controller) return settings;
    settings.end = End::device;
    std::swap(settings.own_address, settings.peer_address);
    std::swap(settings.payload_sent, settings.payload_received);
    std::swap(settings.bits_sent, settings.bits_received);
    std::swap(settings.watchdog, settings.peer_watchdog);
    settings.scan = scenario.device.link.scan;
    return settings;
}

}  // namespace

bool needs_neighbour(const Scenario& scenario) {
    return scenario.neighbour && std::any_of(scenario.faults.begin(), scenario.faults.end(), [](const Fault& fault) {
               return fault.other_link.empty() && (fault.way == FaultWay::neighbour || fault.way == FaultWay::swap ||
                                                   fault.way == FaultWay::misdeliver);
           });
}

NeighbourLink::NeighbourLink(const Scenario& scenario, const std::optional<proto::CrcEngine>& tables)
    : scenario_(scenario),
      link_(settings_of(scenario, End::controller), settings_of(scenario, End::device), 1, *this, tables,
            scenario.use) {}

void NeighbourLink::begin(const Random& entropy, Instant now) {
    agenda_.begin_again();
    now_ = now;
    const Duration late = scenario_.controller.link.cycle - proto::microseconds(100);
    link_.end(End::controller).begin(now, late, entropy.at(2));
    link_.end(End::device).begin(now, scenario_.device_phase, entropy.at(3));
}

Instant NeighbourLink::next_event() const {
    return std::min({agenda_.next(), next_scan(End::controller), next_scan(End::device)});
}

void NeighbourLink::do_next(Instant now, Channel& channel) {
    now_ = now;
    if (agenda_.next() <= now) {
        using Contact = proto::Endpoint::Contact;
        const bool press = agenda_.take().kind == Agenda::Kind::press;
        link_.end(End::controller).endpoint().set_acknowledge(press ? Contact::closed : Contact::open, now);
    } else if (next_scan(End::device) <= now) {
        scan<End::device>(now, channel);
    } else {
        scan<End::controller>(now, channel);
    }
}

void NeighbourLink::end_changed(EndRun<NeighbourLink>& end, const proto::Transition& transition) {
    if (transition.to != proto::State::awaiting_acknowledgement || end.end() != End::controller) return;
    note_press(agenda_, now_ + calm_press_after);
}

template <End which>
void NeighbourLink::scan(Instant now, Channel& channel) {
    proto::Endpoint& endpoint = link_.end(which).endpoint();
    endpoint.on_deadline(now);
    const proto::BitUse& bits = endpoint.settings().bits_sent;
    const auto output = endpoint.output();
    std::copy_n(bits.begin(), output.size(), output.begin());
    link_.end(which).give<which, 1>(0, now, now, channel);
}

}  // namespace sim
