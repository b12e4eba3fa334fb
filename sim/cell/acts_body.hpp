#pragma once
// The bodies of the acts: included by the units that run a cell or a part of one.
#include "sim/cell/acts.hpp"
#include "sim/cell/pressing.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {

template <class Host>
void Acts<Host>::put_in_demands() {
    for (std::size_t i = 0; i < scenario_.demands.size(); ++i) {
        begin_demand(i);
        end_demand(i);
    }
}

template <class Host>
Instant Acts<Host>::opens(std::size_t index) const {
    const Demand& demand = scenario_.demands[index];
    return Instant{} + demand.at + scenario_.safeguards[host_.plant().index_of(demand.safeguard)].delay;
}

template <class Host>
Instant Acts<Host>::closes(std::size_t index) const {
    const Demand& demand = scenario_.demands[index];
    const Safeguard& guard = scenario_.safeguards[host_.plant().index_of(demand.safeguard)];
    // a demand shorter than an exchange would vanish without any fault; who types a shorter one wants that
    const bool typed = guard.minimum_hold != Duration{};
    return opens(index) + std::max(demand.lasting, typed ? guard.minimum_hold : least_hold(scenario_, guard.at));
}

template <class Host>
void Acts<Host>::put_in_fault(std::size_t index) {
    const Fault& fault = scenario_.faults[index];
    host_.clocks().let_fail();
    agenda_.note(Instant{} + *fault.at, Kind::end_fails, index);
    // one that ends as another begins must end first, so this stands here where it can
    if (fault.lasting && !fault.when.any())
        agenda_.note(Instant{} + *fault.at + *fault.lasting, Kind::end_mends, index);
}

template <class Host>
void Acts<Host>::take_out_faults() {
    agenda_.forget(
        [](const Agenda::Entry& entry) { return entry.kind == Kind::end_fails || entry.kind == Kind::end_mends; });
    waiting_.clear();
    mend_ends();
}

template <class Host>
void Acts<Host>::take_out_fault(std::size_t index) {
    agenda_.forget([index](const Agenda::Entry& entry) {
        return (entry.kind == Kind::end_fails || entry.kind == Kind::end_mends) && entry.index == index;
    });
    std::erase(waiting_, index);
    const Fault& fault = scenario_.faults[index];
    const Instant now = host_.true_now();
    if (now <= Instant{} + *fault.at) return;
    FailingEnd& failing = host_.clocks().end(*fault.at_end);
    if (fault.way == FaultWay::stall && failing.still_until == Instant{} + *fault.at + *fault.lasting)
        failing.still_until = now;
    mend(index, now);
}

template <class Host>
bool Acts<Host>::switch_on(std::size_t index) {
    const End which = *scenario_.faults[index].at_end;
    std::optional<Dark>& dark = dark_[static_cast<std::size_t>(which)];
    EndRun<Host>* const end = host_.end_here(which);
    const Instant now = host_.true_now();
    if (!dark || dark->fault != index || end == nullptr || dark->on <= now) return false;
    FailingEnd& failing = host_.clocks().end(which);
    const Instant on = std::max(dark->not_before, now);
    // it stood still besides: that has an end of its own
    if (failing.still_until == dark->on) failing.still_until = on;
    failing.off_until = dark->on = on;
    end->restart(dark->local, on - dark->began, dark->entropy);
    return true;
}

template <class Host>
void Acts<Host>::mend_ends() {
    if (!host_.clocks().any_fail()) return;
    const Instant now = host_.true_now();
    for (const End which : {End::controller, End::device}) {
        EndRun<Host>* const end = host_.end_here(which);
        if (end == nullptr) continue;
        FailingEnd& f = host_.clocks().end(which);
        f.clock.set_pace(0, now);
        if (f.off_until <= now) f.still_until = now;
        if (std::exchange(f.frozen, false)) end->mark_stale();
        if (which == host_.plant().output_end()) drive_slows(true, now);
    }
}

template <class Host>
void Acts<Host>::calm_down() {
    now_.calm = true;
    mend_ends();
    // whoever stood with a finger on the button lets go, and an open request is answered
    set_contact(proto::Endpoint::Contact::open, host_.true_now());
    const EndRun<Host>* const controller = host_.end_here(End::controller);
    if (controller != nullptr && controller->endpoint().acknowledgement_requested())
        operate(OperatorAct::Event::acknowledgement_requested);
}

template <class Host>
void Acts<Host>::operate(OperatorAct::Event event) {
    const Instant now = host_.true_now();
    if (now_.calm) {
        // after the rehearsal somebody tidies up
        if (event != OperatorAct::Event::acknowledgement_requested) return;
        note_press(agenda_, now + calm_press_after);
        return;
    }
    for (const OperatorAct& act : scenario_.operator_acts) {
        if (act.event == event) note_act(act, now + act.after);
    }
}

template <class Host>
void Acts<Host>::note_act(const OperatorAct& act, Instant when) {
    switch (act.act) {
        case OperatorAct::Act::acknowledge: note_press(agenda_, when); break;
        case OperatorAct::Act::hold_acknowledge: agenda_.note(when, Kind::press, 0); break;
        case OperatorAct::Act::start_machine: agenda_.note(when, Kind::start_machine, 0); break;
        case OperatorAct::Act::reset:
        case OperatorAct::Act::hold_reset: note_reset(agenda_, scenario_, act, when); break;
        case OperatorAct::Act::select_mode:
            for (std::size_t i = 0; i < scenario_.modes.size(); ++i)
                if (scenario_.modes[i].name == act.mode) agenda_.note(when, Kind::select_mode, i);
            break;
    }
}

template <class Host>
void Acts<Host>::end_changed(const proto::Transition& transition) {
    if (transition.to == proto::State::safe_state) ++now_.safe_states;
    const bool running = host_.link_runs();
    if (running && !now_.were_running) operate(OperatorAct::Event::link_running);
    now_.were_running = running;
}

template <class Host>
std::uint64_t Acts<Host>::happened(FaultCondition::Event event, Instant now) const {
    switch (event) {
        case FaultCondition::Event::safe_state: return now_.safe_states;
        case FaultCondition::Event::acknowledged: return now_.acknowledgements;
        case FaultCondition::Event::machine_still: {
            const MachineModel* const machine = host_.plant().machine();
            return machine != nullptr ? machine->standstills(now) : 0;
        }
    }
    return 0;
}

template <class Host>
void Acts<Host>::set_contact(proto::Endpoint::Contact contact, Instant now) {
    if (EndRun<Host>* const controller = host_.end_here(End::controller))
        controller->endpoint().set_acknowledge(contact, host_.clocks().local(End::controller, now));
}

template <class Host>
void Acts<Host>::fire(const Agenda::Entry& entry, Instant now) {
    Plant& plant = host_.plant();
    switch (entry.kind) {
        case Kind::demand_begins:
        case Kind::demand_ends: fire_demand(entry, now); return;
        case Kind::press: set_contact(proto::Endpoint::Contact::closed, now); return;
        case Kind::let_go: set_contact(proto::Endpoint::Contact::open, now); return;
        case Kind::start_machine:
            // of a link in parts, the one that commands the machine
            if (host_.end_here(plant.output_end()) == nullptr || !plant.start_machine(now)) return;
            host_.tell(MachineTold{std::nullopt, now});
            for (const std::size_t fault : std::exchange(waiting_, {})) agenda_.note(now, Kind::end_fails, fault);
            return;
        case Kind::safeguard_check: plant.check(entry.index, now); break;
        case Kind::safeguard_reset:
        case Kind::reset_pressed:
        case Kind::reset_let_go:
            plant.reset(entry.index, reset_act_of(entry.kind), now);
            mark_stale();  // a pair of bits is read at the other end
            break;
        case Kind::hand_in:
            plant.demand(entry.index, DemandChannel::both, now);
            if (plant.asked_of_output(entry.index) != 0) plant.open_demand(plant.asked_of_output(entry.index));
            break;
        case Kind::hand_out: plant.release(entry.index, DemandChannel::both, now); break;
        case Kind::select_mode:
        case Kind::mode_selected: select_mode(entry, now); return;
        case Kind::muting_ends:
            plant.end_mutings(now);
            mark_stale();
            return;
        case Kind::application_due:
            if (EndRun<Host>* const here = host_.end_here(static_cast<End>(entry.index))) here->mark_stale();
            return;
        case Kind::end_fails: begin_to_fail(entry.index, now); return;
        case Kind::end_mends: mend(entry.index, now); return;
        case Kind::output_watchdog: {
            // it scanned again in the meantime, or not
            EndRun<Host>* const output = host_.end_here(plant.output_end());
            const FailingEnd* const f = host_.clocks().failing(plant.output_end());
            if (output != nullptr && !now_.calm && f != nullptr && now < f->still_until) switch_off(*output, now);
            return;
        }
    }
    safeguard_changed(entry.index, now);
}

template <class Host>
void Acts<Host>::mark_stale() {
    for (const End end : {End::controller, End::device})
        if (EndRun<Host>* const here = host_.end_here(end)) here->mark_stale();
}

template <class Host>
void Acts<Host>::select_mode(const Agenda::Entry& entry, Instant now) {
    const Duration takes = scenario_.modes[entry.index].takes;
    const bool alone = entry.kind == Kind::mode_selected || takes == Duration{};
    host_.plant().select_mode(entry.index, alone);
    if (!alone) agenda_.note(now + takes, Kind::mode_selected, entry.index);
    mark_stale();
}

template <class Host>
void Acts<Host>::fire_demand(const Agenda::Entry& entry, Instant now) {
    if (now_.calm && entry.kind == Kind::demand_begins) return;
    const Demand& demand = scenario_.demands[entry.index];
    Plant& plant = host_.plant();
    const std::size_t guard = plant.index_of(demand.safeguard);
    if (entry.kind == Kind::demand_ends) {
        plant.release(guard, demand.channel, now);
        safeguard_changed(guard, now);
        return;
    }
    const bool muted = plant.muted(guard);
    plant.demand(guard, demand.channel, now);
    // of a link in parts, the one with the safeguard tells
    const std::uint64_t asked = plant.asked_of_output(guard);
    const bool told_here = host_.end_here(scenario_.safeguards[guard].at) != nullptr && !demand.elsewhere;
    if (asked != 0 && !demand.elsewhere) plant.open_demand(asked);
    if (told_here)
        host_.tell(Demanded{entry.index, asked, now, plant.inputs(0).modes, muted, host_.way_runs(guard)});
    else if (demand.elsewhere)
        host_.tell(DemandedElsewhere{entry.index, now});
    // an end that is off, or switched off, does not scan: its outputs are what they are
    if (const FailingEnd* f = host_.clocks().failing(plant.output_end()); f != nullptr && now < f->still_until)
        if (const EndRun<Host>* output = host_.end_here(plant.output_end())) {
            plant.use_at_output(output->used());
            host_.tell(OutputUsed{output->used(), now});
        }
    safeguard_changed(guard, now);
}

template <class Host>
void Acts<Host>::safeguard_changed(std::size_t safeguard, Instant now) {
    if (const Instant check = host_.plant().safeguard(safeguard).next_check(); check != proto::never)
        agenda_.note(std::max(check, now), Kind::safeguard_check, safeguard);
    if (const Instant end = host_.plant().end_mutings(now); end != proto::never)
        agenda_.note(std::max(end, now), Kind::muting_ends, 0);
    EndRun<Host>* const reads = host_.end_here(scenario_.safeguards[safeguard].at);
    if (reads == nullptr) return;
    reads->mark_stale();
    const std::uint64_t bit = std::uint64_t{1} << safeguard;
    const std::uint64_t turned = (host_.plant().free() ^ now_.told_free) & bit;
    if (turned == 0) return;
    now_.told_free ^= bit;
    host_.tell(Contacted{safeguard, (now_.told_free & bit) != 0, now});
}

template <class Host>
void Acts<Host>::begin_to_fail(std::size_t index, Instant now) {
    const Fault& fault = scenario_.faults[index];
    if (fault.when.machine && !host_.plant().machine_moves(now)) {
        waiting_.push_back(index);
        return;
    }
    fail(index, now);
    if (fault.lasting && fault.when.any()) agenda_.note(now + *fault.lasting, Kind::end_mends, index);
}

template <class Host>
void Acts<Host>::fail(std::size_t index, Instant now) {
    const Fault& fault = scenario_.faults[index];
    const End which = *fault.at_end;
    EndRun<Host>* const end = host_.end_here(which);
    if (now_.calm || end == nullptr) return;
    host_.tell(Touched{index, which == End::controller ? Direction::to_device : Direction::to_controller, now, now});
    FailingEnd& failing = host_.clocks().end(which);
    switch (fault.way) {
        case FaultWay::restart: restart(*end, index, now); return;
        case FaultWay::stall: stall(*end, index, now); return;
        case FaultWay::frozen_data: failing.frozen = true; return;
        case FaultWay::clock_drift: failing.clock.set_pace(fault.drift_ppm, now); return;
        case FaultWay::drive_does_not_slow: drive_slows(false, now); return;
        default: return;  // of the way
    }
}

template <class Host>
void Acts<Host>::restart(EndRun<Host>& end, std::size_t index, Instant now) {
    const Duration lasting = *scenario_.faults[index].lasting;
    FailingEnd& failing = host_.clocks().end(end.end());
    // somebody may switch off by hand what is off already, or stands still
    const Instant not_before = failing.still_until;
    const Instant on = std::max(not_before, now + lasting);
    failing.off_until = failing.still_until = on;
    host_.tell(Unheard{end.end(), WhyUnheard::forgotten});
    // other random numbers than at any start before
    const std::uint64_t entropy = scramble(seed_ ^ scramble(index + 1) ^ static_cast<std::uint64_t>(now.ns));
    const Instant local = host_.clocks().local(end.end(), now);
    end.restart(local, on - now, entropy);
    dark_[static_cast<std::size_t>(end.end())] = Dark{index, now, local, not_before, on, entropy};
    switch_off(end, now);
}

template <class Host>
void Acts<Host>::stall(EndRun<Host>& end, std::size_t index, Instant now) {
    const Instant next_scan = host_.clocks().deadline(end.end(), end.endpoint().next_deadline());
    const Instant last_scan = std::min(now, next_scan - end.endpoint().settings().scan);
    host_.clocks().end(end.end()).still_until = now + *scenario_.faults[index].lasting;
    if (scenario_.machine && end.end() == host_.plant().output_end() && scenario_.machine->output_watchdog)
        agenda_.note(std::max(now, last_scan + *scenario_.machine->output_watchdog), Kind::output_watchdog, index);
}

template <class Host>
void Acts<Host>::mend(std::size_t index, Instant now) {
    const Fault& fault = scenario_.faults[index];
    EndRun<Host>* const end = host_.end_here(*fault.at_end);
    if (end == nullptr) return;
    FailingEnd& failing = host_.clocks().end(*fault.at_end);
    if (fault.way == FaultWay::frozen_data) {
        failing.frozen = false;
        end->mark_stale();
    }
    if (fault.way == FaultWay::clock_drift) failing.clock.set_pace(0, now);
    if (fault.way == FaultWay::drive_does_not_slow) drive_slows(true, now);
}

template <class Host>
void Acts<Host>::drive_slows(bool slows, Instant now) {
    if (host_.plant().machine() == nullptr || host_.plant().machine()->slows() == slows) return;
    host_.plant().drive_slows(slows);
    host_.tell(DriveSlows{slows, now});
}

template <class Host>
void Acts<Host>::switch_off(EndRun<Host>& end, Instant now) {
    end.switch_off();
    if (end.end() == host_.plant().output_end()) {
        if (host_.plant().demand_open()) {
            host_.plant().use_at_output(0);
            host_.tell(OutputUsed{0, now});
        }
        host_.plant().output_failed();
        host_.drive(0);
    }
    host_.tell(OutputsOff{end.end(), now});
}

}  // namespace sim
