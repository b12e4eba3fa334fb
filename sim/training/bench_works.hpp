#pragma once
// What is done at a plant besides reading it: switching off and typing, mending, bridging, reaching in. A link is named
// by its number among those of the bench; one that stands alone is number 0.
#include <cstddef>

#include "sim/training/bench.hpp"

namespace sim {

class BenchWorks {
  public:
    /// The bench, of the link in question, must outlive it.
    explicit BenchWorks(Bench& bench) : bench_(bench) {}

    /// The end has no power for that time, and starts anew.
    void switch_off(std::size_t link, End end, Duration lasting);
    /// Other settings are typed at an end that is switched off: it starts with them. Requires settings that a reader
    /// would take, of the same profile, lengths and cycle. False if it is not off: then nothing was typed.
    bool type_at(std::size_t link, End end, const proto::LinkSettings& settings);
    /// What the scenario had wrong is as in `sheet`: its faults are over, what hung in a safeguard is gone, and the
    /// acknowledgement contact opens. Settings stay as they are typed.
    void put_right(std::size_t link, const Scenario& sheet);
    /// What carries the telegrams is off for that time; what creeps begins anew then.
    void restart_way(std::size_t link, Duration lasting);
    /// What was wrong for a while and has passed comes once more.
    void bring_back(std::size_t link);
    /// Whether the link has something to bring back.
    [[nodiscard]] bool has_passed(std::size_t link) const;
    /// From now on the safeguard is free whatever is in it.
    void bridge(std::size_t safeguard);
    [[nodiscard]] bool bridged(std::size_t safeguard) const { return bench_.bridged_[safeguard]; }
    /// The acknowledgement contacts stay closed from now on.
    void hold_contact();
    /// Somebody reaches in, for so long: a demand, unless the safeguard is bridged.
    void reach_in(std::size_t safeguard, Duration lasting);

  private:
    Bench& bench_;
};

}  // namespace sim
