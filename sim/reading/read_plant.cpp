#include <algorithm>

#include "sim/reading/named_things.hpp"
#include "sim/reading/parts.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

using Zero = Section::Zero;
constexpr std::int64_t full_turn_mdeg = 360'000;

std::optional<End> read_end(Section& section, std::string_view key) {
    return section.choice<End>(key, {{"controller", End::controller}, {"device", End::device}});
}

/// That no safety function needs it, and why.
void read_no_function(Section& section, Safeguard& safeguard) {
    const auto function = section.choice<std::string_view>("function", {{"none", "none"}});
    safeguard.no_function = section.text("reason").value_or("");
    if (function && safeguard.no_function.empty()) section.missing("reason", "\"stops nothing: it only warns\"");
    if (!section.has("function") && section.has("reason"))
        section.say("reason", "means something with function = \"none\" only; take it away");
}

void read_safeguards(Section& top, Scenario& scenario) {
    for (Section& section : top.tables("safeguard")) {
        if (too_many(scenario.safeguards, section, "safeguards")) return;
        Safeguard safeguard;
        safeguard.where = section.place();
        safeguard.name = read_name(section);
        const std::optional<End> at = read_end(section, "at");
        if (!section.has("at")) section.missing("at", R"("controller" or "device")");
        safeguard.at = at.value_or(End::controller);
        safeguard.delay = section.duration("delay", Zero::allowed, proto::seconds(60)).value_or(Duration{});
        // Without a demand held so long, one that falls between two exchanges vanishes without any fault.
        safeguard.minimum_hold = section.duration("minimum_hold", Zero::refused, proto::seconds(3600))
                                     .value_or(least_hold(scenario, safeguard.at));
        safeguard.kind = section.choice<GuardKind>("kind", {{"mat", GuardKind::mat},
                                                            {"curtain", GuardKind::curtain},
                                                            {"field", GuardKind::field},
                                                            {"interlocked-guard", GuardKind::interlocked_guard},
                                                            {"emergency-stop", GuardKind::emergency_stop},
                                                            {"two-hand", GuardKind::two_hand},
                                                            {"enabling", GuardKind::enabling}});
        safeguard.channels = static_cast<unsigned>(section.integer("channels", 1, 2).value_or(1));
        safeguard.discrepancy = section.duration("discrepancy", Zero::refused, proto::seconds(60)).value_or(Duration{});
        const bool no_discrepancy = safeguard.kind == GuardKind::two_hand || safeguard.kind == GuardKind::enabling;
        if (safeguard.channels == 2 && !no_discrepancy && !section.has("discrepancy") && !section.wrong("kind"))
            section.missing("discrepancy", "\"30 ms\"");
        if (safeguard.channels == 1 && section.has("discrepancy") && !section.wrong("channels")) {
            section.say("discrepancy", "means nothing with one channel; write channels = 2, or take it away");
        }
        safeguard.latched = section.flag("latched").value_or(false);
        read_no_function(section, safeguard);
        section.finish();
        is_new_name(scenario.safeguards, safeguard.name, section);
        scenario.safeguards.push_back(std::move(safeguard));
    }
}

/// Its keys, as far as they can be read alone.
MachineReaction read_reaction(Section& row) {
    MachineReaction reaction;
    reaction.where = row.place();
    reaction.signal = row.text("signal").value_or("");
    if (!row.has("signal")) row.missing("signal", "\"enable\"");
    const auto stop = row.choice<StopCategory>("stop", {{"category-0", StopCategory::category_0},
                                                        {"category-1", StopCategory::category_1},
                                                        {"category-2", StopCategory::category_2},
                                                        {"reduced-speed", StopCategory::reduced_speed}});
    if (!row.has("stop")) row.missing("stop", "\"category-1\"");
    reaction.stop = stop.value_or(StopCategory::category_0);
    row.finish();
    return reaction;
}

/// A signal that the machine's end receives.
void check_signal(Section& row, const Scenario& scenario, const Machine& machine, const MachineReaction& reaction) {
    const Signal* signal = named(scenario.signals, reaction.signal);
    if (signal == nullptr) {
        row.say("signal", in_quotes(reaction.signal) + " is no signal" +
                              nearest_to(scenario.signals, reaction.signal, "write a [[signal]] first"));
    } else if (!signal->known_at(machine.at)) {
        row.say("signal", in_quotes(reaction.signal) + " is not received at the " +
                              (machine.at == End::device ? "device" : "controller") +
                              ", where the machine is; write a signal that goes there");
    } else if (!signal->inverse_of.empty()) {
        row.say("signal", in_quotes(reaction.signal) + second_bit_alone(*signal));
    }
}

/// What the stop needs to know of the drive.
void check_stop(Section& row, const Machine& machine, StopCategory stop) {
    const bool ramp = stop != StopCategory::category_0;
    if (row.in_doubt({"machine.ramp", "machine.braking", "machine.reduced_speed"})) return;
    if (ramp ? machine.ramp_um_s2 == 0 : machine.braking_um_s2 == 0) {
        row.say("stop", std::string("needs ") + (ramp ? "ramp" : "braking") + " in [machine]; write " +
                            (ramp ? "ramp" : "braking") + " = \"1500 mm/s2\"");
    }
    if (stop == StopCategory::reduced_speed && machine.reduced_speed_um_s == 0) {
        row.say("stop", "needs reduced_speed in [machine]; write reduced_speed = \"120 mm/s\"");
    }
}

void read_reactions(Section& section, const Scenario& scenario, Machine& machine) {
    std::vector<Section> rows = section.tables("reaction");
    for (Section& row : rows) {
        MachineReaction reaction = read_reaction(row);
        if (row.wrong()) continue;
        if (!row.in_doubt({"signal.name", "signal.direction", "signal.inverse_of", "machine.at"}))
            check_signal(row, scenario, machine, reaction);
        check_stop(row, machine, reaction.stop);
        machine.reactions.push_back(std::move(reaction));
    }
    if (rows.empty() && !section.in_doubt({"machine.reaction"})) {
        section.problems().say(section.place(), "reacts to nothing; write a [[machine.reaction]] with signal and stop");
    }
}

void read_brake(Section& section, Machine& machine) {
    std::optional<Section> table = section.table("brake");
    if (!table) return;
    Brake brake;
    brake.delay = table->duration("delay", Zero::refused, proto::seconds(10)).value_or(Duration{});
    if (!table->has("delay")) table->missing("delay", "\"60 ms\"");
    brake.drops = table->flag("drops").value_or(false);
    table->finish();
    if (!section.has("braking")) {
        section.say("brake", "needs braking, the deceleration once it has gripped; write braking = \"1500 mm/s2\"");
    }
    machine.brake = brake;
}

void read_speed_monitor(Section& section, Machine& machine) {
    std::optional<Section> table = section.table("reduced_speed_monitored");
    if (!table) return;
    SpeedMonitor monitor;
    monitor.over_um_s = table->quantity("over", Zero::allowed, speed_units(), "10 mm/s").value_or(0);
    if (!table->has("over")) table->missing("over", "\"10 mm/s\"");
    monitor.lasting = table->duration("for", Zero::allowed, proto::seconds(60)).value_or(Duration{});
    if (!table->has("for")) table->missing("for", "\"20 ms\"");
    const auto then = table->choice<StopCategory>("then", {{"category-0", StopCategory::category_0},
                                                           {"category-1", StopCategory::category_1},
                                                           {"category-2", StopCategory::category_2}});
    if (!table->has("then")) table->missing("then", "\"category-1\"");
    monitor.then = then.value_or(StopCategory::category_0);
    table->finish();
    if (table->wrong() || section.in_doubt({"machine.ramp", "machine.braking", "machine.reduced_speed"})) return;
    if (machine.reduced_speed_um_s == 0)
        return section.say("reduced_speed_monitored", "there is no reduced_speed to monitor; write one");
    const bool ramp = monitor.then != StopCategory::category_0;
    if ((ramp ? machine.ramp_um_s2 : machine.braking_um_s2) == 0)
        table->say("then", std::string("needs ") + (ramp ? "ramp" : "braking") + " in [machine]; write " +
                               (ramp ? "ramp" : "braking") + " = \"1500 mm/s2\"");
    machine.reduced_speed_monitor = monitor;
}

void read_machine(Section& top, Scenario& scenario) {
    std::optional<Section> section = top.table("machine");
    if (!section) return;
    Machine machine;
    machine.name = section->text("name").value_or(machine.name);
    machine.at = read_end(*section, "at").value_or(End::device);
    machine.output_watchdog = section->duration("output_watchdog", Zero::refused, proto::seconds(60));
    if (machine.output_watchdog && !section->in_doubt({"link", "machine.at"}) &&
        *machine.output_watchdog <= scenario.end(machine.at).link.scan) {
        section->say("output_watchdog",
                     "is not longer than a scan of its end, so it would switch off at once; write more than \"" +
                         written(scenario.end(machine.at).link.scan) + "\"");
    }
    machine.reaction_delay =
        section->duration("reaction_delay", Zero::allowed, proto::seconds(60)).value_or(Duration{});
    const auto speed = section->quantity("speed", Zero::refused, speed_units(), "120 mm/s");
    if (!section->has("speed")) section->missing("speed", "\"120 mm/s\"");
    machine.speed_um_s = speed.value_or(1);
    machine.reduced_speed_um_s =
        section->quantity("reduced_speed", Zero::refused, speed_units(), "25 mm/s").value_or(0);
    machine.braking_um_s2 = section->quantity("braking", Zero::refused, acceleration_units(), "1500 mm/s2").value_or(0);
    machine.ramp_um_s2 = section->quantity("ramp", Zero::refused, acceleration_units(), "1500 mm/s2").value_or(0);
    machine.reduced_speed_from = section->text("reduced_speed_from").value_or("");
    machine.travel_um = section->quantity("travel", Zero::refused, length_units(), "400 mm").value_or(0);
    machine.travel_angle_mdeg = section->quantity("travel_angle", Zero::refused, angle_units(), "60 deg").value_or(0);
    if (machine.travel_angle_mdeg > full_turn_mdeg) {
        section->say("travel_angle", "is more than a turn; write \"360 deg\" or less");
    }
    if (section->has("travel_angle") && !section->has("travel")) {
        section->say("travel_angle",
                     "needs the way of the point whose speed counts over that angle; write travel = \"400 mm\"");
    }
    // Its own keys first: what is built on them asks whether they are in doubt.
    for (const char* key : {"brake", "reduced_speed_monitored", "reaction"}) static_cast<void>(section->has(key));
    section->finish();
    read_brake(*section, machine);
    read_speed_monitor(*section, machine);
    if (speed && machine.reduced_speed_um_s >= machine.speed_um_s && machine.reduced_speed_um_s != 0) {
        section->say("reduced_speed", "is not below the full speed; write a smaller one");
    }
    read_reactions(*section, scenario, machine);
    scenario.machine = std::move(machine);
}

void read_required(Section& top, Scenario& scenario) {
    std::optional<Section> section = top.table("required");
    if (!section) return;
    scenario.required.to_device = section->duration("to_device", Zero::refused, proto::seconds(3600));
    scenario.required.to_controller = section->duration("to_controller", Zero::refused, proto::seconds(3600));
    scenario.required.overall = section->duration("overall", Zero::refused, proto::seconds(3600));
    section->finish();
}

void check_within_run(const Scenario& scenario, Duration at, Section& section, std::string_view key) {
    if (at < scenario.duration || section.in_doubt({"duration"})) return;
    section.say(key, written(at) + " is after the end of the run; write less than \"" + written(scenario.duration) +
                         "\", or lengthen duration");
}

void read_demands(Section& top, Scenario& scenario) {
    for (Section& section : top.tables("demand")) {
        Demand demand;
        demand.where = section.place();
        demand.safeguard = section.text("safeguard").value_or("");
        const std::optional<Duration> at = section.duration("at", Zero::allowed, run_longest);
        demand.at = at.value_or(Duration{});
        const std::optional<Duration> lasting = section.duration("lasting", Zero::refused, run_longest);
        const auto channel =
            section.choice<DemandChannel>("channel", {{"a", DemandChannel::a}, {"b", DemandChannel::b}});
        demand.channel = channel.value_or(DemandChannel::both);
        for (const char* key : {"safeguard", "at"}) {
            if (!section.has(key))
                section.missing(key, std::string_view(key) == "at" ? "\"2 s\"" : "\"front_curtain\"");
        }
        section.finish();
        if (section.wrong()) continue;
        const Safeguard* safeguard = named(scenario.safeguards, demand.safeguard);
        if (safeguard == nullptr) {
            if (section.in_doubt({"safeguard.name"})) continue;
            section.say("safeguard",
                        in_quotes(demand.safeguard) + " is no safeguard" +
                            nearest_to(scenario.safeguards, demand.safeguard, "write a [[safeguard]] first"));
            continue;
        }
        demand.lasting = lasting.value_or(safeguard->minimum_hold);
        if (channel && safeguard->channels == 1 && !section.in_doubt({"safeguard.channels"})) {
            section.say("channel", in_quotes(demand.safeguard) +
                                       " has one channel only; write channels = 2 there, or " + "take it away");
        }
        check_within_run(scenario, demand.at, section, "at");
        scenario.demands.push_back(std::move(demand));
    }
}

bool is_of_reset(OperatorAct::Act act) { return act == OperatorAct::Act::reset || act == OperatorAct::Act::hold_reset; }

/// That there is something to reset.
void check_reset(Section& section, const Scenario& scenario, const OperatorAct& act) {
    if (!is_of_reset(act.act)) {
        if (section.has("safeguard"))
            section.say("safeguard", R"(means something with does = "reset" or "hold-reset" only; take it away)");
        return;
    }
    // in a cell another link's machine may ask for the reset
    if (section.node().elsewhere || section.in_doubt({"safeguard", "signal", "function", "machine"})) return;
    const Safeguard* safeguard = named(scenario.safeguards, act.safeguard);
    if (safeguard == nullptr) {
        section.say("safeguard", in_quotes(act.safeguard) + " is no safeguard" +
                                     nearest_to(scenario.safeguards, act.safeguard, "write a [[safeguard]] first"));
    } else if (!safeguard->latched && safeguard->channels == 1 && !needs_reset(scenario, act.safeguard) &&
               !feeds_a_pair(scenario.signals, act.safeguard)) {
        section.say("safeguard", in_quotes(act.safeguard) +
                                     " is not latched, so there is nothing to reset; write latched = true there");
    }
}

/// For how long the button of a reset is held.
void read_held_for(Section& section, const Scenario& scenario, OperatorAct& act) {
    act.held_for = section.duration("held_for", Zero::refused, run_longest).value_or(Duration{});
    if (!section.has("held_for") || section.wrong()) return;
    if (act.act == OperatorAct::Act::hold_reset)
        section.say("held_for",
                    "means nothing for a button that is never let go; take it away, or write does = \"reset\"");
    else if (act.act != OperatorAct::Act::reset)
        section.say("held_for", "means something with does = \"reset\" only; take it away");
    else if (act.event == OperatorAct::Event::time && act.after + act.held_for >= scenario.duration &&
             !section.in_doubt({"duration"}))
        section.say("held_for", "it would be let go at " + written(act.after + act.held_for) +
                                    ", after the end of the run; write less, lengthen duration, or write does = "
                                    "\"hold-reset\" for a button that is never let go");
}

void check_mode(Section& section, const Scenario& scenario, const OperatorAct& act) {
    if (act.act != OperatorAct::Act::select_mode) {
        if (section.has("mode")) section.say("mode", "means something with does = \"select-mode\" only; take it away");
    } else if (!section.in_doubt({"mode.name"}) && named(scenario.modes, act.mode) == nullptr) {
        section.say("mode", in_quotes(act.mode) + " is no mode" +
                                nearest_to(scenario.modes, act.mode, "write a [[mode]] first"));
    }
}

void read_operator(Section& top, Scenario& scenario) {
    using Event = OperatorAct::Event;
    using Act = OperatorAct::Act;
    for (Section& section : top.tables("operator")) {
        OperatorAct act;
        act.where = section.place();
        const auto event = section.choice<Event>("on", {{"acknowledgement-requested", Event::acknowledgement_requested},
                                                        {"link-running", Event::link_running}});
        const auto at = section.duration("at", Zero::allowed, run_longest);
        const auto after = section.duration("after", Zero::allowed, run_longest);
        const auto does = section.choice<Act>("does", {{"acknowledge", Act::acknowledge},
                                                       {"hold-acknowledge", Act::hold_acknowledge},
                                                       {"start-machine", Act::start_machine},
                                                       {"reset", Act::reset},
                                                       {"hold-reset", Act::hold_reset},
                                                       {"select-mode", Act::select_mode}});
        act.mode = section.text("mode").value_or("");
        if (does == Act::select_mode && !section.has("mode")) section.missing("mode", "\"setting\"");
        act.safeguard = section.text("safeguard").value_or("");
        if (does && is_of_reset(*does) && !section.has("safeguard")) section.missing("safeguard", "\"rope_pull\"");
        if (!section.has("does")) section.missing("does", "\"acknowledge\"");
        act.event = section.has("at") ? Event::time : event.value_or(Event::link_running);
        act.act = does.value_or(Act::acknowledge);
        act.after = act.event == Event::time ? at.value_or(Duration{}) : after.value_or(Duration{});
        read_held_for(section, scenario, act);
        section.finish();
        if (section.wrong()) continue;
        if (section.has("on") == section.has("at")) {
            section.say("on",
                        R"(exactly one of on and at is needed; write on = "acknowledgement-requested" or at = "2 s")");
        }
        if (section.has("at") && section.has("after")) {
            section.say("after", "counts from an event, and there is none with at; take it away");
        }
        if (act.event == Event::time) check_within_run(scenario, act.after, section, "at");
        if (act.act == Act::start_machine && !scenario.machine && !section.in_doubt({"machine"})) {
            section.say("does", "there is no machine to start; write a table [machine]");
        }
        check_reset(section, scenario, act);
        check_mode(section, scenario, act);
        scenario.operator_acts.push_back(std::move(act));
    }
}

}  // namespace

void read_plant(Section& top, Scenario& scenario) {
    read_safeguards(top, scenario);
    read_modes(top, scenario);
    read_signals(top, scenario);
    read_machine(top, scenario);
    read_functions(top, scenario);
    read_required(top, scenario);
    read_demands(top, scenario);
    read_operator(top, scenario);
}

}  // namespace sim
