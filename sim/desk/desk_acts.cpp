// What people do to guards, buttons and machines.
#include <algorithm>

#include "proto/result.hpp"
#include "sim/cell/pressing.hpp"
#include "sim/desk/desk_run.hpp"
#include "sim/scenario/units.hpp"
#include "sim/timing/cell_ways.hpp"

namespace sim {
namespace {

DeskRefused no_such(std::string_view kind, std::string_view name) {
    return {DeskNo::no_such_name, "there is no " + std::string(kind) + " named \"" + std::string(name) + "\""};
}

DeskRefused so_already(std::string words) { return {DeskNo::so_already, std::move(words)}; }

/// As a person reads a run time: "3.214 s".
std::string clock(Instant at) { return written(Duration{at.ns}); }

std::string stopped_words(const DeskLinkRun& link, End end) {
    const proto::State state = link.cell.link().end(end).endpoint().state();
    const std::string& name = link.scenario.end(end).name;
    if (state == proto::State::start_up) return name + " has not started: its link does not run";
    if (state == proto::State::awaiting_acknowledgement) return name + " waits for an acknowledgement";
    return name + " is in the safe state";
}

bool is_stopped_by_hand(const DeskLinkRun& link) {
    const MachineModel* const model = link.cell.plant().machine();
    return model != nullptr && model->held(MachineModel::Hold::emergency_stop);
}

/// Without a name that of the only machine.
proto::Result<std::size_t, DeskRefused> link_of_machine(const DeskRun& run, std::string_view machine) {
    std::optional<std::size_t> link;
    std::size_t machines = 0;
    for (std::size_t i = 0; i < run.links_.size(); ++i) {
        const auto& here = run.links_[i]->scenario.machine;
        if (!here) continue;
        ++machines;
        if (machine.empty() || here->name == machine) link = i;
    }
    if (machines == 0) return DeskRefused{DeskNo::no_machine, "there is no machine: the file has no table [machine]"};
    if (!link) return no_such("machine", machine);
    if (machine.empty() && machines > 1)
        return DeskRefused{DeskNo::which_machine, "there are several machines: say which"};
    return *link;
}

/// Of one that has just refused to start.
DeskRefused why_not_started(const DeskLinkRun& link) {
    const std::string& name = link.scenario.machine->name;
    const auto because = [&](DeskNo kind, const std::string& words) {
        return DeskRefused{kind, name + " does not start: " + words, name, link.name};
    };
    if (is_stopped_by_hand(link)) return because(DeskNo::emergency_stop, "its emergency stop is pressed");
    const End output = link.cell.plant().output_end();
    const auto& end = link.cell.link().end(output);
    if (!end.running()) return because(DeskNo::link_not_running, stopped_words(link, output));
    std::string zero;
    for (const MachineReaction& reaction : link.scenario.machine->reactions)
        for (std::size_t i = 0; i < link.scenario.signals.size(); ++i)
            if (link.scenario.signals[i].name == reaction.signal && (end.used() >> i & 1) == 0)
                zero += (zero.empty() ? "" : ", ") + reaction.signal;
    return because(DeskNo::stop_asked_for,
                   zero.empty() ? "its output asks for a stop" : "a stop is asked for by " + zero);
}

}  // namespace

DeskRefusal DeskRun::why_no_more() const {
    if (acts_.size() >= DeskBench::acts_max)
        return DeskRefused{DeskNo::too_many, "too many acts for one file; begin anew"};
    if (now() > Instant{} + proto::seconds(std::int64_t{23} * 3600))
        return DeskRefused{DeskNo::too_many, "a run lasts 24 h at most; begin anew"};
    return std::nullopt;
}

DeskRefusal DeskRun::did(Instant at, std::string words, DeskRefusal refused) {
    happened({0, at, DeskEvent::Mark::act, "", words + (refused ? ": " + refused->words : std::string())});
    acts_.push_back({acts_.size() + 1, at, std::move(words), refused ? refused->words : std::string()});
    return refused;
}

void DeskRun::operate(const OperatorAct& act, std::optional<std::size_t> link) {
    for (std::size_t i = 0; i < links_.size(); ++i)
        if (!link || *link == i) links_[i]->cell.acts().put_in_act(act);
    operated_.push_back({act, link});
}

void DeskRun::interrupt(std::size_t guard) {
    const Safeguard& safeguard = links_.front()->scenario.safeguards[guard];
    const Instant at = instant_of_act({Duration{}, safeguard.delay});
    fault_at_next_demand(at);
    demands_.push_back({guard, links_.front()->scenario.demands.size(), at});
    for (std::size_t i = 0; i < links_.size(); ++i) {
        Demand demand;
        demand.safeguard = safeguard.name;
        demand.at = at - Instant{};
        demand.elsewhere = several_ && !is_judged_with(cell_, i, safeguard.name);
        links_[i]->scenario.demands.push_back(std::move(demand));
        links_[i]->cell.acts().begin_demand(demands_.back().demand);
    }
    pass(at);
    did(at, safeguard.name + " interrupted");
}

void DeskRun::let_go(DeskDemand& demand) {
    const Safeguard& safeguard = links_.front()->scenario.safeguards[demand.guard];
    const Instant at = instant_of_act({Duration{}, safeguard.delay});
    const auto closes = [&](DeskLinkRun& link) { return link.cell.acts().closes(demand.demand); };
    const auto last_until = [&](Duration lasting) {
        for (const auto& link : links_) link->scenario.demands[demand.demand].lasting = lasting;
    };
    last_until(at - demand.at);
    // of several links the longest hold is that of all
    Instant closed{};
    for (const auto& link : links_) closed = std::max(closed, closes(*link));
    while (meets_something(closed)) closed = closed + step;
    last_until(closed - (demand.at + safeguard.delay));
    for (const auto& link : links_) link->cell.acts().end_demand(demand.demand);
    demand.held = false;
    demand.closes = closed;
    pass(at);
    const bool longer = closed > at + safeguard.delay;
    did(at, safeguard.name + " let go" +
                (longer ? ", interrupted until " + clock(closed) + " by its least hold" : std::string()));
}

DeskRefusal DeskBench::guard(std::string_view name, bool interrupted) {
    const std::optional<std::size_t> guard = run_->guard_called(name);
    if (!guard) return no_such("guard", name);
    if (const DeskRefusal why = run_->why_no_more()) return why;
    DeskDemand* last = nullptr;
    for (DeskDemand& demand : run_->demands_)
        if (demand.guard == *guard) last = &demand;
    const bool held = last != nullptr && last->held;
    if (!interrupted && !held) return so_already(std::string(name) + " is not held by anybody at the desk");
    if (!interrupted) {
        run_->let_go(*last);
        return std::nullopt;
    }
    if (held) return so_already(std::string(name) + " is held already");
    if (last != nullptr && last->closes >= run_->now())
        return DeskRefused{DeskNo::least_hold,
                           std::string(name) + " stays interrupted until " + clock(last->closes) + " by its least hold",
                           std::string(name), "", last->closes};
    if (run_->links_[run_->reads(*guard)]->cell.plant().safeguard(*guard).demanded())
        return DeskRefused{DeskNo::held_by_file, std::string(name) + " is interrupted by a demand of the file",
                           std::string(name)};
    run_->interrupt(*guard);
    return std::nullopt;
}

DeskRefusal DeskBench::acknowledge(std::optional<std::string_view> link) {
    std::optional<std::size_t> which;
    if (link && !(which = run_->link_called(*link))) return no_such("link", *link);
    if (const DeskRefusal why = run_->why_no_more()) return why;
    const Instant at = run_->instant_of_act({Duration{}, press_lasts});
    OperatorAct act;
    act.event = OperatorAct::Event::time;
    act.act = OperatorAct::Act::acknowledge;
    act.after = at - Instant{};
    run_->operate(act, which);
    run_->pass(at);
    const bool names = run_->several_;
    return run_->did(at, !names  ? std::string("acknowledge pressed")
                         : which ? "acknowledge of " + run_->links_[*which]->name + " pressed"
                                 : std::string("acknowledge of all links pressed"));
}

DeskRefusal DeskBench::reset(std::string_view name) {
    const std::optional<std::size_t> guard = run_->guard_called(name);
    if (!guard) return no_such("guard", name);
    if (const DeskRefusal why = run_->why_no_more()) return why;
    const Scenario& first = run_->links_.front()->scenario;
    const Safeguard& safeguard = first.safeguards[*guard];
    if (!run_->several_ && !safeguard.latched && safeguard.channels == 1 && !needs_reset(first, safeguard.name) &&
        !feeds_a_pair(first.signals, safeguard.name))
        return so_already(safeguard.name + " is not latched, so there is nothing to reset");
    const Instant at = run_->instant_of_act({Duration{}});
    OperatorAct act;
    act.event = OperatorAct::Event::time;
    act.act = OperatorAct::Act::reset;
    act.after = at - Instant{};
    act.safeguard = safeguard.name;
    run_->operate(act, std::nullopt);
    run_->pass(at);
    const SafeguardModel& model = run_->links_[run_->reads(*guard)]->cell.plant().safeguard(*guard);
    DeskRefusal why;
    if (model.demanded())
        why = DeskRefused{DeskNo::reset_too_early, safeguard.name + " is still interrupted", safeguard.name};
    else if (!model.free())
        why = DeskRefused{
            DeskNo::reset_waits,
            safeguard.name + " stays 0: another guard of its reset is interrupted, or both its channels must open",
            safeguard.name};
    return run_->did(at, safeguard.name + " reset", why);
}

DeskRefusal DeskBench::start_machine(std::string_view machine) {
    const auto link = link_of_machine(*run_, machine);
    if (!link) return link.error();
    if (const DeskRefusal why = run_->why_no_more()) return why;
    const DeskLinkRun& one = *run_->links_[link.value()];
    const std::string& name = one.scenario.machine->name;
    const auto started = [&] {
        const MachineModel* const model = one.cell.plant().machine();
        return model != nullptr && model->started();
    };
    if (started()) return so_already(name + " runs already");
    const Instant at = run_->instant_of_act({Duration{}});
    OperatorAct act;
    act.event = OperatorAct::Event::time;
    act.act = OperatorAct::Act::start_machine;
    act.after = at - Instant{};
    run_->operate(act, link.value());
    run_->pass(at);
    DeskRefusal why;
    if (!started()) why = why_not_started(one);
    return run_->did(at, "start of " + name + " pressed", why);
}

DeskRefusal DeskBench::emergency_stop(std::string_view machine, bool pressed) {
    const auto link = link_of_machine(*run_, machine);
    if (!link) return link.error();
    if (const DeskRefusal why = run_->why_no_more()) return why;
    DeskLinkRun& one = *run_->links_[link.value()];
    const std::string& name = one.scenario.machine->name;
    if (is_stopped_by_hand(one) == pressed)
        return so_already("the emergency stop of " + name + " is " + (pressed ? "pressed" : "released") + " already");
    const Instant at = run_->instant_of_act({Duration{}});
    if (pressed) {
        if (!run_->first_stop_) run_->first_stop_ = at;
        if (!one.stopped_by_hand) one.stopped_by_hand = at;
    }
    one.cell.plant().hold_machine(MachineModel::Hold::emergency_stop, pressed);
    one.cell.drive_again();
    run_->pass(at);
    return run_->did(at, "emergency stop of " + name + (pressed ? " pressed" : " released: it starts nothing"));
}

DeskRefusal DeskBench::select_mode(std::string_view mode) {
    const std::vector<Mode>& modes = run_->links_.front()->scenario.modes;
    const auto found = std::find_if(modes.begin(), modes.end(), [&](const Mode& one) { return one.name == mode; });
    if (found == modes.end()) return no_such("mode", mode);
    if (const DeskRefusal why = run_->why_no_more()) return why;
    const Instant at = run_->instant_of_act({Duration{}, found->takes});
    OperatorAct act;
    act.event = OperatorAct::Event::time;
    act.act = OperatorAct::Act::select_mode;
    act.after = at - Instant{};
    act.mode = found->name;
    run_->operate(act, std::nullopt);
    run_->pass(at);
    return run_->did(at, "mode " + found->name + " selected");
}

}  // namespace sim
