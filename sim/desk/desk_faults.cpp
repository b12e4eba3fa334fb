// Cables, supplies and faults at a desk.
#include <algorithm>

#include "sim/desk/desk_run.hpp"
#include "sim/desk/usual_fault.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

using Kind = DeskPutIn::Kind;

DeskRefused no_link(std::string_view name) {
    return {DeskNo::no_such_name, "there is no link named \"" + std::string(name) + "\""};
}
DeskRefused so_already(std::string words) { return {DeskNo::so_already, std::move(words)}; }

bool crosses(FaultWay way) { return way == FaultWay::swap || way == FaultWay::misdeliver; }

/// It acts on so many telegrams, each way counted by itself.
bool is_counted(const Fault& fault) { return !fault.at_end && !fault.lasting; }

std::string cable_words(const DeskLinkRun& link, std::string_view what) {
    return link.name.empty() ? "cable " + std::string(what) : "cable of " + link.name + " " + std::string(what);
}

Fault cable_out() {
    Fault fault;
    fault.error = ErrorKind::loss;
    fault.way = FaultWay::drop;
    fault.to_device = fault.to_controller = true;
    fault.lasting = open_end;
    return fault;
}

Fault power_off(const Scenario& link, End end) {
    Fault fault = usual_fault(link, FaultWay::restart, FaultDirection::both, end);
    fault.lasting = open_end;
    return fault;
}

}  // namespace

DeskPutIn* DeskRun::open(DeskPutIn::Kind kind, std::size_t link, std::optional<End> end) {
    for (DeskPutIn& one : put_in_) {
        if (one.kind != kind || !one.open || (end && one.fault.at_end != end)) continue;
        const bool of_all = several_ && one.fault.at_end == End::controller;
        if (one.link == link || of_all) return &one;
    }
    return nullptr;
}

DeskRefusal DeskRun::why_not_now(const DeskPutIn& put_in) const {
    const Fault& fault = put_in.fault;
    if (!fault.at_end) return std::nullopt;
    const bool of_all = several_ && fault.at_end == End::controller;
    const Instant end = now() + fault.lasting.value_or(open_end);
    for (std::size_t i = 0; i < links_.size(); ++i) {
        if (!of_all && i != put_in.link) continue;
        const DeskLinkRun& link = *links_[i];
        const std::string& name = link.scenario.end(*fault.at_end).name;
        const bool stops = fault.way == FaultWay::restart || fault.way == FaultWay::stall;
        const auto refused = [&](DeskNo kind, std::string words, Instant until) {
            const bool known = until < Instant{} + open_end;
            return DeskRefused{
                kind, std::move(words), name, link.name, known ? std::optional(until) : std::nullopt, *fault.at_end};
        };
        const auto at_end = static_cast<std::size_t>(*fault.at_end);
        if (stops && dark(i, *fault.at_end))
            return refused(DeskNo::end_without_power, name + " has no power", link.dark_until[at_end]);
        if (stops && now() < link.still_until[at_end])
            return refused(DeskNo::end_stands_still, name + " stands still", link.still_until[at_end]);
        for (const Fault& other : link.scenario.faults) {
            if (other.at_end != fault.at_end || other.way != fault.way || !other.at) continue;
            const Instant from = Instant{} + *other.at;
            // a file may not have two such faults of one end at once
            if (const Instant over = from + other.lasting.value_or(open_end); from < end && now() < over)
                return refused(DeskNo::same_fault_there,
                               "another " + std::string(name_of(fault.way)) + " of " + name + " has not ended", over);
        }
    }
    return std::nullopt;
}

void DeskRun::enter(DeskPutIn& put_in, Instant at) {
    Fault& fault = put_in.fault;
    fault.at = at - Instant{};
    fault.on_telegram.reset();
    if (fault.at_end && fault.lasting && !put_in.open)
        while (meets_something(at + *fault.lasting)) fault.lasting = *fault.lasting + step;
    put_in.begins = at;
    const bool of_all = several_ && fault.at_end == End::controller;
    for (std::size_t i = 0; i < links_.size(); ++i) {
        if (!of_all && i != put_in.link) continue;
        DeskLinkRun& link = *links_[i];
        link.scenario.faults.push_back(fault);
        put_in.places.emplace_back(i, link.scenario.faults.size() - 1);
        link.cell.put_in(link.scenario.faults.size() - 1);
    }
}

void DeskRun::fault_at_next_demand(Instant at) {
    for (DeskPutIn& one : put_in_) {
        if (one.begins || one.out) continue;
        one.begins = at;
        if (at > now()) continue;  // it has its time now
        if (!never_begins(one)) enter(one, at);
    }
}

/// As if the fault had said from its begin what came of it.
void DeskRun::take_out(DeskPutIn& put_in) {
    put_in.out = true;
    if (put_in.places.empty()) return;
    const Duration so_far = now() - *put_in.begins;
    if (!is_counted(put_in.fault)) {
        const bool over = put_in.fault.lasting && *put_in.fault.lasting <= so_far;
        // a start goes on
        if (over || put_in.fault.way == FaultWay::restart) return;
        for (const auto& place : put_in.places) {
            static_cast<void>(links_[place.first]->cell.take_out_faults(place.second));
            links_[place.first]->scenario.faults[place.second].lasting = so_far;
        }
        put_in.fault.lasting = so_far;
        if (put_in.fault.way == FaultWay::stall)
            for (const auto& place : put_in.places)
                links_[place.first]->still_until[static_cast<std::size_t>(*put_in.fault.at_end)] = now();
        return;
    }
    const auto [link, index] = put_in.places.front();
    std::vector<Fault>& faults = links_[link]->scenario.faults;
    const auto counted = links_[link]->cell.take_out_faults(index);
    const std::uint64_t seen = counted[put_in.fault.to_device ? 0 : 1];
    if (seen >= put_in.fault.times.value_or(1)) return;
    if (seen != 0) {
        put_in.fault.times = seen;
    } else if (index + 1 == faults.size()) {
        // what has done nothing leaves nothing
        faults.pop_back();
        put_in.places.clear();
        return;
    } else {
        // later ones draw by their place, so it keeps its own: nothing is offered at the instant of its begin
        put_in.fault.times.reset();
        put_in.fault.lasting = Duration{1};
    }
    faults[index].times = put_in.fault.times;
    faults[index].lasting = put_in.fault.lasting;
}

void DeskRun::cable_in(DeskPutIn& cable) {
    const auto [link, index] = cable.places.front();
    static_cast<void>(links_[link]->cell.take_out_faults(index));
    cable.fault.lasting = now() - *cable.begins;
    links_[link]->scenario.faults[index].lasting = cable.fault.lasting;
    cable.open = false;
}

void DeskRun::power_on(DeskPutIn& power) {
    for (const auto& place : power.places) {
        DeskLinkRun& link = *links_[place.first];
        const auto end = static_cast<std::size_t>(*power.fault.at_end);
        // it has told so already, when its power went
        link.ear.be_deaf(true);
        link.cell.acts().switch_on(place.second);
        link.ear.be_deaf(false);
        link.scenario.faults[place.second].lasting = now() - *power.begins;
        link.dark_until[end] = link.still_until[end] = now();
        happened({0, now(), DeskEvent::Mark::other, link.name,
                  link.scenario.end(*power.fault.at_end).name + ": its power is back, it starts"});
    }
    power.fault.lasting = now() - *power.begins;
    power.open = false;
}

DeskRefusal DeskBench::cable(std::string_view name, bool plugged_in) {
    const std::optional<std::size_t> link = run_->link_called(name);
    if (!link) return no_link(name);
    if (const DeskRefusal why = run_->why_no_more()) return why;
    DeskPutIn* const out = run_->open(Kind::cable, *link);
    if (plugged_in == (out == nullptr))
        return so_already("the cable is " + std::string(plugged_in ? "in" : "out") + " already");
    const Instant at = run_->instant_of_act({Duration{}});
    if (plugged_in) {
        run_->cable_in(*out);
    } else {
        run_->put_in_.push_back({Kind::cable, *link, cable_out(), std::nullopt, {}, true});
        run_->enter(run_->put_in_.back(), at);
    }
    run_->pass(at);
    return run_->did(at, cable_words(*run_->links_[*link], plugged_in ? "plugged in" : "pulled"));
}

DeskRefusal DeskBench::power(std::string_view name, End end, bool on) {
    const std::optional<std::size_t> link = run_->link_called(name);
    if (!link) return no_link(name);
    if (const DeskRefusal why = run_->why_no_more()) return why;
    const Scenario& scenario = run_->links_[*link]->scenario;
    const std::string& station = scenario.end(end).name;
    DeskPutIn* const off = run_->open(Kind::power, *link, end);
    if (on == (off == nullptr))
        return so_already("the power of " + station + " is " + (on ? "on" : "off") + " already");
    DeskPutIn next{Kind::power, *link, power_off(scenario, end), std::nullopt, {}, true};
    if (!on)
        if (DeskRefusal why = run_->why_not_now(next)) {
            why->words += ": wait until that is over";
            return why;
        }
    const Instant at = run_->instant_of_act({Duration{}});
    if (on) {
        run_->power_on(*off);
    } else {
        run_->put_in_.push_back(std::move(next));
        run_->enter(run_->put_in_.back(), at);
    }
    run_->pass(at);
    return run_->did(at, "power of " + station + (on ? " on" : " off"));
}

DeskRefusal DeskBench::put_in(std::string_view name, Fault fault, When when) {
    const std::optional<std::size_t> link = run_->link_called(name);
    if (!link) return no_link(name);
    if (const DeskRefusal why = run_->why_no_more()) return why;
    const Scenario& scenario = run_->links_[*link]->scenario;
    if (auto why = why_impossible(scenario, fault)) return DeskRefused{DeskNo::fault_impossible, std::move(*why)};
    // between two scans of such a controller a rehearsal fixes the next one before it hears of the clock
    if (run_->several_ && fault.way == FaultWay::clock_drift && fault.at_end == End::controller)
        return DeskRefused{DeskNo::drift_of_shared_clock,
                           "the clock of a controller with several links is not disturbed at a desk, since that could "
                           "not be rehearsed to the nanosecond: write a [[fault]] with way = \"clock-drift\" into the "
                           "file"};
    if (crosses(fault.way) && !fault.lasting) fault.lasting = scenario.controller.link.cycle;
    if (scenario.faults.size() + run_->put_in_.size() >= acts_max)
        return DeskRefused{DeskNo::too_many, "too many faults for one file; begin anew"};
    const std::string words = words_of(scenario, fault);
    // each way is counted by itself, and so ended by itself
    std::vector<Fault> parts{fault};
    if (is_counted(fault) && fault.to_device && fault.to_controller) {
        parts.push_back(fault);
        parts[0].to_controller = parts[1].to_device = false;
    }
    if (when.kind == When::Kind::now)
        if (const DeskRefusal why = run_->why_not_now({Kind::fault, *link, fault, std::nullopt})) return why;
    const Instant at = run_->instant_of_act({Duration{}});
    for (Fault& part : parts) {
        run_->put_in_.push_back({Kind::fault, *link, std::move(part), std::nullopt});
        DeskPutIn& one = run_->put_in_.back();
        if (when.kind == When::Kind::now) run_->enter(one, at);
        if (when.kind == When::Kind::after) one.begins = at + when.after;
    }
    run_->pass(at);
    const std::string when_words = when.kind == When::Kind::now     ? std::string()
                                   : when.kind == When::Kind::after ? ", in " + written(when.after)
                                                                    : std::string(", with the next demand");
    return run_->did(at, "fault put in: " + words + when_words);
}

DeskRefusal DeskBench::take_out_faults() {
    if (const DeskRefusal why = run_->why_no_more()) return why;
    const auto active = [](const DeskPutIn& one) { return one.kind == Kind::fault && !one.out; };
    if (std::none_of(run_->put_in_.begin(), run_->put_in_.end(), active)) return so_already("no fault is in");
    const Instant at = run_->instant_of_act({Duration{}});
    // the last one first: what has done nothing leaves nothing if nothing came after it
    for (auto one = run_->put_in_.rbegin(); one != run_->put_in_.rend(); ++one)
        if (active(*one)) run_->take_out(*one);
    run_->pass(at);
    return run_->did(at, "faults taken out");
}

}  // namespace sim
