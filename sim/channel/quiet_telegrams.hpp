#pragma once
// What a telegram of one direction does when nothing happens to it, and the odds that something does: the channel's
// promise of quiet. A telegram is ordinary if it is neither lost nor bent and reaches its receiver before the very scan
// for which most telegrams sent at that point come in time; where in the time before that scan changes nothing. Every
// other one is strange. So ordinary telegrams need not be looked at one by one, and the gap to the next strange one is
// geometric.
#include <cstdint>
#include <optional>
#include <vector>

#include "proto/time.hpp"
#include "sim/channel/bit_errors.hpp"
#include "sim/channel/delay.hpp"
#include "sim/channel/delay_law.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// Scans at `phase`, `phase` + `period` and so on.
struct ScanGrid {
    Duration period{}, phase{};
    /// The first scan at or after an instant, which may lie before the first one.
    [[nodiscard]] proto::Instant at_or_after(proto::Instant instant) const;
};

/// What is wrong with a strange telegram; `delay` is its whole delay, strange or not.
struct Strangeness {
    bool lost = false;
    bool bent = false;
    bool turns_bad = false;  ///< afterwards the burst chain is in its bad state
    std::uint64_t bend_draw = 0;
    Duration delay{};
};

class QuietTelegrams {
  public:
    /// Nothing where telegrams of that direction are never alike: a queue of other traffic in front of them, or no
    /// order where two of them may change places. `repeats_after`: scans and stamps of both ends repeat after so long;
    /// a multiple of both grids' periods. `bits`: of one telegram.
    static std::optional<QuietTelegrams> make(const ChannelSettings& settings, ScanGrid sender, ScanGrid receiver,
                                              Duration repeats_after, unsigned bits, Random draws);

    /// Which scan of the sender, within the time after which all repeats, sends at `sent`.
    [[nodiscard]] std::size_t place_of(proto::Instant sent) const;
    [[nodiscard]] bool ordinary(std::size_t place, Duration delay) const {
        return places_[place].low <= delay && delay <= places_[place].high;
    }
    /// The odds that a telegram sent there is strange, while the burst chain is good.
    [[nodiscard]] double strange(std::size_t place) const { return places_[place].strange; }
    /// Two telegrams that one scan sends always arrive in their order.
    [[nodiscard]] bool keeps_order() const { return keeps_order_; }

    /// A delay of an ordinary telegram, by the law of its delays under that condition.
    [[nodiscard]] Duration draw_ordinary(std::size_t place);
    /// A strange telegram, by the law of all under the condition that it is one.
    [[nodiscard]] Strangeness draw_strange(std::size_t at);

  private:
    struct Part {
        std::int64_t low = 0;
        std::uint64_t values = 0;
        double weight = 0.0;  ///< running sum, up to this one
    };
    struct Place {
        Duration low{}, high{};
        double late = 0.0;     ///< odds of a delay outside
        double strange = 0.0;  ///< of anything
        std::vector<Part> outside;
    };
    QuietTelegrams(const DelayShape& shape, Random draws) : delays_(shape), draws_(draws) {}
    /// Losses and bit errors of a telegram of so many bits.
    void take_odds(const ChannelSettings& settings, unsigned bits);
    /// A place whose ordinary delays are low..high, with those outside; its odds are left to the caller.
    static Place place_within(Duration low, Duration high, const std::vector<DelayPiece>& cells);
    [[nodiscard]] double even() { return static_cast<double>(draws_.at(made_++) >> 11) * 0x1p-53; }

    DelayTable delays_;
    ScanGrid sender_;
    std::vector<Place> places_;
    double lost_ = 0.0, turns_ = 0.0, bent_ = 0.0;
    std::uint64_t bent_below_ = 0;  ///< threshold of "a bit is flipped"
    bool keeps_order_ = true;
    Random draws_;
    std::uint64_t made_ = 0;
};

}  // namespace sim
