#pragma once
// Durations counted exactly, value by value: the same whatever the order in which they came. Takes room for each
// different value only, and for near ones a byte or two: some bytes for each nanosecond of their range at most, however
// many come.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "proto/time.hpp"

namespace sim {

class Distribution {
  public:
    void add(proto::Duration value) {
        waiting_.push_back(value.ns);
        if (waiting_.size() >= at_once_) settle();
    }
    [[nodiscard]] std::uint64_t count() const { return settled_ + waiting_.size(); }

    /// That it takes now.
    [[nodiscard]] std::size_t bytes() const { return counted_.capacity() + waiting_.capacity() * sizeof(std::int64_t); }

    struct Points {
        proto::Duration median, p99, max;
    };
    /// The smallest value that at least half, 99 %, all are not above; nothing without values.
    [[nodiscard]] std::optional<Points> points();

  private:
    static constexpr std::size_t at_once_least = 1U << 16;
    /// Puts all that waits among what is counted.
    void settle();

    /// The values in order, each as its difference to the one before with how often it came.
    std::vector<std::uint8_t> counted_;
    std::vector<std::int64_t> waiting_;  ///< not counted yet
    std::size_t at_once_ = at_once_least;
    std::uint64_t settled_ = 0;
};

}  // namespace sim
