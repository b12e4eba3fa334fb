#include "sim/judge/time_line.hpp"
#include "sim/scenario/scenario.hpp"

#include <algorithm>

namespace sim {
namespace {

/// The clocks of a live run's parts are brought together afterwards: what came first may lie a little before 0.
Instant not_before_start(Instant now) { return std::max(now, Instant{}); }

}  // namespace

TimeLine::TimeLine(const Scenario& scenario) {
    if (!scenario.machine) return;
    machine_.emplace(*scenario.machine);
    speed_.push_back({Instant{}, 0});
}

template <class Change>
void TimeLine::keep(std::vector<Change>& list, const Change& change) {
    if (finished_) return;
    if (list.size() < changes_max)
        list.push_back(change);
    else
        ++left_out_;
}

void TimeLine::hear(const Changed& changed) {
    const proto::Transition& transition = changed.transition;
    keep(states_[index(changed.end)],
         {not_before_start(changed.at), transition.to, transition.cause, transition.measure});
}

void TimeLine::hear(const InUse& in_use) {
    std::uint64_t& used = used_[index(in_use.end)];
    if (in_use.signals == used) return;
    used = in_use.signals;
    keep(signals_[index(in_use.end)], {not_before_start(in_use.at), in_use.signals});
}

void TimeLine::hear(const OutputsOff& off) { hear(InUse{off.end, 0, off.at}); }

void TimeLine::hear(const Contacted& contacted) {
    const std::uint64_t bit = std::uint64_t{1} << contacted.safeguard;
    free_ = contacted.free ? free_ | bit : free_ & ~bit;
    keep(contacts_, {not_before_start(contacted.at), free_});
}

void TimeLine::hear(const Computed& computed) {
    keep(computed_[index(computed.end)], {not_before_start(computed.at), computed.signals});
}

void TimeLine::turn(Instant at, std::int64_t um_s) {
    const bool nothing_new = !speed_.empty() && speed_.back().at == at && speed_.back().um_s == um_s;
    if (!nothing_new) keep(speed_, {at, um_s});
}

/// What `act` does to the machine at that time changes its speed from then on.
template <class Act>
void TimeLine::move(Instant at, Act act) {
    if (!machine_ || finished_) return;
    const Instant now = not_before_start(at);
    // what was to come after now no longer counts
    while (!speed_.empty() && speed_.back().at > now) speed_.pop_back();
    turn(now, machine_->speed(now));
    act(now);
    turn(now, machine_->speed(now));
    for (const Corner& corner : machine_->corners())
        if (corner.at > now) turn(corner.at, corner.um_s);
}

void TimeLine::hear(const MachineTold& told) {
    move(told.at, [&](Instant now) {
        if (told.command)
            machine_->command(*told.command, now);
        else
            machine_->start(now);
        if (told.speeds_up) machine_->speed_up(now);
    });
}

void TimeLine::hear(const SpeedLimited& limited) {
    move(limited.at, [&](Instant now) { machine_->limit_reduced(limited.um_s, now); });
}

void TimeLine::hear(const ValuesMeant& meant) {
    keep(meant_[index(sender(meant.way))], {not_before_start(meant.at), meant.values});
}

void TimeLine::hear(const ValuesInUse& in_use) {
    std::vector<ValueChange>& list = values_[index(in_use.end)];
    const ValueWord& now = in_use.values;
    if (!list.empty() && list.back().values == now) return;
    keep(list, {not_before_start(in_use.at), now});
}

void TimeLine::finish(Instant end) {
    if (machine_) {
        while (speed_.size() > 1 && speed_.back().at > end) speed_.pop_back();
        turn(end, machine_->speed(end));
    }
    end_ = end;
    finished_ = true;
}

}  // namespace sim
