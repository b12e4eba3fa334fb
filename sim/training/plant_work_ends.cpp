// What comes of work at the plant once its time is over.
#include "sim/scenario/scenario.hpp"
#include "sim/training/plant_work.hpp"

namespace sim {
namespace {

/// An end whose clock was put right starts anew, and is off for so long.
constexpr Duration put_right_off = proto::seconds(10);

}  // namespace

WorkEffect PlantWork::mend(const std::string& id) {
    if (!is_the_mend(id)) return WorkEffect::nothing_wrong;
    for (std::size_t i = 0; i < bench_.links(); ++i) {
        const Scenario& was = bench_.of_link(i).scenario();
        std::vector<End> anew;
        for (const Fault& fault : was.faults)
            if (fault.way == FaultWay::clock_drift && fault.at_end) anew.push_back(*fault.at_end);
        works_of_bench_.put_right(i, sheet(i));
        for (const End end : anew) works_of_bench_.switch_off(i, end, put_right_off);
    }
    mended_ = true;
    return WorkEffect::mended;
}

std::optional<Duration> PlantWork::fell_after(Instant since) const {
    std::optional<Duration> first;
    for (std::size_t i = 0; i < bench_.links(); ++i)
        for (const BenchEvent& event : bench_.of_link(i).events()) {
            if (event.kind != BenchEvent::Kind::changed || !event.transition || event.at <= since) continue;
            const bool fell =
                event.transition->from == proto::State::running && event.transition->to != proto::State::running;
            if (fell && (!first || event.at - since < *first)) first = event.at - since;
        }
    return first;
}

void PlantWork::finish() {
    Work& work = works_.back();
    work.over = true;
    finish_at_plant(work);
}

void PlantWork::finish_at_plant(Work& work) {
    using E = WorkEffect;
    switch (cards_[work.card].does) {
        case Does::talk:
        case Does::restart_way: break;
        case Does::start:
            if (work.effect == E::started && !bench_.anything_moves()) work.effect = E::stopped_soon;
            break;
        case Does::mend: work.effect = mend(cards_[work.card].id); break;
        case Does::demand: work.effect = E::tried; break;
        case Does::clear:
            tools_in_ = false;
            work.effect = E::cleared;
            break;
        case Does::look: work.effect = tools_in_ ? E::tools_seen : E::seen; break;
        case Does::power_cycle: work.effect = E::power_cycled; break;
        case Does::bridge:
            for (std::size_t i = 0; i < bench_.scenario().safeguards.size(); ++i) works_of_bench_.bridge(i);
            work.effect = E::bridged;
            break;
        case Does::hold_contact:
            works_of_bench_.hold_contact();
            work.effect = E::held;
            break;
        case Does::type_sheet:
        case Does::type_other:
        case Does::replace_io:
        case Does::raise_watchdog: finish_typing(work); break;
        case Does::lock:
        case Does::unlock:
        case Does::stop: finish_at_machine(work); break;
        case Does::reset:
        case Does::acknowledge: finish_pressing(work); break;
        case Does::watch:
        case Does::stop_from_motion: finish_watching(work); break;
    }
}

void PlantWork::finish_typing(Work& work) {
    const ActionCard& what = cards_[work.card];
    const bool typed = work.effect == WorkEffect::typed;
    const bool may_mend = what.does == Does::type_sheet || what.does == Does::replace_io;
    if (may_mend && is_the_mend(what.id) && !mended_ && (typed || what.does == Does::replace_io))
        work.effect = mend(what.id);
    else if (what.does == Does::replace_io)
        work.effect = WorkEffect::fitted;
    else if (!typed)
        work.effect = WorkEffect::nothing_differs;
}

void PlantWork::finish_at_machine(Work& work) {
    const MachineModel* const machine = bench_.plant().machine();
    const bool locked = machine != nullptr && machine->held(MachineModel::Hold::isolation);
    switch (cards_[work.card].does) {
        case Does::lock:
            bench_.isolate(true);
            work.effect = WorkEffect::locked;
            return;
        case Does::unlock:
            bench_.isolate(false);
            work.effect = locked ? WorkEffect::unlocked : WorkEffect::nothing_locked;
            return;
        default: bench_.press_emergency_stop(true); work.effect = WorkEffect::stopped;
    }
}

void PlantWork::finish_pressing(Work& work) {
    if (cards_[work.card].does == Does::acknowledge) {
        const auto runs = [&](std::size_t i) {
            return bench_.of_link(i).panel(End::controller).state == proto::State::running;
        };
        bool all = true;
        for (std::size_t i = 0; i < bench_.links(); ++i)
            if (!work.link || *work.link == i) all = all && runs(i);
        if (work.effect == WorkEffect::acknowledged && !all) work.effect = WorkEffect::stopped_again;
        return;
    }
    const MachineModel* const machine = bench_.plant().machine();
    const bool stop = machine != nullptr && machine->held(MachineModel::Hold::emergency_stop);
    bool latched = stop;
    for (std::size_t i = 0; i < bench_.scenario().safeguards.size(); ++i) {
        if (!bench_.plant().safeguard(i).latched()) continue;
        latched = true;
        bench_.reset(i);
    }
    if (stop) bench_.press_emergency_stop(false);
    work.effect = latched ? WorkEffect::reset : WorkEffect::nothing_latched;
}

void PlantWork::finish_watching(Work& work) {
    using E = WorkEffect;
    const bool moves = bench_.machine_moves();
    if (cards_[work.card].does == Does::watch) {
        work.after = fell_after(work.begun);
        work.effect = work.after ? E::link_fell : moves ? E::ran : E::stood;
        return;
    }
    if (work.effect == E::stood || moves) return;
    work.effect = E::stopped_by_guard;
    if (const MachineModel* const machine = bench_.plant().machine()) work.after = machine->still_at() - work.begun;
}

}  // namespace sim
