#pragma once
// Loss in bursts for one direction of one link: the Gilbert-Elliott chain. It begins in the good state. Each telegram
// is judged in the state it finds; then the state may change, for the next one. So bad runs last 1 / bad_to_good
// telegrams in the mean, and in the long run g * b_loss + b * g_loss over g + b is lost, with g good_to_bad and b
// bad_to_good.
//
// A chain depends on what was before, so it must be asked once for each telegram, in order; its draws are numbered by
// the telegrams and belong to it alone, so whatever else is switched on changes nothing here.
#include <cstdint>

#include "sim/numeric/random.hpp"
#include "sim/scenario/channel.hpp"

namespace sim {

class BurstLossChain {
  public:
    /// Requires probabilities. `lane`: which direction of which link.
    BurstLossChain(const BurstLoss& settings, std::uint64_t seed, std::uint64_t lane)
        : good_to_bad_(threshold(settings.good_to_bad)),
          bad_to_good_(threshold(settings.bad_to_good)),
          in_good_(threshold(settings.in_good)),
          in_bad_(threshold(settings.in_bad)),
          states_(seed, Concern::burst_state, lane),
          losses_(seed, Concern::burst_loss, lane) {}

    /// Whether the next telegram is lost.
    [[nodiscard]] bool loses() {
        const bool lost = happens(losses_.at(telegrams_), bad_ ? in_bad_ : in_good_);
        if (happens(states_.at(telegrams_), bad_ ? bad_to_good_ : good_to_bad_)) bad_ = !bad_;
        ++telegrams_;
        return lost;
    }
    /// Passes over telegrams that are not lost and leave a good state good.
    void stay_good(std::uint64_t telegrams) { telegrams_ += telegrams; }
    /// Passes over one telegram of which it is known what comes after it.
    void go_on(bool bad) {
        ++telegrams_;
        bad_ = bad;
    }
    /// The state that the next telegram will find.
    [[nodiscard]] bool bad() const { return bad_; }

  private:
    std::uint64_t good_to_bad_, bad_to_good_, in_good_, in_bad_;  ///< thresholds
    Random states_, losses_;
    std::uint64_t telegrams_ = 0;
    bool bad_ = false;
};

}  // namespace sim
