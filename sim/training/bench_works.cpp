#include "sim/training/bench_works.hpp"

#include <algorithm>
#include <utility>

#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

/// So many faults of the bench's own are put in beside those by hand; more than that is not done any more.
constexpr std::size_t own_faults_max = Bench::faults_by_hand_max + 200;

Instant ends_of(const Fault& fault) { return Instant{} + *fault.at + fault.lasting.value_or(Duration{}); }

/// It acted once, or for a while that is over, and would not act again by itself.
bool has_passed_by(const Fault& fault, bool touched, Instant now) {
    if (!fault.at || !touched) return false;
    const bool stays = fault.at_end && !fault.lasting;
    return !stays && ends_of(fault) < now;
}

/// A change that grows with the time since its begin.
bool creeps(const Fault& fault) { return fault.way == FaultWay::creeping; }

}  // namespace

void BenchWorks::switch_off(std::size_t link, End end, Duration lasting) {
    Bench& one = *bench_.all_[link];
    if (one.scenario_->faults.size() >= own_faults_max) return;
    Fault off;
    off.way = FaultWay::restart;
    off.error = ErrorKind::none;
    off.at_end = end;
    off.at = bench_.now() - Instant{};
    off.lasting = lasting;
    one.put_in_told_as(std::move(off), std::nullopt);
}

bool BenchWorks::type_at(std::size_t link, End end, const proto::LinkSettings& settings) {
    Bench& one = *bench_.all_[link];
    const Instant on = one.facts_[static_cast<std::size_t>(end)].dark_until;
    if (on <= bench_.now()) return false;
    TypedEnd& typed = end == End::controller ? one.scenario_->controller : one.scenario_->device;
    typed.link = settings;
    EndRun<BenchCell>& run = one.cell_->link().end(end);
    run.retype(as_played(typed), {}, one.scenario_->use);
    Bench::EndFacts& facts = one.facts_[static_cast<std::size_t>(end)];
    const unsigned starts = facts.starts;
    run.restart(one.cell_->clock_of(end), on - bench_.now(),
                scramble(static_cast<std::uint64_t>(bench_.now().ns) ^ scramble(one.scenario_->seed)));
    // switched off and on it was once, whatever was typed meanwhile
    one.drain();
    facts.starts = starts;
    return true;
}

void Bench::end_open_demand(std::size_t index) {
    Demand& demand = scenario_->demands[index];
    if (Instant{} + demand.at > now() || cell_->acts().closes(index) <= now()) return;
    cell_->acts().agenda().forget([index](const Agenda::Entry& entry) {
        return entry.kind == Agenda::Kind::demand_ends && entry.index == index;
    });
    demand.lasting = now() - (Instant{} + demand.at);
    cell_->acts().end_demand(index);
}

void BenchWorks::put_right(std::size_t link, const Scenario& sheet) {
    Bench& one = *bench_.all_[link];
    for (std::size_t i = 0; i < one.scenario_->faults.size(); ++i) {
        const auto as = one.told_as_[i];
        if (!as || *as >= one.written_faults_) continue;
        const Fault& fault = one.scenario_->faults[i];
        static_cast<void>(one.cell_->take_out_faults(i));
        one.told_as_[i].reset();
        // who has lost the supply gets it back
        if (fault.way == FaultWay::restart && one.cell_->acts().switch_on(i)) {
            Bench::EndFacts& facts = one.facts_[static_cast<std::size_t>(*fault.at_end)];
            facts.dark_until = facts.still_until = bench_.now();
        }
    }
    bench_.each([](Bench& any) {
        for (std::size_t i = 0; i < any.scenario_->demands.size(); ++i) any.end_open_demand(i);
    });
    if (one.stuck_from_ && sheet.operator_acts.size() < one.scenario_->operator_acts.size()) {
        one.stuck_from_.reset();
        one.let_go_at_.reset();
        one.contact_ = false;
        Hand(*one.cell_).set_acknowledge(proto::Endpoint::Contact::open);
        one.drain();
    }
}

void BenchWorks::restart_way(std::size_t link, Duration lasting) {
    Bench& one = *bench_.all_[link];
    if (one.scenario_->faults.size() + one.written_faults_ >= own_faults_max) return;
    std::vector<std::pair<Fault, std::size_t>> anew;  ///< with the fault that it is told as
    for (std::size_t i = 0; i < one.scenario_->faults.size(); ++i) {
        const auto as = one.told_as_[i];
        if (!as || *as >= one.written_faults_ || !creeps(one.scenario_->faults[i])) continue;
        Fault again = one.scenario_->faults[i];
        static_cast<void>(one.cell_->take_out_faults(i));
        one.told_as_[i].reset();
        again.at = bench_.now() + lasting - Instant{};
        anew.emplace_back(std::move(again), *as);
    }
    Fault silent;
    silent.way = FaultWay::drop;
    silent.error = error_of(silent.way);
    silent.to_device = silent.to_controller = true;
    silent.at = bench_.now() - Instant{};
    silent.lasting = lasting;
    one.put_in_told_as(std::move(silent), std::nullopt);
    for (auto& [again, as] : anew) one.put_in_told_as(std::move(again), as);
}

bool BenchWorks::has_passed(std::size_t link) const {
    const Bench& one = bench_.of_link(link);
    for (std::size_t i = 0; i < one.written_faults_; ++i)
        if (has_passed_by(one.scenario_->faults[i], one.touched_[i], bench_.now())) return true;
    return false;
}

void BenchWorks::bring_back(std::size_t link) {
    Bench& one = *bench_.all_[link];
    for (std::size_t i = 0; i < one.written_faults_; ++i) {
        if (!has_passed_by(one.scenario_->faults[i], one.touched_[i], bench_.now())) continue;
        if (one.scenario_->faults.size() >= own_faults_max) return;
        Fault again = one.scenario_->faults[i];
        again.at = bench_.now() - Instant{};
        again.on_telegram.reset();
        one.put_in_told_as(std::move(again), i);
    }
}

void BenchWorks::bridge(std::size_t safeguard) {
    if (safeguard >= bench_.bridged_.size() || bridged(safeguard)) return;
    bench_.each([&](Bench& one) {
        for (std::size_t i = 0; i < one.scenario_->demands.size(); ++i)
            if (one.cell_->plant().index_of(one.scenario_->demands[i].safeguard) == safeguard) one.end_open_demand(i);
        if (one.held_until_[safeguard]) Hand(*one.cell_).release(safeguard);
        one.bridged_[safeguard] = true;
    });
}

void BenchWorks::hold_contact() {
    bench_.each([&](Bench& one) {
        if (!one.stuck_from_) one.stuck_from_ = bench_.now();
        one.contact_ = true;
        one.let_go_at_.reset();
        Hand(*one.cell_).set_acknowledge(proto::Endpoint::Contact::closed);
        one.drain();
    });
}

void BenchWorks::reach_in(std::size_t safeguard, Duration lasting) {
    if (safeguard >= bench_.held_until_.size()) return;
    bench_.hold_demand(safeguard, lasting);
    bench_.each([&](Bench& one) {
        if (one.reads_guard(safeguard))
            one.happened({BenchEvent::Kind::reached_in, bench_.now(), one.scenario_->safeguards[safeguard].at,
                          std::nullopt, safeguard});
    });
}

}  // namespace sim
