#include "tools/desk/bench_mends.hpp"

#include <algorithm>
#include <optional>
#include <utility>

#include "sim/desk/usual_fault.hpp"
#include "sim/scenario/errors.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "tools/desk/bench_told.hpp"
#include "tools/desk/bench_words.hpp"
#include "tools/desk/typed_plant.hpp"

namespace tools {
namespace {

Mend act(std::string words, Value::Object fields) { return posting(std::move(words), "/api/bench", std::move(fields)); }
Mend start_anew(std::string words = "Start anew") { return act(std::move(words), {{"do", "begin"}}); }
Mend until_something_changes() { return act("Wait until something changes", {{"do", "until"}}); }
Mend let_go(const std::string& guard) {
    return act("Let " + guard + " go", {{"do", "guard"}, {"guard", guard}, {"on", "0"}});
}
Mend go_on_to(proto::Instant at) {
    return act("Go on to " + bench_time(at), {{"do", "to"}, {"ns", std::to_string(at.ns)}});
}
Mend acknowledge(const sim::DeskLink& link) {
    if (link.name.empty()) return act("Acknowledge", {{"do", "acknowledge"}});
    return act("Acknowledge " + link.name, {{"do", "acknowledge"}, {"link", link.name}});
}
Mend switch_on(const sim::DeskLink& link, const sim::DeskEnd& end, const char* id) {
    return act("Switch on the power of " + end.name, {{"do", "power"}, {"link", link.name}, {"end", id}, {"on", "1"}});
}

template <class List>
auto named(const List& list, const std::string& name) {
    const auto found = std::find_if(list.begin(), list.end(), [&](const auto& one) { return one.name == name; });
    return found == list.end() ? nullptr : &*found;
}

bool any_fault_in(const sim::DeskLink& link) {
    return std::any_of(link.faults.begin(), link.faults.end(), [](const sim::DeskFault& one) { return !one.over; });
}

/// What keeps a guard at 0, undone.
std::optional<Mend> free_guard(const sim::DeskGuard& guard, const AtBench& at) {
    if (guard.held) return let_go(guard.name);
    if (guard.held_until) return go_on_to(*guard.held_until);
    if (guard.reset_needed) return act("Reset " + guard.name, {{"do", "reset"}, {"guard", guard.name}});
    if (!guard.contact_free && at.as_written) return start_anew("Start anew by hand");
    return std::nullopt;
}

/// Faults that somebody put in are taken out all at once; those of the file only by a bench without them.
Mend without_faults(const AtBench& at) {
    return at.as_written ? start_anew("Start anew by hand") : act("Take the faults out", {{"do", "take-out"}});
}

/// What keeps a link from running, in the order in which it is mended.
std::vector<Mend> run_link(const sim::DeskLink& link, const AtBench& at) {
    std::vector<Mend> mends;
    if (link.controller.switched_off) mends.push_back(switch_on(link, link.controller, "controller"));
    if (link.device.switched_off) mends.push_back(switch_on(link, link.device, "device"));
    if (link.cable_out)
        mends.push_back(act(link.name.empty() ? "Put the cable in" : "Put the cable of " + link.name + " in",
                            {{"do", "cable"}, {"link", link.name}, {"on", "1"}}));
    if (any_fault_in(link)) mends.push_back(without_faults(at));
    if (!mends.empty()) return mends;
    if (link.controller.asks_for_acknowledgement) return {acknowledge(link)};
    if (const auto number = at.typed.link_called(link.name); number && !at.typed.starts(*number))
        return {at_page("See what differs", "differs", link.name), start_anew("Start anew with what is typed now")};
    return {until_something_changes()};
}

/// The signals of the machine that are 0, and what made them so.
std::vector<Mend> free_machine(const std::string& machine, const AtBench& at) {
    std::vector<Mend> mends;
    const auto add = [&](Mend mend) {
        const bool there =
            std::any_of(mends.begin(), mends.end(), [&](const Mend& one) { return one.words == mend.words; });
        if (!there) mends.push_back(std::move(mend));
    };
    for (const sim::DeskSignal& signal : at.shown.signals) {
        if (signal.machine != machine || signal.used.value) continue;
        for (const sim::DeskGuard* const guard : guards_behind(at.shown, at.typed, signal.name))
            if (auto mend = free_guard(*guard, at)) add(std::move(*mend));
    }
    // the way over other links of the cell
    for (const sim::DeskLink& link : at.shown.links) {
        const bool runs = link.controller.state == proto::State::running && link.device.state == proto::State::running;
        if (!runs)
            for (Mend& mend : run_link(link, at)) add(std::move(mend));
        else if (mends.empty() && any_fault_in(link))
            add(without_faults(at));
    }
    if (mends.empty()) add(until_something_changes());
    return mends;
}

/// For how long an end is busy is known, or it is somebody's to end.
std::vector<Mend> free_end(const sim::DeskRefused& refused, const AtBench& at) {
    std::vector<Mend> mends;
    const sim::DeskLink* const link = named(at.shown.links, refused.link);
    const bool controller = refused.end == sim::End::controller;
    if (link != nullptr) {
        const sim::DeskEnd& end = controller ? link->controller : link->device;
        if (refused.kind == sim::DeskNo::end_without_power && end.switched_off)
            mends.push_back(switch_on(*link, end, controller ? "controller" : "device"));
    }
    if (refused.until && *refused.until - at.shown.at <= proto::seconds(60)) mends.push_back(go_on_to(*refused.until));
    if (mends.empty()) mends.push_back(without_faults(at));
    return mends;
}

std::vector<Mend> reset_others(const sim::DeskRefused& refused, const AtBench& at) {
    std::vector<Mend> mends;
    for (const sim::DeskGuard& guard : at.shown.guards)
        if (guard.name != refused.about && !guard.contact_free)
            if (auto mend = free_guard(guard, at)) mends.push_back(std::move(*mend));
    // both its channels open when somebody interrupts it
    if (mends.empty())
        mends.push_back(act("Interrupt " + refused.about, {{"do", "guard"}, {"guard", refused.about}, {"on", "1"}}));
    return mends;
}

std::vector<Mend> reset_later(const sim::DeskRefused& refused, const AtBench& at) {
    const sim::DeskGuard* const guard = named(at.shown.guards, refused.about);
    if (guard != nullptr)
        if (auto mend = free_guard(*guard, at); mend && !guard->contact_free) return {std::move(*mend)};
    return {until_something_changes()};
}

/// Where else that fault is possible: the other way or end of the link, or another link.
std::vector<Mend> fault_elsewhere(const AtBench& at) {
    std::vector<Mend> mends;
    std::optional<sim::FaultWay> way;
    for (int i = 0; i <= static_cast<int>(sim::FaultWay::misdeliver); ++i)
        if (sim::name_of(static_cast<sim::FaultWay>(i)) == field(at.asked, "way")) way = static_cast<sim::FaultWay>(i);
    if (!way) return mends;
    const bool of_end = sim::error_of(*way) == sim::ErrorKind::none;
    for (std::size_t i = 0; i < at.typed.links(); ++i) {
        const sim::Scenario& link = at.typed.link(i);
        for (const sim::End end : {sim::End::device, sim::End::controller}) {
            const bool device = end == sim::End::device;
            const sim::FaultDirection to = device ? sim::FaultDirection::to_device : sim::FaultDirection::to_controller;
            const std::string direction = of_end   ? (device ? "device" : "controller")
                                          : device ? "to-device"
                                                   : "to-controller";
            const std::string& name = at.typed.link_name(i);
            if (name == field(at.asked, "link") && direction == field(at.asked, "direction")) continue;
            // see DeskBench::put_in()
            if (*way == sim::FaultWay::clock_drift && !device && at.typed.is_cell()) continue;
            if (sim::why_impossible(link, sim::usual_fault(link, *way, to, of_end ? std::optional(end) : std::nullopt)))
                continue;
            const std::string of_link = name.empty() || name == field(at.asked, "link") ? "" : " of " + name;
            mends.push_back(again("Put it in " + std::string(of_end ? "at " : "to ") + link.end(end).name + of_link,
                                  "/api/bench", at.asked, {{"link", name}, {"direction", direction}}));
            if (mends.size() == 2) return mends;
        }
    }
    return mends;
}

std::vector<Mend> start_one(const AtBench& at) {
    std::vector<Mend> mends;
    const bool stops = field(at.asked, "do") == "stop";
    for (const sim::DeskMachine& machine : at.shown.machines)
        mends.push_back(again((stops ? "Emergency stop of " : "Start ") + machine.name, "/api/bench", at.asked,
                              {{"machine", machine.name}}));
    return mends;
}

}  // namespace

DeskAnswer refuse_at_bench(const sim::DeskRefused& refused, const AtBench& at) {
    const auto because = [&](Refused kind, std::vector<Mend> mends = {}) {
        return refuse(kind, refused.words, std::move(mends));
    };
    using No = sim::DeskNo;
    switch (refused.kind) {
        case No::no_such_name: return because(Refused::foreign_page, {load_again()});
        case No::so_already: return because(Refused::so_already);
        case No::least_hold: return because(Refused::least_hold, {go_on_to(*refused.until)});
        case No::held_by_file: return because(Refused::held_by_file, {start_anew("Start anew by hand")});
        case No::reset_too_early: return because(Refused::reset_too_early, reset_later(refused, at));
        case No::reset_waits: return because(Refused::reset_waits, reset_others(refused, at));
        case No::no_machine: return because(Refused::no_machine);
        case No::which_machine: return because(Refused::which_machine, start_one(at));
        case No::emergency_stop:
            return because(Refused::emergency_stop, {act("Release emergency stop of " + refused.about,
                                                         {{"do", "stop"}, {"machine", refused.about}, {"on", "0"}})});
        case No::link_not_running: {
            const sim::DeskLink* const link = named(at.shown.links, refused.link);
            return because(Refused::link_not_running,
                           link != nullptr ? run_link(*link, at) : std::vector<Mend>{until_something_changes()});
        }
        case No::stop_asked_for: return because(Refused::stop_asked_for, free_machine(refused.about, at));
        case No::end_without_power:
        case No::end_stands_still:
        case No::same_fault_there: return because(Refused::end_busy, free_end(refused, at));
        case No::fault_impossible:
        case No::drift_of_shared_clock: {
            std::vector<Mend> mends = fault_elsewhere(at);
            const Refused kind = mends.empty() ? Refused::fault_nowhere : Refused::fault_elsewhere;
            return because(kind, std::move(mends));
        }
        case No::too_many: return because(Refused::too_many, {start_anew()});
    }
    return because(Refused::foreign_page, {load_again()});
}

}  // namespace tools
