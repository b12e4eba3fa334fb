#include "sim/odds/delay_chance.hpp"

#include <algorithm>

#include "sim/channel/delay_law.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {

DelayChance::DelayChance(const DelayShape& shape) : longest_(latest_of(shape).ns), shortest_(shortest_of(shape).ns) {
    const std::vector<DelayPiece> pieces = pieces_of(shape);
    double total = 0.0;
    for (const DelayPiece& piece : pieces) total += piece.weight;
    for (const DelayPiece& piece : pieces) cells_.push_back({piece.low.ns, piece.high.ns, piece.weight / total});
    std::stable_sort(cells_.begin(), cells_.end(), [](const Cell& a, const Cell& b) { return a.low < b.low; });
    for (std::size_t i = 1; i < cells_.size(); ++i) apart_ = apart_ && cells_[i].low > cells_[i - 1].high;
}

double DelayChance::between(std::int64_t after, std::int64_t until) const {
    auto cell = cells_.begin();
    if (apart_) cell = std::partition_point(cell, cells_.end(), [after](const Cell& one) { return one.high <= after; });
    double sum = 0.0;
    for (; cell != cells_.end() && cell->low <= until; ++cell) {
        const std::int64_t from = std::max(cell->low, after + 1);
        const std::int64_t to = std::min(cell->high, until);
        if (from > to) continue;
        sum += cell->share * (static_cast<double>(to - from + 1) / static_cast<double>(cell->high - cell->low + 1));
    }
    return sum;
}

std::int64_t DelayChance::quantile(double share) const {
    std::int64_t low = shortest_ - 1;  // less than the share lies at or below it
    std::int64_t high = longest_;
    while (high - low > 1) {
        const std::int64_t middle = low + (high - low) / 2;
        (at_most(middle) < share ? low : high) = middle;
    }
    return high;
}

}  // namespace sim
