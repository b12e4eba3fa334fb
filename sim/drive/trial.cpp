#include "sim/drive/trial.hpp"

#include <algorithm>
#include <utility>

#include "proto/contract.hpp"
#include "sim/drive/bare_trial.hpp"
#include "sim/link/strays.hpp"

namespace sim {
namespace {

/// A link that does not run by then is not waited for.
constexpr Duration start_at_most = proto::seconds(10);

}  // namespace

TrialRunner::TrialRunner(const Scenario& scenario, std::uint64_t seed)
    : scenario_(scenario),
      seed_(seed),
      draw_(scenario),
      trial_(bare_trial(scenario)),
      limits_(limits_of(trial_)),
      stated_(trial_, true),
      cycle_(std::max(scenario.controller.link.cycle, scenario.device.link.scan)),
      starts_machine_(starts_machine(scenario)),
      acknowledges_(acknowledges(trial_)),
      run_(trial_, seed, Faults::none, limits_.limits) {
    // one earlier start for all trials; which of its telegrams stray is drawn in each
    run_.cell.know_earlier_start(earlier_start(scenario, seed));
}

TrialRecord TrialRunner::run(std::uint64_t trial) {
    const TrialPlan plan = draw_.draw(seed_, trial, trial_);
    trial_.seed = Random(seed_, Concern::trial, trial).at(~std::uint64_t{0});
    trial_.faults.front().at = plan.lead;
    renew_fault_limits(trial_, limits_);
    allow_for_riding_through(plan);
    std::vector<Demand> demands;
    std::swap(demands, trial_.demands);  // made once it is known when
    run_.begin_again(trial_.seed, Faults::later, limits_.limits);
    std::swap(demands, trial_.demands);

    if (plan.phase == TrialPhase::starting || reach_running(plan)) {
        place(plan);
        run_to_the_end(plan);
    }
    run_.cell.run_until(run_.cell.now());  // what it comes to is counted with nothing left lying
    seen_.injections.clear();
    seen_.demands.clear();
    seen_.safeguards.clear();
    seen_.function_rows.clear();
    run_.finish(seen_, run_.cell.now());
    judge_functions();
    return record_of(trial, plan);
}

void TrialRunner::judge_functions() {
    if (seen_.demands.empty()) return;
    constexpr Duration long_after = proto::seconds(7200);
    const Instant end = run_.cell.now();
    seen_.demands = run_.observer.demands_until(end + long_after);
    const Duration whole = std::exchange(trial_.duration, Duration{end.ns});  // what was not seen by then is not shown
    judge_demands(trial_, limits_, stated_, seen_);
    trial_.duration = whole;
}

void TrialRunner::allow_for_riding_through(const TrialPlan& plan) {
    std::optional<Duration>& allowed = limits_.limits.allowed.front();
    if (allowed) allowed = *allowed + ridden_through(trial_.faults.front(), plan.acts_for);
}

bool TrialRunner::reach_running(const TrialPlan& plan) {
    while (!run_.cell.link().running() && run_.cell.now() < Instant{} + start_at_most)
        run_.cell.run_on_by(cycle_, Instant{} + start_at_most);
    if (!run_.cell.link().running()) return false;
    const Instant give_up = run_.cell.now() + limits_.reaction * 2 + cycle_ * trial_start_cycles;
    while (starts_machine_ && !run_.cell.try_to_start_machine() && run_.cell.now() < give_up)
        run_.cell.run_on_until(run_.cell.now() + cycle_);
    while (run_.observer.exchanges() < plan.exchanges && run_.cell.now() < Instant{} + start_at_most)
        run_.cell.run_on_until(run_.cell.now() + cycle_);
    return true;
}

/// From here on the times of fault and demand are known.
void TrialRunner::place(const TrialPlan& plan) {
    const Duration begin = Duration{run_.cell.now().ns} + plan.lead;
    trial_.faults.front().at = begin;
    if (plan.demand) {
        const Duration contact = std::max(Duration{run_.cell.now().ns}, begin + plan.contact);
        trial_.demands.front().at = contact - scenario_.safeguards[plan.safeguard].delay;
    }
    run_.cell.put_in_faults_and_demands();
}

void TrialRunner::run_to_the_end(const TrialPlan& plan) {
    const Fault& fault = trial_.faults.front();
    const Duration stopping = limits_.stopping.value_or(Duration{});
    const Instant begin = Instant{} + *fault.at;
    const Instant over = begin + plan.acts_for + plan.latency;
    Instant quiet = over + limits_.limits.settle;
    if (plan.phase == TrialPhase::starting) quiet = quiet + cycle_ * 8;
    if (plan.demand) {
        const Instant contact = Instant{} + trial_.demands.front().at + scenario_.safeguards[plan.safeguard].delay;
        quiet = std::max(quiet, contact + limits_.limits.demand_required + cycle_);
    }
    // a stop at the very end, an acknowledgement after it, and what may come of that
    const Instant last = quiet + limits_.reaction + stopping * 2 + limits_.limits.settle + cycle_ * 32;
    // looked at every second cycle, but for when nothing could be seen before an end changes
    const Duration step = cycle_ * 2;
    run_.cell.run_on_until(begin + cycle_);
    while (run_.cell.now() < last) {
        const Instant now = run_.cell.now();
        const bool nothing_open = !run_.cell.plant().demand_open();
        if (!run_.observer.link_started()) {
            // the fault came in the start: however long that now takes
            run_.cell.run_on_by(step, last);
        } else if (run_.cell.link().stopped()) {
            if (!acknowledges_ && nothing_open && !run_.cell.plant().machine_moves(now)) break;
            run_.cell.run_on_by(step, acknowledges_ ? last : now);
            // it still was at the step before, the last one that nobody looked at
            quiet = std::max(quiet, run_.cell.now() - step + limits_.limits.settle);
        } else {
            if (now >= quiet && nothing_open) break;
            run_.cell.run_on_by(step, std::min(quiet, last));
        }
    }
}

TrialRecord TrialRunner::record_of(std::uint64_t trial, const TrialPlan& plan) const {
    const InjectionResult& seen = seen_.injections.front();
    TrialRecord record;
    record.trial = trial;
    record.fault = static_cast<std::uint32_t>(plan.fault);
    record.way = trial_.faults.front().way;
    record.phase = plan.phase;
    record.demand = plan.demand;
    // whatever is dangerous in a trial is: there is no other fault to put it down to
    record.outcome = seen_.dangerous.empty() ? seen.outcome : Outcome::dangerous;
    record.in_time = seen.within_limit;
    record.started = seen_.link_started;
    record.detected_by = seen.detected_by;
    record.detected_end = seen.detected_end;
    record.detect = seen.detect;
    const End output = scenario_.machine ? scenario_.machine->at : End::device;
    record.safe_state = output == End::device ? seen.safe_state_device : seen.safe_state_controller;
    record.standstill = seen.standstill;
    record.allowed = seen.allowed;
    record.exchanges = static_cast<std::uint32_t>(seen_.exchanges);
    record.cycles = static_cast<std::uint32_t>(run_.cell.cycles());
    record.spurious = static_cast<std::uint32_t>(seen_.spurious_trips);
    record.digest = seen_.digest;
    for (const FunctionRow& row : seen_.function_rows) {
        std::uint64_t& which = row.met == Met::yes  ? record.functions_met
                               : row.met == Met::no ? record.functions_not_met
                                                    : record.functions_not_shown;
        which |= std::uint64_t{1} << row.function;
        if (!row.took) continue;
        const DemandResult& demand = seen_.demands[row.result];
        const Duration sensor = scenario_.safeguards[plan.safeguard].delay;
        if (demand.reduced) record.demand_reduced = *demand.reduced + sensor;
        if (demand.standstill) record.demand_stands = *demand.standstill + sensor;
    }
    return record;
}

std::string TrialRunner::why() const { return seen_.dangerous.empty() ? std::string() : seen_.dangerous.front().why; }

}  // namespace sim
