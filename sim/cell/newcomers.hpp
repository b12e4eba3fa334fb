#pragma once
// Which telegrams a channel takes with one offer: the one offered, and those that faults send besides.
#include <algorithm>
#include <array>
#include <cstddef>

#include "sim/channel/channel.hpp"

namespace sim {

class Newcomers {
  public:
    /// Made before the offer; the channel must outlive it.
    explicit Newcomers(const Channel& channel) : channel_(channel) {
        channel.for_each_on_the_way([this](const Passage& passage, const Telegram&) { before_[count_++] = &passage; });
    }
    /// Those that came since, the next to arrive first: calls look(passage, telegram).
    template <class Look>
    void for_each(Look look) const {
        const auto end = before_.begin() + static_cast<std::ptrdiff_t>(count_);
        channel_.for_each_on_the_way([&](const Passage& passage, const Telegram& telegram) {
            if (std::find(before_.begin(), end, &passage) == end) look(passage, telegram);
        });
    }

  private:
    const Channel& channel_;
    std::size_t count_ = 0;
    std::array<const Passage*, Channel::slots> before_;  // left uninitialised: `count_` says what counts
};

/// Where nobody asks.
struct NoNewcomers {
    explicit NoNewcomers(const Channel&) {}
};

}  // namespace sim
