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

void TimeLine::changed(End end, const proto::Transition& transition, Instant now) {
    keep(states_[index(end)], {not_before_start(now), transition.to, transition.cause, transition.measure});
}

void TimeLine::in_use(End end, std::uint64_t signals, Instant now) {
    std::uint64_t& used = used_[index(end)];
    if (signals == used) return;
    used = signals;
    keep(signals_[index(end)], {not_before_start(now), signals});
}

void TimeLine::outputs_off(End end, Instant now) { in_use(end, 0, now); }

void TimeLine::turn(Instant at, std::int64_t um_s) {
    const bool nothing_new = !speed_.empty() && speed_.back().at == at && speed_.back().um_s == um_s;
    if (!nothing_new) keep(speed_, {at, um_s});
}

void TimeLine::machine(std::optional<DriveCommand> command, Instant now) {
    if (!machine_ || finished_) return;
    now = not_before_start(now);
    // what was to come after now no longer counts
    while (!speed_.empty() && speed_.back().at > now) speed_.pop_back();
    turn(now, machine_->speed(now));
    if (command)
        machine_->command(*command, now);
    else
        machine_->start(now);
    turn(now, machine_->speed(now));
    for (const Corner& corner : machine_->corners())
        if (corner.at > now) turn(corner.at, corner.um_s);
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
