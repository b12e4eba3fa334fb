#pragma once
// The slots from one burst of other traffic to the next: geometric, by a table instead of a logarithm each time.
#include <array>
#include <cstdint>
#include <vector>

namespace sim {

class BurstGaps {
  public:
    /// `chance` of a burst in a slot: at 1 and above in each, at 0 and below never. No gap is over `most`.
    BurstGaps(double chance, std::int64_t most);
    /// The gap that belongs to an even draw, 1 or more; what is beyond the table by the formula.
    [[nodiscard]] std::int64_t at(std::uint64_t draw) const {
        std::uint32_t gap = guide_[static_cast<std::size_t>(draw >> guide_shift)];
        if (gap == 0) return beyond(draw);
        while (gap < until_.size() && draw >= until_[gap - 1]) ++gap;
        return gap < until_.size() ? static_cast<std::int64_t>(gap) : beyond(draw);
    }

  private:
    static constexpr unsigned guide_shift = 56;
    [[nodiscard]] std::int64_t beyond(std::uint64_t draw) const;

    std::vector<std::uint64_t> until_;        ///< [gap - 1]: draws below have at most that gap
    std::array<std::uint32_t, 256> guide_{};  ///< by the first bits of a draw: the least gap that it may have; 0: none
    double log_none_ = 0.0;                   ///< logarithm of the chance that none comes in a slot
    std::int64_t most_ = 1;
    bool in_each_ = false;
};

}  // namespace sim
