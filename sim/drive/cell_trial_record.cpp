// What is kept of a trial of a whole cell.
#include <algorithm>

#include "sim/drive/cell_trial.hpp"
#include "sim/drive/cell_trial_link.hpp"
#include "sim/drive/cell_verdict.hpp"

namespace sim {
namespace {

/// Of a fault in several links what came of it where most did: stopped before ridden through, before nothing.
unsigned weight_of(Outcome outcome) {
    switch (outcome) {
        case Outcome::not_fired: return 0;
        case Outcome::never_ran: return 1;
        case Outcome::no_effect: return 2;
        case Outcome::tolerated: return 3;
        case Outcome::safe_state: return 4;
        case Outcome::dangerous: break;
    }
    return 5;
}

std::optional<Duration> later_of(const std::optional<Duration>& a, const std::optional<Duration>& b) {
    return a && b ? std::optional(std::max(*a, *b)) : std::nullopt;
}

/// It leaves less until its bound than that, or is the first that has both.
bool nearer(const std::optional<Duration>& took, const std::optional<Duration>& allowed, const TrialRecord& than) {
    if (!took || !allowed) return false;
    if (!than.standstill || !than.allowed) return true;
    return *allowed - *took < *than.allowed - *than.standstill;
}

}  // namespace

void CellTrialRunner::put_reaction(TrialRecord& record) const {
    const InjectionResult* counts = &seen_.links[struck_->front().link].injections.front();
    const InjectionResult* caught = counts;  // by the first end that did
    for (const FaultOfLink& one : *struck_) {
        const InjectionResult& injection = seen_.links[one.link].injections.front();
        record.in_time = record.in_time && injection.within_limit;
        if (weight_of(injection.outcome) > weight_of(counts->outcome)) counts = &injection;
        if (injection.detect && (!caught->detect || *injection.detect < *caught->detect)) caught = &injection;
        const bool machine = links_[one.link]->scenario.machine.has_value();
        const std::optional<Duration> safe =
            machine ? injection.safe_state_device
                    : later_of(injection.safe_state_controller, injection.safe_state_device);
        if (safe) record.safe_state = std::max(record.safe_state.value_or(Duration{}), *safe);
        if (nearer(injection.standstill, injection.allowed, record)) {
            record.standstill = injection.standstill;
            record.allowed = injection.allowed;
        }
    }
    record.outcome = counts->outcome;
    record.detected_by = caught->detected_by;
    record.detected_end = caught->detected_end;
    record.detect = caught->detect;
    for (const FarStop& far : seen_.far_stops) {
        if (!far.moved || !far.required) continue;
        record.in_time = record.in_time && far.within_limit;
        if (!nearer(far.standstill, far.allowed, record)) continue;
        record.standstill = far.standstill;
        record.allowed = far.allowed;
    }
    if (!record.allowed) record.allowed = counts->allowed;
}

void CellTrialRunner::put_functions(TrialRecord& record, const TrialPlan& plan) const {
    for (std::size_t i = 0; i < links_.size(); ++i)
        for (const FunctionRow& row : seen_.links[i].function_rows) {
            const std::optional<std::size_t>& function = links_[i]->functions[row.function];
            if (!function) continue;
            std::uint64_t& which = row.met == Met::yes  ? record.functions_met
                                   : row.met == Met::no ? record.functions_not_met
                                                        : record.functions_not_shown;
            which |= std::uint64_t{1} << *function;
            if (!row.took) continue;
            const DemandResult& demand = seen_.links[i].demands[row.result];
            const Duration sensor = links_[i]->scenario.safeguards[plan.safeguard].delay;
            const auto keep = [&](std::optional<Duration>& slowest, const std::optional<Duration>& seen) {
                if (seen) slowest = std::max(slowest.value_or(Duration{}), *seen + sensor);
            };
            keep(record.demand_reduced, demand.reduced);
            keep(record.demand_stands, demand.standstill);
        }
    // over several machines it is met only if each of them shows it
    record.functions_not_shown &= ~record.functions_not_met;
    record.functions_met &= ~(record.functions_not_met | record.functions_not_shown);
}

TrialRecord CellTrialRunner::record_of(std::uint64_t trial, const TrialPlan& plan) const {
    TrialRecord record;
    record.trial = trial;
    record.fault = static_cast<std::uint32_t>(fault_);
    record.way = links_[struck_->front().link]->scenario.faults.front().way;
    record.phase = plan.phase;
    record.demand = plan.demand;
    put_reaction(record);
    record.in_time = record.in_time && bounds_held_;
    if (!why_.empty()) record.outcome = Outcome::dangerous;
    for (std::size_t i = 0; i < links_.size(); ++i) {
        const RunResult& link = seen_.links[i];
        record.started = record.started && link.link_started;
        record.exchanges += static_cast<std::uint32_t>(link.exchanges);
        record.cycles += static_cast<std::uint32_t>(links_[i]->run.cycles());
        record.spurious += static_cast<std::uint32_t>(link.spurious_trips);
        record.digest = (record.digest ^ link.digest) * 0x9E3779B97F4A7C15ULL;
        record.digest ^= record.digest >> 29;
    }
    put_functions(record, plan);
    return record;
}

}  // namespace sim
