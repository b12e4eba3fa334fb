#pragma once
// What is wrong with one end while a fault of an end lasts: off, not scanning, frozen, or with a clock of its own pace.
#include <algorithm>
#include <cstdint>
#include <limits>

#include "proto/time.hpp"

namespace sim {

using proto::Duration;
using proto::Instant;

/// A clock that is fast or slow by some millionths. It never jumps: a new pace begins where the old one was.
class DriftingClock {
  public:
    void set_pace(std::int64_t ppm, Instant now) {
        local_ = local(now);
        true_ = now;
        ppm_ = ppm;
    }
    /// What it says at the true time `now`, not before its pace was last set; rounded down.
    [[nodiscard]] Instant local(Instant now) const {
        const std::int64_t passed = (now - true_).ns;
        return local_ + Duration{passed + scaled(passed, ppm_, million)};
    }
    /// The first true instant at which it says `at` or later; `at` itself never for never.
    [[nodiscard]] Instant true_of(Instant at) const {
        if (at == proto::never) return at;
        const std::int64_t passed = (at - local_).ns;
        Instant found = true_ + Duration{passed - scaled(passed, ppm_, million + ppm_)};
        while (local(found) < at) found = found + Duration{1};
        return found;
    }

  private:
    static constexpr std::int64_t million = 1'000'000;
    static std::int64_t scaled(std::int64_t value, std::int64_t times, std::int64_t by) {
        if (times == 0) return 0;
        const auto exact = __extension__ static_cast<__int128>(value) * times;
        const auto whole = static_cast<std::int64_t>(exact / by);
        return exact % by < 0 ? whole - 1 : whole;
    }
    Instant true_{}, local_{};
    std::int64_t ppm_ = 0;
};

struct FailingEnd {
    static constexpr Instant long_ago{std::numeric_limits<std::int64_t>::min()};  ///< live runs begin before time 0
    Instant off_until = long_ago;    ///< without power before that: what arrives is lost
    Instant still_until = long_ago;  ///< not scanned before that
    bool frozen = false;
    DriftingClock clock;

    /// When a scan that its own clock puts at `own` really happens.
    [[nodiscard]] Instant deadline(Instant own) const { return std::max(clock.true_of(own), still_until); }
};

}  // namespace sim
