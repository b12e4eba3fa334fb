#pragma once
// Durations counted value by value: the same whatever the order in which they came, and however they were shared out
// among distributions that were joined. Exact up to 16 384 different values; beyond, values that are near count as one,
// within steps of 2, 4, 8 … ns, just as wide as keeps their number within that bound, and what is told of them is
// rounded up. So it takes some hundred kB at most, however many come.
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "proto/time.hpp"

namespace sim {

class Distribution {
  public:
    static constexpr std::size_t steps_most = 16'384;

    void add(proto::Duration value) {
        waiting_.push_back(value.ns);
        if (waiting_.size() >= at_once_) settle();
    }
    /// All that the other one counted.
    void join(const Distribution& other);
    [[nodiscard]] std::uint64_t count() const { return settled_ + waiting_.size(); }

    /// That it takes now.
    [[nodiscard]] std::size_t bytes() const { return counted_.capacity() + waiting_.capacity() * sizeof(std::int64_t); }

    struct Points {
        proto::Duration median, p99;  ///< rounded up to the end of their step, but not above the maximum
        proto::Duration max;          ///< exact
        proto::Duration step;         ///< 1 ns: all is exact
    };
    /// The smallest value that at least half, 99 %, all are not above; nothing without values.
    [[nodiscard]] std::optional<Points> points();

    /// Appends all of it, for from_bytes().
    void to_bytes(std::vector<std::uint8_t>& into);
    /// What to_bytes() appended, taken off the front of `from`; nothing if it is not that.
    static std::optional<Distribution> from_bytes(std::span<const std::uint8_t>& from);

  private:
    static constexpr std::size_t at_once_least = 1U << 14;
    /// Puts all that waits among what is counted.
    void settle();
    /// As settle(), with what is in `other` as well, and in steps of 2^shift ns at least.
    void merge(const Distribution& other, unsigned shift);

    /// The steps in order, each as its difference to the one before with how often it came.
    std::vector<std::uint8_t> counted_;
    std::vector<std::int64_t> waiting_;  ///< not counted yet, ns
    std::size_t at_once_ = at_once_least;
    std::uint64_t settled_ = 0;
    std::int64_t longest_ = 0;  ///< of those settled, ns
    unsigned shift_ = 0;        ///< step n holds the values from n * 2^shift ns to (n + 1) * 2^shift - 1
};

}  // namespace sim
