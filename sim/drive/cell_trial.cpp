#include "sim/drive/cell_trial.hpp"

#include <algorithm>
#include <utility>

#include "proto/contract.hpp"
#include "sim/cell/joined_links_body.hpp"
#include "sim/drive/bare_trial.hpp"
#include "sim/drive/cell_gathered.hpp"
#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/cell_trial_link.hpp"
#include "sim/drive/cell_verdict.hpp"
#include "sim/link/strays.hpp"
#include "sim/timing/cell_ways.hpp"

namespace sim {

template class Cell<TrialHeard>;
template class JoinedLinks<TrialHeard>;

namespace {

/// A cell of which a link does not run by then is not waited for.
constexpr Duration start_at_most = proto::seconds(10);
/// A stop under way at the end of a trial is followed to its end.
constexpr Duration long_after = proto::seconds(7200);

Duration cycle_of(const Scenario& scenario) {
    return std::max(scenario.controller.link.cycle, scenario.device.link.scan);
}

/// A demand may be under way in every other link when the fault strikes.
OneOfSeveral one_of(const WholeCell& cell) {
    OneOfSeveral one;
    for (const CellLink& link : cell.links) one.demand_before = one.demand_before + cycle_of(link.alone) * 3;
    return one;
}

}  // namespace

CellTrialRunner::Link::Link(const WholeCell& trial, const WholeCell& cell, std::size_t place, std::uint64_t seed)
    : as_read(in_cell(cell, place)),
      draw(as_read, one_of(cell)),
      scenario(in_cell(trial, place)),
      limits(limits_in_cell(trial, place)),
      stated(scenario, true),
      starts(starts_machine(as_read)),
      acknowledges(sim::acknowledges(scenario)),
      observer(scenario, limits.limits),
      far(scenario),
      run(scenario, seed, Faults::none, {{observer, far}}) {
    run.know_earlier_start(earlier_start(as_read, seed));
    for (const Safeguard& guard : scenario.safeguards) {
        const bool here = is_judged_with(cell, place, guard.name);
        judged_here.push_back(here);
        bounds.push_back(here && scenario.machine ? bound_of_demand(cell, place, guard.name) : std::nullopt);
    }
    for (const SafetyFunction& function : scenario.functions) {
        const auto known = std::find_if(cell.functions.begin(), cell.functions.end(),
                                        [&](const SafetyFunction& one) { return one.name == function.name; });
        functions.push_back(known == cell.functions.end()
                                ? std::nullopt
                                : std::optional(static_cast<std::size_t>(known - cell.functions.begin())));
    }
}

CellTrialRunner::CellTrialRunner(const CellCampaign& campaign, std::uint64_t seed)
    : campaign_(campaign), seed_(seed), trial_(campaign.cell) {
    proto::require(!campaign.strikes.empty(), "a campaign without faults");
    for (CellLink& link : trial_.links) link.alone = bare_trial(link.alone);
    std::vector<Cell<TrialHeard>*> cells;
    for (std::size_t i = 0; i < trial_.links.size(); ++i) {
        links_.push_back(std::make_unique<Link>(trial_, campaign.cell, i, seed_of_link(seed, i)));
        cells.push_back(&links_.back()->run);
        cycle_ = std::max(cycle_, cycle_of(links_.back()->scenario));
        reactions_ = reactions_ + links_.back()->limits.reaction;
        stopping_ = std::max(stopping_, links_.back()->limits.stopping.value_or(Duration{}));
    }
    joined_ = std::make_unique<JoinedLinks<TrialHeard>>(trial_, std::move(cells));
    std::vector<FarStops*> fars;
    for (const auto& link : links_) fars.push_back(&link->far);
    tell_each_other(joined_->wiring(), fars);
}

CellTrialRunner::~CellTrialRunner() = default;

TrialRecord CellTrialRunner::run(std::uint64_t trial) {
    const TrialPlan plan = draw(trial);
    begin_again(plan);
    if (plan.phase == TrialPhase::starting || reach_running(plan)) {
        place(plan);
        run_to_the_end(plan);
    }
    judge(plan);
    return record_of(trial, plan);
}

TrialPlan CellTrialRunner::draw(std::uint64_t trial) {
    const Random random(seed_, Concern::trial, trial);
    fault_ = static_cast<std::size_t>(random.below(~std::uint64_t{1}, campaign_.strikes.size()));
    struck_ = &campaign_.strikes[fault_];
    trial_.seed = random.at(~std::uint64_t{0});
    const FaultOfLink first = struck_->front();
    Link& hit = *links_[first.link];
    hit.scenario.faults.resize(1);
    const TrialPlan plan = hit.draw.draw(seed_, trial, hit.scenario, first.fault);
    hit.scenario.faults.front().at = plan.lead;
    const std::vector<Demand> demands = hit.scenario.demands;
    for (std::size_t i = 0; i < links_.size(); ++i) {
        Link& link = *links_[i];
        const bool is_hit =
            std::any_of(struck_->begin(), struck_->end(), [&](const FaultOfLink& one) { return one.link == i; });
        if (!is_hit)
            link.scenario.faults.clear();
        else if (i != first.link)
            link.scenario.faults = hit.scenario.faults;
        // each link's other traffic is its own
        if (i != first.link) link.draw.draw_load(seed_of_link(trial_.seed, i + 1), trial, link.scenario);
        link.scenario.demands = demands;
        for (Demand& demand : link.scenario.demands) demand.elsewhere = !link.judged_here[plan.safeguard];
    }
    return plan;
}

void CellTrialRunner::begin_again(const TrialPlan& plan) {
    for (std::size_t i = 0; i < links_.size(); ++i) {
        Link& link = *links_[i];
        link.scenario.seed = seed_of_link(trial_.seed, i);
        renew_fault_limits(link.scenario, link.limits);
        for (std::size_t f = 0; f < link.scenario.faults.size(); ++f)
            if (std::optional<Duration>& allowed = link.limits.limits.allowed[f])
                allowed = *allowed + ridden_through(link.scenario.faults[f], plan.acts_for);
        std::vector<Demand> demands;
        std::swap(demands, link.scenario.demands);  // made once it is known when
        link.observer.begin_again(link.limits.limits);
        link.far.begin_again();
        link.run.begin_again(link.scenario.seed, Faults::later);
        std::swap(demands, link.scenario.demands);
    }
    joined_->begin_again();
}

bool CellTrialRunner::all_machines_started() {
    bool all = true;
    for (const auto& link : links_) {
        const MachineModel* const machine = link->run.plant().machine();
        if (link->starts && machine != nullptr && !machine->started()) all = link->run.try_to_start_machine() && all;
    }
    return all;
}

bool CellTrialRunner::reach_running(const TrialPlan& plan) {
    const Instant give_up_start = Instant{} + start_at_most;
    while (!joined_->running() && joined_->now() < give_up_start) joined_->run_until(joined_->now() + cycle_);
    if (!joined_->running()) return false;
    const Instant give_up = joined_->now() + reactions_ * 2 + cycle_ * trial_start_cycles;
    while (!all_machines_started() && joined_->now() < give_up) joined_->run_until(joined_->now() + cycle_);
    const Observer& observer = links_[struck_->front().link]->observer;
    while (observer.exchanges() < plan.exchanges && joined_->now() < give_up_start)
        joined_->run_until(joined_->now() + cycle_);
    return true;
}

void CellTrialRunner::place(const TrialPlan& plan) {
    const Duration now{joined_->now().ns};
    for (const auto& link : links_) {
        for (Fault& fault : link->scenario.faults) fault.at = now + plan.lead;
        for (Demand& demand : link->scenario.demands)
            demand.at = std::max(now, now + plan.lead + plan.contact) - link->scenario.safeguards[plan.safeguard].delay;
        link->run.put_in_faults_and_demands();
    }
}

Instant CellTrialRunner::quiet_from(const TrialPlan& plan, Instant over) const {
    Duration settle{};
    for (const auto& link : links_) settle = std::max(settle, link->limits.limits.settle);
    // what it does crosses the other links too, and a machine behind them stops as late as it may
    Instant quiet = over + settle + reactions_ + stopping_;
    if (plan.phase == TrialPhase::starting) quiet = quiet + cycle_ * 8;
    if (!plan.demand) return quiet;
    for (const auto& link : links_) {
        const Limits& limits = link->limits.limits;
        const Demand& demand = link->scenario.demands.front();
        const Instant contact = Instant{} + demand.at + link->scenario.safeguards[plan.safeguard].delay;
        quiet = std::max(quiet, contact + limits.demand_required + limits.demand_beyond[plan.safeguard] + cycle_);
    }
    return quiet;
}

bool CellTrialRunner::stopping(Instant now) const {
    return std::any_of(links_.begin(), links_.end(), [&](const auto& link) {
        const MachineModel* machine = link->run.plant().machine();
        return machine != nullptr && machine->moving(now) && machine->in_force() >= DriveCommand::stop_category_2;
    });
}

bool CellTrialRunner::at_rest(Instant now) const {
    return std::all_of(links_.begin(), links_.end(), [&](const auto& link) {
        if (!link->observer.link_started() || link->run.plant().demand_open()) return false;
        return !link->run.link().stopped() || (!link->acknowledges && !link->run.plant().machine_moves(now));
    });
}

/// Until nothing more can come of the fault and the demand, as for one link; but for at most that long.
void CellTrialRunner::run_to_the_end(const TrialPlan& plan) {
    const Scenario& hit = links_[struck_->front().link]->scenario;
    const Instant begin = Instant{} + *hit.faults.front().at;
    Instant quiet = quiet_from(plan, begin + plan.acts_for + plan.latency);
    Duration settle{};
    for (const auto& link : links_) settle = std::max(settle, link->limits.limits.settle);
    const Instant last = quiet + reactions_ + stopping_ * 2 + settle + cycle_ * 32;
    const Duration step = cycle_ * 2;
    joined_->run_until(begin + cycle_);
    while (joined_->now() < last) {
        const Instant now = joined_->now();
        const bool stopped = std::any_of(links_.begin(), links_.end(), [](const auto& link) {
            return link->run.link().stopped() && link->acknowledges;
        });
        if (stopped) quiet = std::max(quiet, now + settle + reactions_);
        if (now >= quiet && at_rest(now) && !stopping(now)) break;
        joined_->run_until(std::min(now + step, last));
    }
}

void CellTrialRunner::judge_demands_of(std::size_t place, Instant end) {
    Link& link = *links_[place];
    RunResult& seen = seen_.links[place];
    if (seen.demands.empty()) return;
    seen.demands = link.observer.demands_until(end + long_after);
    const Duration whole = std::exchange(link.scenario.duration, Duration{end.ns});
    judge_demands(link.scenario, link.limits, link.stated, seen);
    link.scenario.duration = whole;
    for (const DemandResult& demand : seen.demands) {
        const std::optional<Duration>& bound =
            link.bounds[link.scenario.place_of(link.scenario.demands.front().safeguard)];
        if (bound && demand.response && *demand.response > worst_with_end_faults(link.scenario, *bound))
            bounds_held_ = false;
    }
}

void CellTrialRunner::judge(const TrialPlan& plan) {
    const Instant end = joined_->now();
    seen_ = {};
    seen_.seed = trial_.seed;
    bounds_held_ = true;
    why_.clear();
    for (std::size_t i = 0; i < links_.size(); ++i) {
        Link& link = *links_[i];
        trial_.links[i].alone.faults = link.scenario.faults;
        trial_.links[i].alone.demands = link.scenario.demands;
        seen_.links.emplace_back();
        link.run.finish(seen_.links.back(), link.observer, end);
        judge_demands_of(i, end);
        if (why_.empty() && !seen_.links.back().dangerous.empty()) why_ = seen_.links.back().dangerous.front().why;
    }
    judge_far_stops(plan);
}

void CellTrialRunner::judge_far_stops(const TrialPlan& plan) {
    struct Open {
        std::size_t row, link, stop;
    };
    const Duration whole = trial_.duration;
    const auto judged_by_now = [&](std::size_t link, std::size_t stop, FarStop& far) {
        const Instant end = joined_->now();
        far = far_stop_of(links_[link]->far.stops()[stop], joined_->wiring(), link, end + long_after);
        trial_.duration = Duration{end.ns};
        const Fault& fault = trial_.links[far.link].alone.faults[far.injection];
        return judge_far_stop(trial_, seen_, far, ridden_through(fault, plan.acts_for));
    };
    std::vector<Open> open;
    Instant until = joined_->now();
    for (std::size_t i = 0; i < links_.size(); ++i)
        for (std::size_t s = 0; s < links_[i]->far.stops().size(); ++s) {
            const std::optional<Duration> later = judged_by_now(i, s, seen_.far_stops.emplace_back());
            if (!later) continue;
            open.push_back({seen_.far_stops.size() - 1, i, s});
            until = std::max(until, Instant{} + *later);
        }
    // only these are judged anew: what ran on for all its time does not become late by stopping after it
    if (!open.empty()) joined_->run_until(until);
    for (const Open& one : open) static_cast<void>(judged_by_now(one.link, one.stop, seen_.far_stops[one.row]));
    for (const FarStop& far : seen_.far_stops)
        if (why_.empty() && far.ran_on) why_ = far.why;
    trial_.duration = whole;
}

}  // namespace sim
