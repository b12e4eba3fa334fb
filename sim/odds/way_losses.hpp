#pragma once
#include "sim/scenario/scenario.hpp"

namespace sim {

/// Loss of one way: by the state of its chain, or the same in both.
struct WayLosses {
    explicit WayLosses(const ChannelSettings& channel)
        : lost{channel.bursts ? channel.bursts->in_good : channel.loss,
               channel.bursts ? channel.bursts->in_bad : channel.loss},
          leave{channel.bursts ? channel.bursts->good_to_bad : 0.0,
                channel.bursts ? channel.bursts->bad_to_good : 0.0} {}
    double lost[2];   ///< probability of a loss, in the good and in the bad state
    double leave[2];  ///< probability that a telegram finds the state changed
    /// Share of the bad state in the long run.
    [[nodiscard]] double bad() const { return leave[0] > 0.0 ? leave[0] / (leave[0] + leave[1]) : 0.0; }
    /// Telegrams until a state is forgotten.
    [[nodiscard]] double memory() const { return leave[0] > 0.0 ? 1.0 / (leave[0] + leave[1]) : 0.0; }
};

}  // namespace sim
