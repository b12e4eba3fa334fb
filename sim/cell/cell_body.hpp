#pragma once
// The bodies of a cell, with the loop that everything turns in: included by the units that make a kind of cell, each of
// which instantiates its own.
#include <algorithm>
#include <type_traits>
#include <utility>

#include "sim/cell/acts_body.hpp"
#include "sim/cell/cell.hpp"
#include "sim/cell/neighbour_link.hpp"
#include "sim/cell/newcomers.hpp"
#include "sim/cell/wiring.hpp"
#include "sim/channel/nothing_passes.hpp"
#include "sim/link/station_body.hpp"
#include "sim/link/strays.hpp"
#include "sim/scenario/reach.hpp"

namespace sim {

template <class H>
Cell<H>::Cell(const Scenario& scenario, std::uint64_t seed, Faults faults, H heard,
              const std::optional<proto::CrcEngine>& known)
    : heard_(std::move(heard)),
      apart_(kept_apart(scenario).has_value()),
      plant_(scenario),
      scenario_(scenario),
      seed_(seed),
      stages_(stage_context(scenario)),
      tables_(crc_tables(scenario, known)),
      link_(as_played(scenario.controller), as_played(scenario.device), 0, *this, tables_, scenario.use),
      controller_(scenario, link_.end(End::controller), *this),
      device_(scenario, link_.end(End::device), *this),
      acts_(scenario, *this),
      channel_(scenario.to_device, scenario.to_controller, seed) {
    stages_.log = this;
    stages_.surroundings = this;
    begin(faults);
}

template <class H>
void Cell<H>::begin_again(std::uint64_t seed, Faults faults) {
    seed_ = seed;
    channel_.begin_again(scenario_.to_device, scenario_.to_controller, seed);
    plant_.begin_again();
    clocks_.begin_again();
    controller_.begin_again();
    device_.begin_again();
    if (neighbour_) idle_neighbour_ = std::move(neighbour_);
    run_ = {};
    begin(faults);
}

template <class H>
void Cell<H>::begin(Faults faults) {
    acts_.begin(seed_);
    if (faults == Faults::by_hand) clocks_.let_fail();
    if (needs_neighbour(scenario_) || (faults == Faults::by_hand && scenario_.neighbour))
        neighbour_ = idle_neighbour_ ? std::move(idle_neighbour_) : std::make_unique<NeighbourLink>(scenario_, tables_);
    stages_.neighbour = neighbour_ != nullptr;
    stages_.seed = seed_;
    if (faults == Faults::by_hand ||
        (faults != Faults::none && std::any_of(scenario_.faults.begin(), scenario_.faults.end(), needs_history)))
        channel_.keep_history();
    if constexpr (H::template wanted<Befell>) channel_.keep_fates();
    keep_apart();
    if (faults == Faults::all || faults == Faults::by_hand) {
        if (!apart_) stages_.strays = earlier_start(scenario_, seed_);
        put_in_faults();
    }
    acts_.put_in_demands();
    acts_.operate(OperatorAct::Event::time);
    const Random entropy(seed_, Concern::entropy);
    link_.end(End::controller).begin({}, {}, entropy.at(0));
    link_.end(End::device).begin({}, scenario_.device_phase, entropy.at(1));
    if (neighbour_) {
        neighbour_->begin(entropy, {});
        run_.next_neighbour = neighbour_->next_event();
    }
    know_how_to_deliver();
}

template <class H>
void Cell<H>::put_in_faults_and_demands() {
    deliver_before(run_.now);  // from now on telegrams may be handed over one by one
    put_in_faults();
    acts_.put_in_demands();
    know_how_to_deliver();
}

template <class H>
void Cell<H>::put_in_faults() {
    for (std::size_t i = 0; i < scenario_.faults.size(); ++i) put_in_fault(i);
}

template <class H>
void Cell<H>::put_in_fault(std::size_t index) {
    const Fault& fault = scenario_.faults[index];
    if (fault.at_end)
        acts_.put_in_fault(index);
    else if (!apart_)  // what is on no way cannot be disturbed, and nothing else comes to these ends either
        channel_.add(make_stage(fault, index, stages_), index);
}

/// Ends whose network settings let nothing through: it goes out, and arrives nowhere.
template <class H>
void Cell<H>::keep_apart() {
    if (apart_) channel_.add(make_nothing_passes());
}

template <class H>
void Cell<H>::put_in(std::size_t fault) {
    proto::require(fault < scenario_.faults.size(), "Cell::put_in() of what is not there");
    put_in_fault(fault);
    know_how_to_deliver();
}

template <class H>
std::array<std::uint64_t, 2> Cell<H>::take_out_faults(std::optional<std::size_t> only) {
    if (!only) {
        channel_.remove_stages();
        keep_apart();
        acts_.take_out_faults();
        return {};
    }
    proto::require(*only < scenario_.faults.size(), "Cell::take_out_faults() of what is not there");
    if (scenario_.faults[*only].at_end) {
        acts_.take_out_fault(*only);
        return {};
    }
    const std::unique_ptr<FaultStage> stage = channel_.remove_stages(*only);
    if (stage == nullptr) return {};
    return {stage->counted(Direction::to_device), stage->counted(Direction::to_controller)};
}

template <class H>
void Cell<H>::calm_down() {
    channel_.remove_stages();
    keep_apart();
    acts_.calm_down();
}

template <class H>
bool Cell<H>::try_to_start_machine() {
    acts_.start_machine();
    return plant_.machine() != nullptr && plant_.machine()->started();
}

template <class H>
std::int64_t Cell<H>::machine_position(Instant now) const {
    return plant_.machine() != nullptr ? plant_.machine()->position(now) : 0;
}

template <class H>
void Cell<H>::end_changed(EndRun<Cell>& end, const proto::Transition& transition) {
    if (transition.to == proto::State::awaiting_acknowledgement && end.end() == End::controller)
        acts_.operate(OperatorAct::Event::acknowledgement_requested);
    run_.fell = run_.fell || transition.from == proto::State::running;
    if (run_.step > Duration{}) run_.until = std::min(run_.until, step_after(run_.now));
    tell(Changed{end.end(), transition, run_.now});
    acts_.end_changed(transition);
}

template <class H>
void Cell<H>::end_acknowledged(EndRun<Cell>&, bool counted) {
    acts_.acknowledged(counted);
    tell(Acknowledged{counted, run_.now});
}

template <class H>
void Cell<H>::drive(std::uint64_t signals) {
    if (const auto act = plant_.drive(signals, link_.running(), run_.now))
        tell(MachineTold{act->command, run_.now, act->speeds_up});
}

template <class H>
void Cell<H>::know_how_to_deliver() {
    one_by_one_ = H::template wanted<Delivered> || clocks_.any_fail() || neighbour_ != nullptr;
}

template <class H>
[[gnu::always_inline]] inline void Cell<H>::offer(Telegram& telegram, Tag tag, Instant now) {
    std::conditional_t<H::template wanted<Underway>, Newcomers, NoNewcomers> newcomers(channel_);
    channel_.offer(telegram, tag, now);
    if constexpr (H::template wanted<Befell>)
        for (const Befallen& befallen : channel_.take_fates())
            if (befallen.tag.link == 0) tell(Befell{befallen.tag, befallen.fate, now});
    if constexpr (H::template wanted<Underway>)
        newcomers.for_each([&](const Passage& passage, const Telegram& bytes) {
            if (passage.to_link == 0)
                tell(Underway{passage.to_end, passage.tag, bytes.view(), &bytes != &telegram, passage.due, now});
        });
}

/// Fetches what has arrived: this end's own to be looked at where it lies, the other end's into its queue.
template <class H>
template <End which, class Look>
[[gnu::always_inline]] inline void Cell<H>::arrivals(Instant now, Look look) {
    if (__builtin_expect(one_by_one_, 0)) return;
    while (channel_.next_due() <= now) {
        const Channel::Delivery delivery = channel_.take();
        const Passage& passage = delivery.passage;
        if (__builtin_expect(passage.to_link == 0 && passage.to_end == which, 1))
            look(delivery.telegram->view(), passage.tag.token());
        else if (passage.to_link == 0)
            link_.end(passage.to_end).endpoint().receive(delivery.telegram->view(), passage.tag.token());
        channel_.release(delivery);
    }
}

template <class H>
[[gnu::noinline]] void Cell<H>::deliver() {
    const Channel::Delivery delivery = channel_.take();
    const Passage& passage = delivery.passage;
    const std::span<const std::uint8_t> bytes = delivery.telegram->view();
    if (passage.to_link != 0) {
        if (neighbour_) neighbour_->receive(passage, *delivery.telegram);
        channel_.release(delivery);
        return;
    }
    proto::Endpoint& end = link_.end(passage.to_end).endpoint();
    const FailingEnd* const to = clocks_.failing(passage.to_end);
    const bool off = to != nullptr && run_.now < to->off_until;
    const std::uint64_t queue_full = end.counters().queue_full;
    if (!off) end.receive(bytes, passage.tag.token());
    tell(Delivered{passage.to_end, passage.tag, bytes, !off, run_.now});
    if (off) tell(Unheard{passage.to_end, WhyUnheard::power_off});
    if (end.counters().queue_full != queue_full) tell(Unheard{passage.to_end, WhyUnheard::queue_full});
    channel_.release(delivery);
}

/// What nobody has fetched yet goes into the queues: so a cell that rests stands as if each had been handed over.
template <class H>
void Cell<H>::deliver_before(Instant end) {
    while (channel_.next_due() < end) deliver();
}

template <class H>
Instant Cell<H>::next_event() const {
    return std::min({controller_.next_scan(), device_.next_scan(), run_.next_neighbour, acts_.agenda().next(),
                     channel_.next_due()});
}

template <class H>
void Cell<H>::run_on_until(Instant end) {
    run_.until = end;
    Instant next_controller = controller_.next_scan();
    Instant next_device = device_.next_scan();
    for (;;) {
        const Instant due = one_by_one_ ? channel_.next_due() : proto::never;
        const Instant scan_due = std::min(next_controller, next_device);
        const Instant other_due = std::min(acts_.agenda().next(), run_.next_neighbour);
        const Instant now = std::min({due, scan_due, other_due});
        if (now >= run_.until) break;
        run_.now = now;
        // of things at the same instant: what people do, then arrivals, then scans, the device's first
        if (__builtin_expect(other_due == now, 0)) {
            if (acts_.agenda().next() == now) {
                acts_.do_next();
                next_controller = controller_.next_scan();
                next_device = device_.next_scan();
                continue;
            }
            neighbour_->do_next(now, channel_);
            run_.next_neighbour = neighbour_->next_event();
        } else if (due == now) {
            deliver();
        } else if (next_device == now) {
            device_.scan(now);
            next_device = device_.next_scan();
        } else {
            ++run_.cycles;
            controller_.scan(now);
            next_controller = controller_.next_scan();
        }
    }
    run_.now = std::max(run_.now, run_.until);
}

template <class H>
[[gnu::always_inline]] inline void Cell<H>::run_others_until(Instant last) {
    for (Instant next_device = device_.next_scan();;) {
        const Instant due = one_by_one_ ? channel_.next_due() : proto::never;
        const Instant other = std::min({due, acts_.agenda().next(), run_.next_neighbour});
        if (__builtin_expect(other <= last && other <= next_device, 0)) {
            do_other(other, due);
            next_device = device_.next_scan();
            continue;
        }
        if (next_device > last) break;
        run_.now = next_device;
        device_.scan(next_device);
        next_device = device_.next_scan();
    }
    run_.now = std::max(run_.now, last);
}

/// In the order of run_on_until().
template <class H>
[[gnu::noinline]] void Cell<H>::do_other(Instant now, Instant due) {
    run_.now = now;
    if (acts_.agenda().next() == now) {
        acts_.do_next();
    } else if (run_.next_neighbour == now) {
        neighbour_->do_next(now, channel_);
        run_.next_neighbour = neighbour_->next_event();
    } else if (due == now) {
        deliver();
    }
}

/// The first of the steps that is later than `time`; requires one that is not before the first step.
template <class H>
Instant Cell<H>::step_after(Instant time) const {
    return run_.stepped_from + run_.step * ((time - run_.stepped_from).ns / run_.step.ns + 1);
}

template <class H>
void Cell<H>::run_on_by(Duration step, Instant end) {
    proto::require(step > Duration{}, "Cell::run_on_by() without a step");
    run_.stepped_from = run_.now;
    run_.step = step;
    run_on_until(end > run_.now ? step_after(end - Duration{1}) : run_.now + step);
    run_.step = {};
}

template <class H>
void Cell<H>::finish(RunResult& result, Observer& observer, Instant now) const {
    const auto shown = [this](End end) {
        const proto::Endpoint& e = link_.end(end).endpoint();
        return EndShown{e.state(), e.refusal(), e.counters()};
    };
    sim::finish(result, observer, {now, run_.cycles, shown(End::controller), shown(End::device)});
    for (std::size_t i = 0; i < scenario_.safeguards.size(); ++i) {
        const SafeguardModel& model = plant_.safeguard(i);
        result.safeguards.push_back({model.free()       ? SafeguardState::free
                                     : model.faulty()   ? SafeguardState::discrepancy
                                     : model.demanded() ? SafeguardState::demanded
                                                        : SafeguardState::latched,
                                     model.discrepancies()});
    }
}

}  // namespace sim
