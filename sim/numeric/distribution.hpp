#pragma once
// Durations counted exactly, value by value: the same whatever the order in which they came. Takes room for each
// different value only.
#include <cstdint>
#include <optional>
#include <vector>

#include "proto/time.hpp"

namespace sim {

class Distribution {
  public:
    void add(proto::Duration value) {
        waiting_.push_back(value.ns);
        if (waiting_.size() >= at_once) settle();
    }
    [[nodiscard]] std::uint64_t count() const { return settled_ + waiting_.size(); }

    struct Points {
        proto::Duration median, p99, max;
    };
    /// The smallest value that at least half, 99 %, all are not above; nothing without values.
    [[nodiscard]] std::optional<Points> points();

  private:
    static constexpr std::size_t at_once = 1U << 16;
    struct Counted {
        std::int64_t value;
        std::uint64_t count;
    };
    void settle();

    std::vector<Counted> counted_;       ///< in order
    std::vector<std::int64_t> waiting_;  ///< not counted yet
    std::uint64_t settled_ = 0;
};

}  // namespace sim
