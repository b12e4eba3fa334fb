#include "tests/support/cells.hpp"

#include <algorithm>
#include <string>

#include "sim/timing/cell_ways.hpp"
#include "tests/support/scenarios.hpp"

namespace tests {
namespace {

using proto::Duration;
using sim::Direction;
using sim::Scenario;

/// Two ends with nothing around them.
Scenario bare(const LinkOfChain& from, std::size_t number, Duration duration) {
    const bool stream = from.exchange == proto::Exchange::streaming;
    Scenario s = stream ? streaming_link(from.stamped ? Carries::time_stamp : Carries::everything) : polled_link();
    s.duration = duration;
    s.device_phase = from.phase;
    s.neighbour.reset();
    s.safeguards.clear();
    s.signals.clear();
    s.machine.reset();
    s.required = {};
    s.operator_acts.clear();
    s.device.name = "station " + std::to_string(number);
    const auto address = static_cast<std::uint32_t>(0x301 + number);
    s.device.link.own_address = s.controller.link.peer_address = address;
    both_ends(s, [&](proto::LinkSettings& link) {
        link.cycle = from.cycle;
        if (from.stamped) link.max_age = from.delay_high * 2 + from.cycle + from.device_scan;
    });
    s.controller.link.scan = from.cycle;
    s.device.link.scan = from.device_scan;
    set_watchdogs(s, from.controller_watchdog, from.device_watchdog);
    const bool varies = from.delay_low != from.delay_high;
    s.to_device.delay = s.to_controller.delay = {
        varies ? sim::DelayShape::Kind::uniform : sim::DelayShape::Kind::constant, from.delay_low, from.delay_high, {}};
    if (stream && !from.stamped) s.declared_delay = from.delay_high;
    s.operator_acts = {
        {sim::OperatorAct::Event::acknowledgement_requested,
         sim::OperatorAct::Act::acknowledge,
         proto::milliseconds(100),
         {}},
        {sim::OperatorAct::Event::link_running, sim::OperatorAct::Act::start_machine, proto::milliseconds(50), {}}};
    return s;
}

void put_signal(sim::WholeCell& cell, std::size_t link, const std::string& name, Direction direction,
                const std::string& source) {
    const auto bit = static_cast<unsigned>(cell.signals.size() % 8),
               byte = static_cast<unsigned>(cell.signals.size() / 8);
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        Scenario& alone = cell.links[i].alone;
        alone.signals.push_back({name, direction, {source}, {}});
        alone.signals.back().elsewhere = i != link;
        if (i != link) continue;
        for (sim::TypedEnd* end : {&alone.controller, &alone.device}) end->bits.push_back({name, {byte, bit}, {}});
    }
    cell.signals.push_back(link);
}

void put_guard(sim::WholeCell& cell, std::size_t link, const std::string& name) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        cell.links[i].alone.safeguards.push_back(
            {name, i == link ? proto::End::device : proto::End::controller, {}, {}, {}});
    cell.safeguards.emplace_back(link);
    cell.minimum_holds.emplace_back();
}

void put_machine(Scenario& alone, const std::string& name, const std::string& signal) {
    alone.machine.emplace();
    alone.machine->name = name;
    alone.machine->reaction_delay = proto::milliseconds(10);
    alone.machine->speed_um_s = 250'000;
    alone.machine->braking_um_s2 = 1'000'000;
    alone.machine->ramp_um_s2 = 2'000'000;
    alone.machine->reactions = {{signal, sim::StopCategory::category_1, {}}};
}

sim::WholeCell with_links(std::vector<Scenario> links, Duration duration) {
    sim::WholeCell cell;
    cell.file = cell.title = "in code";
    cell.duration = duration;
    for (std::size_t i = 0; i < links.size(); ++i)
        cell.links.push_back({"link " + std::to_string(i), std::move(links[i]), {}});
    for (sim::CellLink& link : cell.links)
        for (sim::TypedEnd* end : {&link.alone.controller, &link.alone.device}) end->bits.clear();
    return cell;
}

void finish(sim::WholeCell& cell) {
    for (sim::CellLink& link : cell.links) use_typed_bits(link.alone);
    sim::complete_links(cell);
}

}  // namespace

sim::WholeCell chain_of(const LinkOfChain& guard_link, const LinkOfChain& machine_link, Duration duration) {
    sim::WholeCell cell = with_links({bare(guard_link, 0, duration), bare(machine_link, 1, duration)}, duration);
    put_guard(cell, 0, "guard");
    put_signal(cell, 0, "guard_free", Direction::to_controller, "guard");
    put_signal(cell, 1, "may_run", Direction::to_device, "guard_free");
    put_machine(cell.links[1].alone, "machine", "may_run");
    finish(cell);
    return cell;
}

sim::WholeCell separate_links(std::size_t count, Duration duration) {
    std::vector<Scenario> links;
    for (std::size_t i = 0; i < count; ++i) {
        LinkOfChain from;
        from.cycle = proto::milliseconds(10 + 5 * static_cast<std::int64_t>(i % 3));
        from.device_scan = proto::milliseconds(4 + static_cast<std::int64_t>(i));
        from.phase = proto::microseconds(300 * static_cast<std::int64_t>(i));
        from.delay_low = proto::microseconds(200);
        from.delay_high = proto::microseconds(900);
        from.controller_watchdog = from.device_watchdog = proto::milliseconds(60);
        links.push_back(bare(from, i, duration));
    }
    sim::WholeCell cell = with_links(std::move(links), duration);
    for (std::size_t i = 0; i < count; ++i) {
        const std::string number = std::to_string(i);
        put_guard(cell, i, "guard " + number);
        put_signal(cell, i, "free " + number, Direction::to_controller, "guard " + number);
        put_signal(cell, i, "run " + number, Direction::to_device, "free " + number);
        put_machine(cell.links[i].alone, "machine " + number, "run " + number);
    }
    finish(cell);
    return cell;
}

void demand(sim::WholeCell& cell, const char* safeguard, Duration at, Duration lasting) {
    for (sim::CellLink& link : cell.links)
        link.alone.demands.push_back({.safeguard = safeguard, .at = at, .lasting = lasting, .where = {}});
}

}  // namespace tests
