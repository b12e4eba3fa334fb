#pragma once
// Signals that an application lets fall later than it computes them, as a controller does that times a stop of category
// 1 itself: first the request to stop, and the power once the ramp is over. A delay that has begun ends with the fall,
// whatever its source does meanwhile, and another demand does not begin it anew.
#include <algorithm>
#include <cstdint>
#include <vector>

#include "proto/time.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

using proto::Instant;

class OffDelays {
  public:
    /// For the signals that this end sends.
    OffDelays(const Scenario& scenario, End end) {
        for (std::size_t i = 0; i < scenario.signals.size(); ++i)
            if (scenario.signals[i].off_delay != Duration{} && scenario.signals[i].sent_at(end))
                delays_.push_back({std::uint64_t{1} << i, scenario.signals[i].off_delay, proto::never, false});
    }
    [[nodiscard]] bool any() const { return !delays_.empty(); }
    void begin_again() {
        for (Delay& delay : delays_) {
            delay.falls_at = proto::never;
            delay.was_one = false;
        }
    }
    /// The signals as they are sent, of those just computed.
    std::uint64_t sent(std::uint64_t computed, Instant now) {
        fell_ = false;
        for (Delay& delay : delays_) {
            const bool one = (computed & delay.bit) != 0;
            if (delay.falls_at == proto::never && !one && delay.was_one) delay.falls_at = now + delay.time;
            const bool waits = delay.falls_at != proto::never && now < delay.falls_at;
            if (delay.falls_at != proto::never && !waits) {
                // for one scan at least it is 0
                delay.falls_at = proto::never;
                delay.was_one = false;
                fell_ = true;
                computed &= ~delay.bit;
                continue;
            }
            if (waits) computed |= delay.bit;
            delay.was_one = (computed & delay.bit) != 0;
        }
        return computed;
    }
    /// When sent() may give something else without anything else changing: one falls, or fell just now and its source
    /// may be 1 again.
    [[nodiscard]] Instant next(Instant now) const {
        Instant next = fell_ ? now + Duration{1} : proto::never;
        for (const Delay& delay : delays_) next = std::min(next, delay.falls_at);
        return next;
    }

  private:
    struct Delay {
        std::uint64_t bit;
        Duration time;
        Instant falls_at;
        bool was_one;  ///< as it was sent
    };
    std::vector<Delay> delays_;
    bool fell_ = false;
};

}  // namespace sim
