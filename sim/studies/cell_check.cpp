#include "sim/studies/cell_check.hpp"
#include "sim/studies/exchanged_ends.hpp"

#include <algorithm>
#include <optional>

#include "sim/plant/reached.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/cell_ways.hpp"

namespace sim {
namespace {

void add_once(std::vector<std::string>& to, const std::vector<std::string>& from) {
    for (const std::string& one : from)
        if (std::find(to.begin(), to.end(), one) == to.end()) to.push_back(one);
}

std::string in_marks(const std::string& text) { return "\"" + text + "\""; }

/// Of all machines, in the order of the functions as written.
FunctionCheck gathered(const WholeCell& cell) {
    FunctionCheck all;
    for (const CellLink& link : cell.links) {
        const FunctionCheck found = check_functions(link.alone);
        all.rows.insert(all.rows.end(), found.rows.begin(), found.rows.end());
        add_once(all.problems, found.problems);
        add_once(all.cautions, found.cautions);
        add_once(all.reckoned, found.reckoned);
    }
    const auto place = [&](const FunctionCheckRow& row) {
        return std::find_if(cell.functions.begin(), cell.functions.end(),
                            [&](const SafetyFunction& one) { return one.name == row.function; }) -
               cell.functions.begin();
    };
    std::stable_sort(all.rows.begin(), all.rows.end(),
                     [&](const FunctionCheckRow& a, const FunctionCheckRow& b) { return place(a) < place(b); });
    return all;
}

/// What that guard does to any machine, by wiring.
std::string what_it_does(const WholeCell& cell, std::size_t safeguard) {
    std::string does;
    for (const CellLink& link : cell.links)
        for (std::size_t mode = 0; mode < link.alone.mode_count(); ++mode)
            if (const std::optional<Reached> reached = reached_by(link.alone, safeguard, mode)) {
                does += (does.empty() ? "" : ", ") + std::string(name_of(reached->stop)) + " of " +
                        link.alone.machine->name;
                break;
            }
    return does;
}

void add_unstated(const WholeCell& cell, CellCheck& check) {
    const Scenario& first = cell.links.front().alone;
    for (std::size_t i = 0; i < first.safeguards.size(); ++i) {
        const Safeguard& guard = first.safeguards[i];
        if (any_names(cell.functions, guard.name)) continue;
        FunctionCheckRow row{.safeguard = guard.name, .does = what_it_does(cell, i), .why = guard.no_function};
        if (row.does.empty()) row.does = "nothing";
        if (guard.no_function.empty()) {
            if (row.does == "nothing")
                check.cautions.push_back(
                    guard.name +
                    " reaches no reaction of any machine: nothing happens when it is demanded; see "
                    "all_of of the signals and the reactions of the machines");
            if (!cell.functions.empty()) {
                row.ok = false;
                row.why = "stands in no function";
                check.problems.push_back(guard.name +
                                         " stands in no function, though others do; write it into a [[function]], or "
                                         "function = \"none\" and a reason at its [[safeguard]]");
            }
        }
        check.functions.rows.push_back(std::move(row));
    }
    const bool some_ask = std::any_of(first.safeguards.begin(), first.safeguards.end(),
                                      [](const Safeguard& guard) { return guard.no_function.empty(); });
    if (cell.functions.empty() && some_ask)
        check.cautions.emplace_back(
            "nothing states what the guards must do, so a guard that leads to a wrong reaction, or to a slow one, "
            "cannot be told; write [[function]] tables");
}

/// A chain claims no more than the lowest of its links; that of the machine's own link is told with its functions.
void add_levels(const WholeCell& cell, CellCheck& check) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const SafetyFunction& function : cell.links[i].alone.functions) {
            if (!function.level) continue;
            for (const std::string& safeguard : function.safeguards)
                for (const WayOverLink& way : way_over_links(cell, i, safeguard)) {
                    const Scenario& crossed = cell.links[way.link].alone;
                    const unsigned claimed =
                        std::min(crossed.controller.link.claimed_level, crossed.device.link.claimed_level);
                    if (way.link == i || function.level->sil() <= claimed) continue;
                    add_once(check.problems,
                             {in_marks(function.name) + " asks for " + written(*function.level) + ", and link " +
                              cell.links[way.link].name + " on its way claims SIL " + std::to_string(claimed) +
                              " only: a chain has no more than its lowest claim"});
                }
        }
}

/// No bound, no time: a function over such a link cannot be kept whatever it states.
void add_unbounded(const WholeCell& cell, CellCheck& check) {
    for (const CellLink& link : cell.links)
        for (const OutsidePart& part : link.alone.outside_parts)
            if (part.no_bound)
                add_once(check.problems, {"link " + part.link +
                                          " is a stream in which nothing measures the age of a "
                                          "value, so what crosses it has no bound; write "
                                          "one_way_delay in its [link.limit], or a profile with "
                                          "feedback or a time stamp"});
}

/// What two stations have alike makes each of them answer for the other.
void add_addresses(const WholeCell& cell, CellCheck& check) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (std::size_t j = 0; j < i; ++j) {
            const TypedEnd& a = cell.links[j].alone.device;
            const TypedEnd& b = cell.links[i].alone.device;
            if (a.link.own_address != b.link.own_address) continue;
            check.problems.push_back(a.name + " and " + b.name + " have the same address, " +
                                     in_both_bases(b.own_address()) +
                                     ": each station of a cell needs its own; see the design which one is meant");
        }
}

/// An address typed at a device that the controller has for another station: copied from there, or exchanged with it.
void mend_copied_addresses(const WholeCell& cell, CellCheck& check) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (Difference& difference : check.ends[i].differences) {
            const Scenario& alone = cell.links[i].alone;
            if (difference.setting != "address of " + alone.device.name) continue;
            for (std::size_t j = 0; j < cell.links.size(); ++j)
                if (j != i && cell.links[j].alone.controller.link.peer_address == alone.device.link.own_address) {
                    difference.mend = alone.device.name + ": " + difference.controller + "; " + difference.device +
                                      " is what the controller has for " + cell.links[j].alone.device.name;
                    difference.mend_at = MendAt::device;
                }
        }
}

/// The controller has one address for all its links: a link that has it the other way round tells which end is wrong.
void mend_exchanged_addresses(const WholeCell& cell, CellCheck& check) {
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        const Scenario& alone = cell.links[i].alone;
        if (!addresses_exchanged(alone)) continue;
        const std::uint32_t here = alone.controller.link.own_address, other = alone.controller.link.peer_address;
        std::size_t same = 0, turned = 0;
        for (std::size_t j = 0; j < cell.links.size(); ++j) {
            if (j == i) continue;
            same += cell.links[j].alone.controller.link.own_address == here ? 1U : 0U;
            turned += cell.links[j].alone.controller.link.own_address == other ? 1U : 0U;
        }
        if ((same == 0) == (turned == 0)) continue;  // nothing says which end was meant
        const TypedEnd& wrong = same != 0 ? alone.device : alone.controller;
        const TypedAddress right = same != 0 ? alone.controller.own_address() : alone.controller.peer_address();
        for (Difference& difference : check.ends[i].differences) {
            if (difference.setting != "own and other address") continue;
            mend_exchanged_at(wrong, difference);
            difference.mend += "; " + in_both_bases(right) + " is what " + alone.controller.name +
                               " has for itself on the other links";
        }
    }
}

void add_acts(const WholeCell& cell, CellCheck& check) {
    std::string never;
    const Scenario& first = cell.links.front().alone;
    for (const Safeguard& guard : first.safeguards)
        if (std::none_of(first.demands.begin(), first.demands.end(),
                         [&](const Demand& demand) { return demand.safeguard == guard.name; }))
            never += (never.empty() ? "" : ", ") + guard.name;
    if (!never.empty()) check.cautions.push_back("never demanded in this scenario: " + never);
    for (const CellLink& link : cell.links) {
        const auto& acts = link.alone.operator_acts;
        if (link.alone.machine && std::none_of(acts.begin(), acts.end(), [](const OperatorAct& act) {
                return act.act == OperatorAct::Act::start_machine;
            }))
            check.cautions.push_back(link.alone.machine->name +
                                     " is never started in this scenario: nothing about stopping is rehearsed");
    }
    for (std::size_t i = 0; i < cell.safeguards.size(); ++i) {
        const Duration typed = cell.minimum_holds[i], least = least_hold_on_way(cell, i);
        if (typed == Duration{} || typed >= least) continue;
        check.cautions.push_back("a demand of " + first.safeguards[i].name + " is held for " + written(typed) +
                                 " only; under " + written(least) +
                                 " it may fall between two exchanges on its way and vanish without any fault");
    }
    if (cell.acknowledges_all)
        check.cautions.emplace_back(
            "one act acknowledges all links: on the plant each stands where somebody sees what it sets free; write "
            "link = \"NAME\" unless one button is really meant for all");
}

}  // namespace

bool CellCheck::ok() const {
    return problems.empty() && functions.ok() &&
           std::all_of(ends.begin(), ends.end(), [](const CrossCheck& one) { return one.ok(); });
}

CellCheck check_cell(const WholeCell& cell) {
    CellCheck check;
    for (const CellLink& link : cell.links) check.ends.push_back(cross_check(link.alone));
    check.functions = gathered(cell);
    add_unstated(cell, check);
    add_levels(cell, check);
    add_unbounded(cell, check);
    add_addresses(cell, check);
    mend_copied_addresses(cell, check);
    mend_exchanged_addresses(cell, check);
    add_acts(cell, check);
    return check;
}

}  // namespace sim
