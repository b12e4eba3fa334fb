#include "sim/odds/polled_cycle.hpp"

#include <algorithm>
#include <vector>

#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

using State = PolledState;

std::vector<SparseMass::Entry> PolledCycle::burst_states() const {
    std::vector<SparseMass::Entry> all;
    for (const bool bad_out : {false, true})
        for (const bool bad_back : {false, true}) {
            State s;
            s.deadline = static_cast<unsigned>(grid_.slots);
            s.bad_out = bad_out;
            s.bad_back = bad_back;
            const double share = (bad_out ? losses_out_.bad() : 1.0 - losses_out_.bad()) *
                                 (bad_back ? losses_back_.bad() : 1.0 - losses_back_.bad());
            if (share > 0.0) all.push_back({s.word(), share});
        }
    return all;
}

void PolledCycle::stop(StopCause cause, double mass, double cycles_from_now) {
    sums_.stops[static_cast<std::size_t>(cause)] += mass;
    sums_.time += mass * (cycles_from_now - 1.0);
    ended_ += mass;
}

/// Mass that is not followed: counted as undecided, and the link begins again.
void PolledCycle::leave(double mass) {
    undecided_ += mass;
    ended_ += mass;
}

bool PolledCycle::too_little(double mass) {
    if (mass > 0.0 && mass >= least_) return false;
    leave(mass);
    return true;
}

/// A telegram of each state goes that way: it is lost, or it arrives, and the burst chain moves on.
void PolledCycle::go(const SparseMass& from, double share, const WayLosses& losses, bool State::*bad,
                     void (PolledCycle::*arrives)(const State&, double)) {
    for (const SparseMass::Entry& entry : from.entries()) {
        State s = State::of(entry.state);
        const bool was = s.*bad;
        for (const bool changes : {false, true}) {
            const double mass = share * entry.mass * (changes ? losses.leave[was] : 1.0 - losses.leave[was]);
            if (!(mass > 0.0)) continue;
            s.*bad = was != changes;
            State lost = s;
            if (one_answer_ && bad == &State::bad_back) lost.same_slot = State::no_answer;
            sent_.add(lost.word(), mass * losses.lost[was]);
            (this->*arrives)(s, mass * (1.0 - losses.lost[was]));
        }
    }
}

void PolledCycle::arrive(const State& s, double mass) {
    if (!(mass > 0.0)) return;
    const PolledPhase& phase = *phase_;
    const unsigned last = std::max(phase.to, s.last_slot);
    for (unsigned slot = std::max(phase.from, s.last_slot); slot <= last; ++slot) {
        if (slot > s.deadline) {
            ++steps_;
            arrive_too_late(s, mass * (slot == s.last_slot ? 1.0 : phase.found_from[slot]));
            return;
        }
        if (slot != s.last_slot && !(phase.found[slot] > 0.0)) continue;
        ++steps_;
        const double here = mass * (slot == s.last_slot ? phase.found_until[slot] : phase.found[slot]);
        if (grid_.late_out_unknown && slot + 1 == phase.found.size()) {
            leave(here);
            continue;
        }
        if (too_little(here)) continue;
        State next = s;
        if (slot > s.last_slot) next.same_slot = 0;
        next.last_slot = slot;
        found_in_time(next, here);
    }
}

/// By the device, in the state's last slot.
void PolledCycle::found_in_time(State s, double mass) {
    const double bent = link_.to_device.bent;
    if (bent > 0.0) {
        sums_.bent_out += mass * bent;
        if (link_.device.reaction == proto::Reaction::trip)
            stop(StopCause::bent_to_device, mass * bent, phase_->offset[s.last_slot]);
        else
            sent_.add(s.word(), mass * bent);
    }
    if (s.answer == 0) {
        s.deadline = s.last_slot + static_cast<unsigned>(grid_.slots);
        // answers to what is found with it say the new number too
        s.answer = s.same_slot != 0 ? s.same_slot : State::no_answer;
    }
    // one answer a scan was sent already, and says the newest number
    if (one_answer_ && s.same_slot != 0)
        sent_.add(s.word(), mass * (1.0 - bent));
    else
        answered_.add(s.word(), mass * (1.0 - bent));
}

/// After the device's watchdog has run out; whatever is sent later comes later still.
void PolledCycle::arrive_too_late(State s, double mass) {
    if (too_little(mass)) return;
    if (s.answer == 0) {
        stop(StopCause::device_watchdog, mass, phase_->offset[s.deadline + 1]);
        return;
    }
    s.last_slot = std::max(s.last_slot, s.deadline + 1);
    s.same_slot = 0;
    sent_.add(s.word(), mass);
}

/// An answer with flipped bits is on its way: of one a scan there is no other in that slot.
State PolledCycle::rejected_at_controller(State s) const {
    if (one_answer_) s.same_slot = State::no_answer;
    return s;
}

/// The device's answer to it, which it will send in the slot where it finds it.
void PolledCycle::come_back(const State& s, double mass) {
    if (!(mass > 0.0)) return;
    const unsigned first = phase_->first[s.last_slot];
    const std::vector<double>& found = phase_->answer_found[s.last_slot];
    const double bent = link_.to_controller.bent;
    // In this scan or after it nothing can be accepted any more, so one is like another.
    const auto ages = static_cast<unsigned>(grid_.ages);
    const unsigned too_late =
        std::max((s.answer == State::no_answer ? ages - s.age : s.answer + ages) + 1, s.last_scan);
    double waiting = 0.0;  // until the answers before it are found
    for (std::size_t i = 0; i < found.size(); ++i) {
        const unsigned scan = first + static_cast<unsigned>(i);
        waiting += mass * found[i];
        if ((scan < s.last_scan || scan >= too_late) && i + 1 < found.size()) continue;
        const double here = waiting;
        waiting = 0.0;
        if (grid_.late_back_unknown && scan == grid_.last_scan && scan < too_late) {
            leave(here);
            continue;
        }
        if (too_little(here)) continue;
        State next = s;
        next.last_scan = std::min(std::max(scan, s.last_scan), too_late);
        if (bent > 0.0) {
            sums_.bent_back += here * bent;
            if (link_.controller.reaction == proto::Reaction::trip)
                stop(StopCause::bent_to_controller, here * bent, static_cast<double>(next.last_scan));
            else
                sent_.add(rejected_at_controller(next).word(), here * bent);
        }
        if (next.same_slot == 0) next.same_slot = next.last_scan;
        if (next.answer == State::no_answer) next.answer = next.last_scan;
        sent_.add(next.word(), here * (1.0 - bent));
    }
}

/// A cycle passes.
void PolledCycle::end_cycle(SparseMass& next) {
    const unsigned slots = phase_->slots;
    const PolledPhase& following = *following_;
    for (const SparseMass::Entry& entry : sent_.entries()) {
        if (too_little(entry.mass)) continue;
        State s = State::of(entry.state);
        if (s.deadline < slots) {
            stop(StopCause::device_watchdog, entry.mass, 1.0);
            continue;
        }
        s.deadline -= slots;
        s.last_slot = s.last_slot > slots ? s.last_slot - slots : 0;
        if (s.last_slot < following.earliest_slot) s.last_slot = 0;  // holds nothing up
        if (s.last_slot == 0) s.same_slot = 0;
        if (s.same_slot != 0 && s.same_slot != State::no_answer) --s.same_slot;
        s.last_scan -= s.last_scan != 0 ? 1 : 0;
        if (s.last_scan <= following.earliest_scan) s.last_scan = 0;
        ++s.age;
        if (s.age > grid_.ages) {
            stop(StopCause::controller_watchdog, entry.mass, 1.0);
            continue;
        }
        if (s.answer == 1) {
            sums_.exchanges += entry.mass;
            s.age = 0;
            s.answer = 0;
        } else if (s.answer != 0 && s.answer != State::no_answer) {
            --s.answer;
        }
        next.add(s.word(), entry.mass);
    }
}

void PolledCycle::pass(const SparseMass& now, std::size_t phase, double least, SparseMass& next) {
    pass(now, grid_.phases[phase], grid_.phases[(phase + 1) % grid_.phases.size()], least, next);
}

void PolledCycle::pass(const SparseMass& now, const PolledPhase& phase, const PolledPhase& following, double least,
                       SparseMass& next, double share) {
    phase_ = &phase;
    following_ = &following;
    least_ = least;
    ended_ = 0.0;
    sent_.clear();
    answered_.clear();
    next.clear();
    for (const SparseMass::Entry& entry : now.entries()) sums_.time += entry.mass * share;
    go(now, share, losses_out_, &State::bad_out, &PolledCycle::arrive);
    go(answered_, 1.0, losses_back_, &State::bad_back, &PolledCycle::come_back);
    end_cycle(next);
}

}  // namespace sim
