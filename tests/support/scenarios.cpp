#include "tests/support/scenarios.hpp"

#include <algorithm>
#include <filesystem>

#include "proto/crc_catalogue.hpp"
#include "sim/reading/read_cell.hpp"
#include "tests/support/profiles.hpp"

namespace tests {
namespace {

using proto::milliseconds;
using proto::Presence;
using sim::Scenario;

Scenario table(const proto::Profile& profile, proto::Exchange exchange) {
    Scenario s;
    s.file = "in code";
    s.title = "Tilting table";
    s.plant = "glass plant";
    s.duration = proto::seconds(2);
    s.device_phase = milliseconds(3);
    s.controller.name = "table controller";
    s.device.name = "table I/O";
    both_ends(s, [&](proto::LinkSettings& link) {
        link.profile = profile;
        link.exchange = exchange;
        link.payload_sent = link.payload_received = profile.payload_bytes;
    });
    s.controller.link.end = proto::End::controller;
    s.device.link.end = proto::End::device;
    s.controller.link.own_address = s.device.link.peer_address = 0x101;
    s.device.link.own_address = s.controller.link.peer_address = 0x202;
    set_watchdogs(s, milliseconds(45), milliseconds(45));
    set_delay(s, milliseconds(1));
    s.neighbour.emplace();
    s.neighbour->controller_address = 0x111;
    s.neighbour->device_address = 0x212;
    s.safeguards = {{"table_curtain", proto::End::device, {}, {}, {}},
                    {"rope_pull", proto::End::controller, {}, {}, {}}};
    s.signals = {{"curtain_free", sim::Direction::to_controller, {"table_curtain"}, {}},
                 {"tilting_allowed", sim::Direction::to_device, {"curtain_free", "rope_pull"}, {}}};
    for (sim::TypedEnd* end : {&s.controller, &s.device})
        end->bits = {{"curtain_free", {0, 0}, {}}, {"tilting_allowed", {0, 1}, {}}};
    use_typed_bits(s);
    s.machine.emplace();
    s.machine->name = "tilting table";
    s.machine->reaction_delay = milliseconds(10);
    s.machine->speed_um_s = 250'000;
    s.machine->braking_um_s2 = 1'000'000;
    s.machine->ramp_um_s2 = 2'000'000;
    s.machine->reactions = {{"tilting_allowed", sim::StopCategory::category_1, {}}};
    s.required.to_device = s.required.to_controller = milliseconds(200);
    s.operator_acts = {
        {sim::OperatorAct::Event::acknowledgement_requested, sim::OperatorAct::Act::acknowledge, milliseconds(100), {}},
        {sim::OperatorAct::Event::link_running, sim::OperatorAct::Act::start_machine, milliseconds(50), {}}};
    return s;
}

}  // namespace

std::string_view name_of(Carries what) {
    switch (what) {
        case Carries::everything: return "everything carried";
        case Carries::two_copies: return "two copies";
        case Carries::implied_addresses: return "addresses implied";
        case Carries::implied_number: return "number implied";
        case Carries::feedback: return "with feedback";
        case Carries::time_stamp: return "with time stamp";
        case Carries::no_addresses: return "no addresses";
    }
    return "?";
}

proto::Profile profile_of(Carries what) {
    proto::Profile profile = carried_crc32();
    switch (what) {
        case Carries::everything: break;
        case Carries::two_copies: profile.copies = 2; break;
        case Carries::implied_addresses: profile.address.presence = Presence::implied; break;
        case Carries::implied_number: profile.sequence.presence = Presence::implied; break;
        case Carries::feedback: profile.feedback = true; break;
        case Carries::time_stamp: profile.time_stamp_bits = 16; break;
        case Carries::no_addresses: profile.address = {}; break;
    }
    return profile;
}

Scenario polled_link(Carries what) { return table(profile_of(what), proto::Exchange::polled); }

Scenario streaming_link(Carries what) {
    Scenario s = table(profile_of(what), proto::Exchange::streaming);
    both_ends(s, [&](proto::LinkSettings& link) {
        if (what == Carries::feedback) link.max_lag = 3;
        if (what == Carries::time_stamp) link.max_age = milliseconds(40);
    });
    return s;
}

void set_watchdogs(Scenario& s, proto::Duration controller, proto::Duration device) {
    s.controller.link.watchdog = s.device.link.peer_watchdog = controller;
    s.device.link.watchdog = s.controller.link.peer_watchdog = device;
}

void set_delay(Scenario& s, proto::Duration one_way) {
    s.to_device.delay = s.to_controller.delay = {sim::DelayShape::Kind::constant, one_way, one_way, {}};
}

void use_typed_bits(Scenario& s) {
    for (sim::TypedEnd* end : {&s.controller, &s.device}) {
        end->link.bits_sent = end->link.bits_received = {};
        for (const sim::TypedBit& bit : end->bits) {
            const auto signal = std::find_if(s.signals.begin(), s.signals.end(),
                                             [&](const sim::Signal& one) { return one.name == bit.signal; });
            const bool sent = signal != s.signals.end() && sender(signal->direction) == end->link.end;
            std::uint8_t& byte = (sent ? end->link.bits_sent : end->link.bits_received)[bit.place.byte];
            byte = static_cast<std::uint8_t>(byte | 1U << bit.place.bit);
        }
    }
}

sim::Fault fault_of(sim::FaultWay way, proto::Duration at) {
    sim::Fault fault;
    fault.way = way;
    fault.error = sim::error_of(way);
    fault.at = at;
    return fault;
}

sim::Fault on(sim::Fault fault, Ways ways) {
    fault.to_device = ways != Ways::back;
    fault.to_controller = ways != Ways::out;
    return fault;
}

sim::Fault times(sim::Fault fault, std::uint64_t times) {
    fault.times = times;
    return fault;
}

sim::Fault lasting(sim::Fault fault, proto::Duration time) {
    fault.lasting = time;
    return fault;
}

sim::Demand demand_of(const std::string& safeguard, proto::Duration at) { return {safeguard, at, milliseconds(1), {}}; }

namespace {

std::vector<std::string> shipped(const std::string& source_dir, bool several_links) {
    std::vector<std::string> files;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(source_dir + "/scenarios")) {
        const auto folder = entry.path().parent_path().filename();
        if (entry.path().extension() == ".toml" && folder != "profiles" && folder != "modules" && folder != "drills" &&
            sim::has_several_links(entry.path().string()) == several_links)
            files.push_back(entry.path().string());
    }
    std::sort(files.begin(), files.end());
    return files;
}

}  // namespace

std::vector<std::string> shipped_scenarios(const std::string& source_dir) { return shipped(source_dir, false); }
std::vector<std::string> shipped_cells(const std::string& source_dir) { return shipped(source_dir, true); }

}  // namespace tests
