// What a desk's bench shows.
#include <algorithm>

#include "sim/desk/desk_run.hpp"
#include "sim/desk/usual_fault.hpp"

namespace sim {
namespace {

DeskEnd shown_end(const DeskLinkRun& link, End which, Instant now) {
    const proto::Endpoint& endpoint = link.cell.link().end(which).endpoint();
    const DeskEar::OfEnd& heard = link.ear.end(which);
    DeskEnd end;
    end.name = link.scenario.end(which).name;
    end.state = endpoint.state();
    end.cause = heard.cause;
    end.measure = heard.measure;
    end.refusal = endpoint.refusal();
    end.since = heard.since;
    end.last_good = heard.last_good;
    end.watchdog = endpoint.settings().watchdog;
    end.counters = endpoint.counters();
    end.dark = now < link.dark_until[static_cast<std::size_t>(which)];
    end.asks_for_acknowledgement = endpoint.acknowledgement_requested();
    return end;
}

DeskValue shown_value(const DeskEar& ear, DeskEar::At at, std::size_t signal) {
    const DeskEar::Values& values = ear.values(at);
    return {(values.now >> signal & 1) != 0, values.changed[signal]};
}

DeskSignal shown_signal(const DeskLinkRun& link, std::size_t place) {
    const Signal& signal = link.scenario.signals[place];
    DeskSignal shown;
    shown.name = signal.name;
    shown.link = link.name;
    shown.direction = signal.direction;
    shown.computed = shown_value(link.ear, DeskEar::At::computed, place);
    shown.sent = shown_value(link.ear, DeskEar::At::sent, place);
    shown.received = shown_value(link.ear, DeskEar::At::received, place);
    shown.used = shown_value(link.ear, DeskEar::At::used, place);
    shown.substitute = !link.cell.link().end(receiver(signal.direction)).running();
    if (!link.scenario.machine) return shown;
    for (const MachineReaction& reaction : link.scenario.machine->reactions)
        if (reaction.signal == signal.name) {
            shown.machine = link.scenario.machine->name;
            shown.reaction = reaction.stop;
        }
    return shown;
}

/// What the signals in use at the output command, whatever else holds the machine.
DriveCommand asked_of(const DeskLinkRun& link, const Machine& machine) {
    const std::uint64_t used = link.cell.link().end(link.cell.plant().output_end()).used();
    DriveCommand asked = DriveCommand::run;
    for (const MachineReaction& reaction : machine.reactions)
        for (std::size_t i = 0; i < link.scenario.signals.size(); ++i)
            if (link.scenario.signals[i].name == reaction.signal && (used >> i & 1) == 0)
                asked = std::max(asked, command_of(reaction.stop));
    return asked;
}

DeskMachine shown_machine(const DeskLinkRun& link, Instant now) {
    const MachineModel& model = *link.cell.plant().machine();
    const Machine& machine = *link.scenario.machine;
    const DeskEar::OfMachine& heard = link.ear.machine();
    DeskMachine shown;
    shown.name = machine.name;
    shown.link = link.name;
    shown.speed_um_s = model.speed(now);
    shown.full_um_s = machine.speed_um_s;
    if (machine.travel_um != 0) {
        shown.position_um = model.position(now);
        shown.travel_um = machine.travel_um;
    }
    shown.moves = model.moving(now);
    shown.started = model.started();
    shown.command = model.command();
    shown.asked = asked_of(link, machine);
    shown.emergency_stop = model.held(MachineModel::Hold::emergency_stop);
    shown.stopped_by_hand = link.stopped_by_hand;
    shown.commanded = heard.commanded;
    shown.last_stop = heard.last_stop;
    if (heard.last_stop && model.in_force() != DriveCommand::run) {
        if (const Instant reduced = model.reduced_at(); machine.reduced_speed_um_s != 0 && reduced <= now)
            shown.reduced_since = reduced;
        const bool stops = model.in_force() >= DriveCommand::stop_category_2;
        // one that never moved stands with a stop in force since that was commanded
        if (stops && !shown.moves)
            shown.stands_since = model.still_at() > Instant{} ? model.still_at() : heard.last_stop;
    }
    if (heard.last_demand) {
        shown.last_demand = link.scenario.safeguards[*heard.last_demand].name;
        shown.last_demand_at = heard.last_demand_at;
    }
    return shown;
}

DeskFault shown_fault(const DeskLinkRun& link, std::size_t place, Instant now) {
    const Fault& fault = link.scenario.faults[place];
    DeskFault shown;
    shown.number = place + 1;
    shown.words = words_of(link.scenario, fault);
    if (fault.at) shown.begins = Instant{} + *fault.at;
    const std::uint64_t touches = place < link.touches.size() ? link.touches[place] : 0;
    shown.touched = touches != 0;
    const bool timed_out = fault.at && fault.lasting && !fault.when.any() && now >= *shown.begins + *fault.lasting;
    const bool counted_out = !fault.at_end && !fault.lasting && !fault.when.until && touches >= fault.times.value_or(1);
    shown.over = timed_out || counted_out;
    return shown;
}

}  // namespace

DeskShown DeskBench::shown() const {
    DeskShown shown;
    const Instant now = run_->now();
    shown.at = now;
    const auto cable_of = [this](std::size_t link) { return run_->open(DeskPutIn::Kind::cable, link) != nullptr; };
    for (std::size_t i = 0; i < run_->links_.size(); ++i) {
        const DeskLinkRun& link = *run_->links_[i];
        DeskLink one{
            link.name, shown_end(link, End::controller, now), shown_end(link, End::device, now), cable_of(i), {}};
        one.controller.switched_off = run_->open(DeskPutIn::Kind::power, i, End::controller) != nullptr;
        one.device.switched_off = run_->open(DeskPutIn::Kind::power, i, End::device) != nullptr;
        std::vector<std::size_t> switches;
        for (const DeskPutIn& put_in : run_->put_in_)
            for (const auto& place : put_in.places)
                if (place.first == i && put_in.kind != DeskPutIn::Kind::fault) switches.push_back(place.second);
        for (std::size_t f = 0; f < link.scenario.faults.size(); ++f) {
            // cables and supplies have their own switches
            if (std::find(switches.begin(), switches.end(), f) != switches.end()) continue;
            one.faults.push_back(shown_fault(link, f, now));
        }
        for (const DeskPutIn& put_in : run_->put_in_)
            if (put_in.link == i && put_in.places.empty() && !put_in.out)
                one.faults.push_back({link.scenario.faults.size() + one.faults.size() + 1,
                                      words_of(link.scenario, put_in.fault), put_in.begins, false, false});
        shown.links.push_back(std::move(one));
        for (std::size_t s = 0; s < link.scenario.signals.size(); ++s)
            if (!link.scenario.signals[s].elsewhere) shown.signals.push_back(shown_signal(link, s));
        if (link.scenario.machine) shown.machines.push_back(shown_machine(link, now));
    }
    const Scenario& first = run_->links_.front()->scenario;
    for (std::size_t g = 0; g < first.safeguards.size(); ++g) {
        const DeskLinkRun& link = *run_->links_[run_->reads(g)];
        const SafeguardModel& model = link.cell.plant().safeguard(g);
        DeskGuard guard;
        guard.name = first.safeguards[g].name;
        guard.kind = first.safeguards[g].kind;
        guard.at = link.scenario.end(link.scenario.safeguards[g].at).name;
        guard.contact_free = !model.demanded();
        guard.free = model.free();
        guard.latched = model.latched();
        guard.reset_needed = !model.free() && !model.demanded();
        for (const DeskDemand& demand : run_->demands_) {
            if (demand.guard != g) continue;
            guard.held = demand.held;
            guard.held_until.reset();
            if (!demand.held && demand.closes >= now) guard.held_until = demand.closes;
        }
        for (const Signal& signal : first.signals)
            if (is_made_of(signal, guard.name)) guard.signals.push_back(signal.name);
        shown.guards.push_back(std::move(guard));
    }
    const std::uint64_t modes = run_->links_.front()->cell.plant().inputs(0).modes;
    for (std::size_t m = 0; m < first.modes.size(); ++m)
        shown.modes.push_back({first.modes[m].name, (modes >> m & 1) != 0});
    return shown;
}

}  // namespace sim
