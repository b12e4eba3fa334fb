#include "sim/drive/cell_verdict.hpp"

#include <algorithm>
#include <string>
#include <string_view>

#include "sim/drive/limits.hpp"
#include "sim/drive/verdict.hpp"
#include "sim/judge/observer.hpp"
#include "sim/plant/machine.hpp"
#include "sim/plant/reached.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/bounds.hpp"
#include "sim/timing/cell_ways.hpp"
#include "sim/timing/response.hpp"

namespace sim {
namespace {

/// From something that strikes a link to the controller's substitute values for all that it brings, as limits_of()
/// reckons it for the output's end; nothing where the effects have no such limit.
std::optional<Duration> to_substitutes(const WholeCell& cell, const FarStop& stop, const RunResult& struck) {
    const Scenario& alone = cell.links[stop.link].alone;
    if (!struck.injections[stop.injection].allowed) return std::nullopt;
    Duration longest{};
    for (const Direction way : {Direction::to_device, Direction::to_controller}) {
        const std::optional<Duration> bound = bound_of(alone, way);
        if (!bound) return std::nullopt;
        longest = std::max(longest, *bound);
    }
    // the end that does not see it itself learns of it by the next parameter telegram, or by its own watchdog
    return longest + std::max(alone.controller.link.cycle, alone.device.link.scan) * 2 +
           std::max(longest_of(alone.to_device.delay), longest_of(alone.to_controller.delay));
}

/// What the links between that one and the machine's own take, without a fault; nothing where one has no bound.
std::optional<Duration> links_between(const WholeCell& cell, const FarStop& stop) {
    Duration most{};
    for (const Safeguard& guard : cell.links[stop.machine_link].alone.safeguards) {
        Duration sum{};
        bool after = false;
        for (const WayOverLink& way : way_over_links(cell, stop.machine_link, guard.name)) {
            if (after && way.link != stop.machine_link) {
                const std::optional<ResponsePart> part = part_of_link(cell.links[way.link].alone, way.hops);
                if (!part) return std::nullopt;
                sum = sum + part->delay;
            }
            after = after || way.link == stop.link;
        }
        if (after) most = std::max(most, sum);
    }
    return most;
}

/// Of the machines of one function the figures of that one are told which came nearest to its limit.
bool has_less_to_spare(const FunctionResult& share, const CellFunction& told) {
    if (!told.worst) return true;
    if (!share.worst) return false;
    if (!told.within || !share.within) return share.within.has_value() || (!told.within && *share.worst > *told.worst);
    return *share.within - *share.worst < *told.within - *told.worst;
}

void gather_functions(const WholeCell& cell, CellResult& result) {
    for (std::size_t f = 0; f < cell.functions.size(); ++f) {
        CellFunction found;
        found.function = f;
        found.met = Met::yes;
        for (std::size_t i = 0; i < cell.links.size(); ++i)
            for (const FunctionResult& share : result.links[i].functions) {
                const SafetyFunction& function = cell.links[i].alone.functions[share.function];
                if (function.name != cell.functions[f].name) continue;
                if (share.met == Met::no || (share.met == Met::not_shown && found.met == Met::yes)) {
                    found.met = share.met;
                    found.why = share.why;
                }
                if (has_less_to_spare(share, found)) {
                    found.worst = share.worst;
                    found.within = share.within;
                }
                for (const std::string& guard : share.never_demanded)
                    if (std::find(found.never_demanded.begin(), found.never_demanded.end(), guard) ==
                        found.never_demanded.end())
                        found.never_demanded.push_back(guard);
            }
        result.functions.push_back(std::move(found));
    }
}

/// No demand took longer over all its links than the settings promise.
bool bounds_hold(const WholeCell& cell, CellResult& result) {
    bool hold = true;
    for (CellDemand& row : result.demands) {
        const Scenario& alone = cell.links[row.machine_link].alone;
        const DemandResult& demand = result.links[row.machine_link].demands[row.result];
        const std::string& guard = alone.demands[demand.demand].safeguard;
        row.bound = bound_of_demand(cell, row.machine_link, guard);
        if (!row.bound || !demand.response || *demand.response <= worst_with_end_faults(alone, *row.bound)) continue;
        hold = false;
        result.remarks.push_back("A response longer than the calculated worst was seen, " + in_ms(*demand.response) +
                                 " of " + in_ms(*row.bound) + " after " + guard + ": please report this.");
    }
    return hold;
}

bool demanded(const WholeCell& cell, std::string_view safeguard) {
    const auto& demands = cell.links.front().alone.demands;
    return std::any_of(demands.begin(), demands.end(), [&](const Demand& one) { return one.safeguard == safeguard; });
}

void remark(const WholeCell& cell, CellResult& result) {
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const std::string& one : result.links[i].remarks)
            result.remarks.push_back("Link " + cell.links[i].name + ": " + one);
    std::string never;
    for (const Safeguard& guard : cell.links.front().alone.safeguards) {
        if (guard.no_function.empty() && !demanded(cell, guard.name)) never += (never.empty() ? "" : ", ") + guard.name;
        const bool in_some = any_names(cell.functions, guard.name);
        if (!cell.functions.empty() && !in_some && guard.no_function.empty())
            result.remarks.push_back("No function says what " + guard.name + " must do.");
    }
    if (!never.empty()) result.remarks.push_back("Never demanded: " + never + ".");
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        if (cell.links[i].alone.machine && !result.links[i].machine_started)
            result.remarks.push_back("The " + cell.links[i].alone.machine->name +
                                     " was never started: nothing about stopping was rehearsed.");
    if (!result.recovered) result.remarks.push_back("After the faults: " + result.why_not_recovered + ".");
}

}  // namespace

std::optional<Duration> judge_far_stop(const WholeCell& cell, const CellResult& result, FarStop& stop,
                                       Duration later_by) {
    // what that failure alone does not stop, or not in every mode, is told and not judged
    // and a stop that was under way when it struck is completed, whatever strikes
    if (!stop.moved || !stop.required || stop.stopping) return std::nullopt;
    const InjectionResult& injection = result.links[stop.link].injections[stop.injection];
    if (injection.outcome != Outcome::safe_state) return std::nullopt;
    const Scenario& of_machine = cell.links[stop.machine_link].alone;
    const Fault& fault = cell.links[stop.link].alone.faults[injection.fault];
    const std::optional<Duration> substitutes = to_substitutes(cell, stop, result.links[stop.link]);
    const End out = of_machine.machine->at;
    const Direction on[] = {Direction::to_device};
    const std::optional<ResponsePart> on_its_link =
        out == End::device ? part_of_link(of_machine, on) : std::optional(ResponsePart{});
    const std::optional<Reached> reached = reached_by_failure(of_machine);
    const std::optional<Duration> between = links_between(cell, stop);
    if (substitutes && on_its_link && reached && between) {
        const bool stalls = fault.way == FaultWay::stall && fault.at_end.has_value();
        stop.allowed = *substitutes + later_by + *between + on_its_link->delay + fault.hold +
                       (stalls ? fault.lasting.value_or(Duration{}) : Duration{}) +
                       MachineModel::stopping_time(*of_machine.machine, reached->stop);
    }
    const bool reduced_counts = reduced_speed_counts(of_machine);
    const std::optional<Duration> ended = reduced_counts && stop.reduced ? stop.reduced : stop.standstill;
    const Duration over = injection.at + stop.allowed.value_or(Duration{});
    if (!ended && over > cell.duration) return over;
    if (!ended) {
        stop.within_limit = false;
        stop.ran_on = true;
        stop.why = of_machine.machine->name + " did not stop although link " + cell.links[stop.link].name + " did";
    } else if (stop.allowed && *ended > *stop.allowed) {
        stop.within_limit = false;
        stop.why = of_machine.machine->name + " stood later than allowed";
    }
    return std::nullopt;
}

std::optional<Duration> bound_of_demand(const WholeCell& cell, std::size_t machine_link, const std::string& safeguard) {
    const Scenario& alone = cell.links[machine_link].alone;
    const ResponseTime response = response_of(alone, safeguard);
    if (!response.response || response.safeguard.empty()) return std::nullopt;
    return *response.response - alone.safeguards[alone.place_of(safeguard)].delay;
}

void conclude_cell(const WholeCell& cell, CellResult& result) {
    bool met = bounds_hold(cell, result) && result.recovered && result.twin_trips == 0, expected = true;
    bool dangerous = false;
    for (FarStop& stop : result.far_stops) {
        static_cast<void>(judge_far_stop(cell, result, stop));
        expected = expected && stop.within_limit;
    }
    for (const RunResult& link : result.links) {
        dangerous = dangerous || !link.dangerous.empty();
        met = met && link.verdict != RunVerdict::fail;
        for (const InjectionResult& injection : link.injections) expected = expected && injection.as_expected;
        result.digest = (result.digest ^ link.digest) * 0x9E3779B97F4A7C15ULL;
        result.digest ^= result.digest >> 29;
    }
    gather_functions(cell, result);
    remark(cell, result);
    result.verdict = dangerous ? RunVerdict::dangerous : met && expected ? RunVerdict::pass : RunVerdict::fail;
    result.as_expected = expected && name_of(result.verdict) == cell.expect_verdict;
}

void withdraw_verdict(CellResult& result) {
    result.verdict = RunVerdict::not_judged;
    result.as_expected = false;
    for (RunResult& link : result.links) withdraw_verdict(link);
    for (CellFunction& function : result.functions)
        if (function.met == Met::yes) function.met = Met::not_shown;
}

}  // namespace sim
