#pragma once
// Probabilities of a delay, from the very histogram out of which the channel draws. Sums of positive terms only, so the
// far tail is as exact as the rest.
#include <cstdint>
#include <vector>

#include "sim/scenario/channel.hpp"

namespace sim {

class DelayChance {
  public:
    /// Requires a shape that the reader has accepted.
    explicit DelayChance(const DelayShape& shape);

    /// Of a delay in after < delay <= until, in nanoseconds.
    [[nodiscard]] double between(std::int64_t after, std::int64_t until) const;
    [[nodiscard]] double at_most(std::int64_t ns) const { return between(-1, ns); }
    [[nodiscard]] double above(std::int64_t ns) const { return between(ns, longest_); }
    [[nodiscard]] std::int64_t longest() const { return longest_; }
    [[nodiscard]] std::int64_t shortest() const { return shortest_; }
    /// The least delay that a share of at least `share` does not exceed. Requires 0 < share <= 1.
    [[nodiscard]] std::int64_t quantile(double share) const;

  private:
    struct Cell {
        std::int64_t low, high;  ///< ns, both included
        double share;
    };
    std::vector<Cell> cells_;  ///< by their lower ends
    bool apart_ = true;        ///< none begins before the one below it has ended
    std::int64_t longest_ = 0, shortest_ = 0;
};

}  // namespace sim
