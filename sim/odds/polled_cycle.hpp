#pragma once
// One cycle of a polled link, for a distribution over its states: sending, losses, arrivals, answers and stops.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "sim/odds/link_model.hpp"
#include "sim/odds/polled_grid.hpp"
#include "sim/odds/polled_state.hpp"
#include "sim/odds/sparse_mass.hpp"
#include "sim/odds/state_reduction.hpp"
#include "sim/odds/way_losses.hpp"

namespace sim {

class PolledCycle {
  public:
    /// Both must outlive it.
    PolledCycle(const LinkModel& link, const PolledGrid& grid) : link_(link), grid_(grid) {}

    /// From one scan of the controller to the next; what stops is not in `next`. Mass under `least` is not followed.
    void pass(const SparseMass& now, std::size_t phase, double least, SparseMass& next);
    /// The same of a share of what is now, with a phase of its own; `following` must allow whatever may be sent in the
    /// next one.
    void pass(const SparseMass& now, const PolledPhase& phase, const PolledPhase& following, double least,
              SparseMass& next, double share = 1.0);

    /// Since clear().
    [[nodiscard]] const ChainSums& sums() const { return sums_; }
    [[nodiscard]] double undecided() const { return undecided_; }  ///< mass that was not followed
    void clear() { sums_ = {}, undecided_ = 0.0; }

    /// In the last cycle: mass that stopped or was not followed, and states before its end.
    [[nodiscard]] double ended() const { return ended_; }
    [[nodiscard]] std::size_t states() const { return sent_.size(); }
    [[nodiscard]] std::uint64_t steps() const { return steps_; }  ///< ever: a state in one cycle and one slot
    /// States of a link that has just started: by those of burst losses, each as likely as it is in the long run.
    [[nodiscard]] std::vector<SparseMass::Entry> burst_states() const;
    /// Cycles after which bursts are forgotten, roughly.
    [[nodiscard]] double memory_of_bursts() const { return std::max(losses_out_.memory(), losses_back_.memory()); }

  private:
    void stop(StopCause cause, double mass, double cycles_from_now);
    void leave(double mass);
    bool too_little(double mass);
    void go(const SparseMass& from, double share, const WayLosses& losses, bool PolledState::*bad,
            void (PolledCycle::*arrives)(const PolledState&, double));
    void arrive(const PolledState& s, double mass);
    void found_in_time(PolledState s, double mass);
    void arrive_too_late(PolledState s, double mass);
    void come_back(const PolledState& s, double mass);
    [[nodiscard]] PolledState rejected_at_controller(PolledState s) const;
    void end_cycle(SparseMass& next);

    const LinkModel& link_;
    const PolledGrid& grid_;
    const bool one_answer_ = link_.device.answers == proto::Answers::one_a_scan;
    const WayLosses losses_out_{link_.to_device.channel}, losses_back_{link_.to_controller.channel};
    const PolledPhase* phase_ = nullptr;
    const PolledPhase* following_ = nullptr;
    SparseMass answered_, sent_;
    ChainSums sums_;
    double undecided_ = 0.0;
    double ended_ = 0.0;
    double least_ = 0.0;
    std::uint64_t steps_ = 0;
};

}  // namespace sim
