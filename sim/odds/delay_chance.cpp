#include "sim/odds/delay_chance.hpp"

#include <algorithm>

#include "sim/timing/bounds.hpp"

namespace sim {

DelayChance::DelayChance(const DelayShape& shape) : longest_(longest_of(shape).ns), shortest_(shortest_of(shape).ns) {
    if (shape.kind != DelayShape::Kind::histogram) {
        cells_.push_back({shortest_, longest_, 1.0});
        return;
    }
    double total = 0.0;
    for (const DelayShape::Cell& cell : shape.cells) total += static_cast<double>(cell.weight);
    for (const DelayShape::Cell& cell : shape.cells)
        if (cell.weight != 0) cells_.push_back({cell.low.ns, cell.high.ns, static_cast<double>(cell.weight) / total});
}

double DelayChance::between(std::int64_t after, std::int64_t until) const {
    double sum = 0.0;
    for (const Cell& cell : cells_) {
        const std::int64_t from = std::max(cell.low, after + 1);
        const std::int64_t to = std::min(cell.high, until);
        if (from > to) continue;
        sum += cell.share * (static_cast<double>(to - from + 1) / static_cast<double>(cell.high - cell.low + 1));
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
