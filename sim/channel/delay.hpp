#pragma once
// Delays of telegrams as integer tables: a draw of 64 bits becomes a delay in nanoseconds by integer arithmetic only,
// so that the same seed gives the same delays on every machine.
#include <cstdint>
#include <memory>
#include <vector>

#include "proto/time.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/channel.hpp"

namespace sim {

/// All bounds are inclusive: a uniform delay takes each whole nanosecond from `low` to `high` equally often, and so
/// does a histogram within a cell. A cell's share is its weight over the sum of the weights, to within 2^-63 per cell.
class DelayTable {
  public:
    /// Requires a valid shape: 0 <= low <= high, also in each cell, and at least one cell with weight for a histogram.
    explicit DelayTable(const DelayShape& shape);
    bool operator==(const DelayTable&) const = default;
    /// The delay that belongs to a 64-bit draw.
    [[nodiscard]] proto::Duration at(std::uint64_t draw) const {
        if (cells_.empty()) return {low_ + static_cast<std::int64_t>(scale(draw, values_))};
        if (tail_below_ != 0 && scramble(draw + decides_tail) < tail_below_) return from_tail(draw);
        return from_cells(draw);
    }
    /// That of the n-th telegram, by a stream of draws.
    [[nodiscard]] proto::Duration of(const Random& draws, std::uint64_t n) const {
        if (__builtin_expect(block_ != 0, 0)) return in_block(draws, n);
        return at(draws.at(n));
    }
    /// For who draws from telegram to telegram: where in a block the last one was.
    struct Place {
        std::uint64_t next = 0, left = 0;
    };
    [[nodiscard]] proto::Duration after(Place& place, std::uint64_t draw) const {
        if (__builtin_expect(block_ != 0, 0)) return next_in_block(place, draw);
        return at(draw);
    }
    /// No draw gives more, the tail of a formula left out.
    [[nodiscard]] proto::Duration longest() const { return longest_; }
    [[nodiscard]] proto::Duration shortest() const { return shortest_; }

  private:
    /// Alias method (Walker, Electronics Letters 10, 1974; Vose, IEEE Trans. Software Eng. 17, 1991): an even choice
    /// of a cell, which then keeps the draw or passes it on to one other cell.
    struct Cell {
        bool operator==(const Cell&) const = default;
        std::uint64_t keeps;   ///< threshold of a 64-bit draw under which the cell keeps it
        std::uint32_t other;   ///< index of the cell that gets it otherwise
        std::int64_t low;      ///< ns
        std::uint64_t values;  ///< whole nanoseconds in the cell, both bounds included
    };
    [[nodiscard]] proto::Duration from_cells(std::uint64_t draw) const {
        const Wide product = static_cast<Wide>(draw) * cells_.size();
        const auto index = static_cast<std::uint32_t>(product >> 64);
        // Bare, since an index below the number of cells, and `other` with it, needs no check a draw.
        const Cell* const cells = cells_.data();
        const Cell& chosen = cells[index];
        // By masks, since nobody can foretell which way a branch would go: a choice is a coin of its own each time.
        const std::uint32_t passes_on = static_cast<std::uint64_t>(product) < chosen.keeps ? 0 : ~std::uint32_t{0};
        const Cell& cell = cells[index ^ ((index ^ chosen.other) & passes_on)];
        // The place within the cell needs bits of its own: those of the choice are used up.
        const std::uint64_t place = scramble(draw + 0x9E3779B97F4A7C15ULL);
        return {cell.low + static_cast<std::int64_t>(scale(place, cell.values))};
    }
    [[nodiscard]] proto::Duration from_tail(std::uint64_t draw) const;
    [[nodiscard]] proto::Duration in_block(const Random& draws, std::uint64_t n) const;
    [[nodiscard]] proto::Duration next_in_block(Place& place, std::uint64_t draw) const;
    void build(const std::vector<DelayShape::Cell>& cells);

    // Whether a draw belongs to the tail, and where in it, is decided by bits of its own, so that all others give what
    // they give without a tail.
    static constexpr std::uint64_t decides_tail = 0xD1B54A32D192ED03ULL, in_tail = 0x8CB92BA72F3D8DD7ULL;

    std::uint64_t block_ = 0;
    std::uint64_t tail_below_ = 0;  ///< threshold of a 64-bit draw
    std::vector<Cell> cells_;       ///< histogram only; each has weight
    std::int64_t low_ = 0;          ///< ns, constant and uniform
    std::uint64_t values_ = 1;      ///< constant 1, uniform high - low + 1
    std::vector<DelayTable> tail_;  ///< none or one
    proto::Duration longest_{}, shortest_{};
    std::shared_ptr<const std::vector<proto::Duration>> series_;  ///< with a block; not empty
};

}  // namespace sim
