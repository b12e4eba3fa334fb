#include "sim/odds/burst_gaps.hpp"

#include <algorithm>
#include <cmath>

#include "sim/numeric/portable_math.hpp"

namespace sim {
namespace {

constexpr std::size_t gaps_most = 1000;

}  // namespace

BurstGaps::BurstGaps(double chance, std::int64_t most) : most_(most), in_each_(chance >= 1.0) {
    if (in_each_ || !(chance > 0.0)) return;
    log_none_ = portable_log1p(-chance);
    for (std::size_t gap = 1; gap <= gaps_most; ++gap) {
        const double at_most = -portable_expm1(static_cast<double>(gap) * log_none_);
        until_.push_back(static_cast<std::uint64_t>(std::min(at_most, 1.0 - 0x1p-53) * 0x1p64));
    }
    std::uint32_t gap = 1;
    for (std::uint64_t first = 0; first < guide_.size(); ++first) {
        while (gap < until_.size() && (first << guide_shift) >= until_[gap - 1]) ++gap;
        guide_[static_cast<std::size_t>(first)] = gap;
    }
}

std::int64_t BurstGaps::beyond(std::uint64_t draw) const {
    if (in_each_) return 1;
    if (!(log_none_ < 0.0)) return most_;
    const double left = (static_cast<double>(~draw >> 11) + 0.5) * 0x1p-53;
    const double gap = std::floor(portable_log(left) / log_none_) + 1.0;
    return gap < static_cast<double>(most_) ? static_cast<std::int64_t>(gap) : most_;
}

}  // namespace sim
