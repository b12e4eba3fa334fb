#include "sim/channel/delay.hpp"

#include <algorithm>
#include <cstddef>

#include "proto/contract.hpp"

namespace sim {

namespace {

std::uint64_t values_in(proto::Duration low, proto::Duration high) {
    proto::require(low.ns >= 0 && low <= high, "delay: bounds must be 0 <= low <= high");
    return static_cast<std::uint64_t>(high.ns - low.ns) + 1;
}

/// part / whole as a threshold of a 64-bit draw, rounded down; requires part < whole < 2^127. Long division, one bit
/// a step, since part * 2^64 would not fit.
std::uint64_t share(Wide part, Wide whole) {
    std::uint64_t quotient = 0;
    for (int bit = 0; bit < 64; ++bit) {
        part <<= 1;
        quotient <<= 1;
        if (part >= whole) {
            part -= whole;
            quotient |= 1;
        }
    }
    return quotient;
}

}  // namespace

DelayTable::DelayTable(const DelayShape& shape) {
    switch (shape.kind) {
        case DelayShape::Kind::constant:
            values_in(shape.low, shape.low);
            low_ = shape.low.ns;
            shortest_ = longest_ = shape.low;
            break;
        case DelayShape::Kind::uniform:
            values_ = values_in(shape.low, shape.high);
            low_ = shape.low.ns;
            shortest_ = shape.low;
            longest_ = shape.high;
            break;
        case DelayShape::Kind::histogram: build(shape.cells); break;
    }
    if (shape.block != 0) {
        proto::require(shape.series != nullptr && !shape.series->empty(), "delay: a block needs a series");
        block_ = shape.block;
        series_ = shape.series;
    }
    if (shape.tail.empty()) return;
    tail_below_ = threshold(shape.tail_share);
    tail_.emplace_back(DelayShape{.kind = DelayShape::Kind::histogram, .cells = shape.tail});
}

proto::Duration DelayTable::from_tail(std::uint64_t draw) const {
    return tail_.front().from_cells(scramble(draw + in_tail));
}

[[gnu::noinline]] proto::Duration DelayTable::in_block(const Random& draws, std::uint64_t n) const {
    if (const std::uint64_t draw = draws.at(n); tail_below_ != 0 && scramble(draw + decides_tail) < tail_below_)
        return from_tail(draw);
    const std::uint64_t start = scale(draws.at(n / block_), series_->size());
    return (*series_)[(start + n % block_) % series_->size()];
}

proto::Duration DelayTable::next_in_block(Place& place, std::uint64_t draw) const {
    if (place.left == 0) place = {scale(draw, series_->size()), block_};
    --place.left;
    const proto::Duration delay = (*series_)[place.next];
    place.next = place.next + 1 == series_->size() ? 0 : place.next + 1;
    return tail_below_ != 0 && scramble(draw + decides_tail) < tail_below_ ? from_tail(draw) : delay;
}

void DelayTable::build(const std::vector<DelayShape::Cell>& cells) {
    std::vector<Wide> left;  // weight still to be placed, times the number of cells, so that the mean is a whole number
    Wide total = 0;
    for (const DelayShape::Cell& cell : cells) {
        const std::uint64_t values = values_in(cell.low, cell.high);
        if (cell.weight == 0) continue;
        shortest_ = cells_.empty() ? cell.low : std::min(shortest_, cell.low);
        longest_ = std::max(longest_, cell.high);
        cells_.push_back({0, static_cast<std::uint32_t>(cells_.size()), cell.low.ns, values});
        left.push_back(cell.weight);
        total += cell.weight;
    }
    proto::require(!cells_.empty(), "delay: a histogram needs a cell with weight");
    proto::require(cells_.size() < (std::size_t{1} << 31), "delay: too many cells");

    std::vector<std::uint32_t> poor;  // with less than the mean
    std::vector<std::uint32_t> rich;  // with the mean or more
    for (std::uint32_t i = 0; i < left.size(); ++i) {
        left[i] *= left.size();
        (left[i] < total ? poor : rich).push_back(i);
    }
    // Each step fills one poor cell up to the mean from a rich one, so there are fewer steps than cells. While a poor
    // one is left a rich one is too, since the sum of what is left is the mean times the number of open cells.
    while (!poor.empty()) {
        const std::uint32_t to = poor.back();
        const std::uint32_t from = rich.back();
        poor.pop_back();
        cells_[to].keeps = share(left[to], total);
        cells_[to].other = from;
        left[from] -= total - left[to];
        if (left[from] < total) {
            rich.pop_back();
            poor.push_back(from);
        }
    }
    // What is left has exactly the mean and refers to itself.
}

}  // namespace sim
