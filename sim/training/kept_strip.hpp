#pragma once
// Samples of a bench that stay: those around a moment that people will ask about later.
#include <array>
#include <cstdint>
#include <deque>
#include <optional>
#include <vector>

#include "proto/endpoint.hpp"

namespace sim {

using proto::Duration;
using proto::Instant;

/// A moment of the strip.
struct StripSample {
    Instant at{};
    std::array<proto::State, 2> states{};              ///< by End
    std::array<std::optional<Duration>, 2> silence{};  ///< since the last good telegram
    std::array<std::uint64_t, 2> received{};
    std::array<std::uint64_t, 2> safeguards_and_used{};  ///< bit i: signal i, as sent (0) and as used (1)
    std::uint64_t demanded = 0;                          ///< bit i: safeguard i is demanded, or latched
    std::int64_t speed_um_s = 0, position_um = 0;
};

class KeptStrip {
  public:
    /// From `before` before that moment, as far as `strip` reaches back, until `after` after it. In order of time.
    void keep_around(Instant moment, const std::deque<StripSample>& strip, Duration before, Duration after) {
        for (const StripSample& sample : strip)
            if (sample.at + before >= moment && (samples_.empty() || sample.at > samples_.back().at))
                samples_.push_back(sample);
        until_ = moment + after;
    }
    /// The newest sample: kept if it is one of those.
    void see(const StripSample& sample) {
        if (until_ && sample.at <= *until_) samples_.push_back(sample);
    }
    [[nodiscard]] const std::vector<StripSample>& samples() const { return samples_; }

  private:
    std::vector<StripSample> samples_;
    std::optional<Instant> until_;
};

/// What of a bench is drawn: from when on, and its samples.
struct BenchRecord {
    Instant begins{};
    std::deque<StripSample> latest;
    KeptStrip at_begin, around_stop;  ///< empty without a stop
    KeptStrip around_demands;         ///< the first ones on guards, by the scenario and by hand
    /// Of each end's first stop, by End: why, and with which watchdog.
    struct FirstStop {
        proto::Cause cause{};
        std::optional<proto::Measure> measure;
        Duration watchdog{};
    };
    std::array<std::optional<FirstStop>, 2> first_stops = {};
    std::size_t events_forgotten = 0;  ///< of those after the first Bench::first_events_kept
};

}  // namespace sim
