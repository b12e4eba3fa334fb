#pragma once
// How plant time follows the time of those who look on: as fast, slower, or not at all.
#include <cstdint>

#include "proto/time.hpp"

namespace sim {

enum class Pace : std::uint8_t { paused, quarter, real };

class BenchClock {
  public:
    /// `plant`: the plant time at the onlooker's time `wall`.
    BenchClock(proto::Instant plant, proto::Instant wall) : plant_(plant), wall_(wall) {}

    /// From `wall` on. What was passed before stays passed.
    void set_pace(Pace pace, proto::Instant wall) {
        plant_ = at(wall);
        wall_ = wall;
        pace_ = pace;
    }
    [[nodiscard]] Pace pace() const { return pace_; }
    /// The plant time at `wall`, not before the time of the last change.
    [[nodiscard]] proto::Instant at(proto::Instant wall) const {
        const proto::Duration passed = wall > wall_ ? wall - wall_ : proto::Duration{};
        switch (pace_) {
            case Pace::paused: return plant_;
            case Pace::quarter: return plant_ + proto::Duration{passed.ns / 4};
            case Pace::real: return plant_ + passed;
        }
        return plant_;
    }

  private:
    proto::Instant plant_, wall_;
    Pace pace_ = Pace::real;
};

}  // namespace sim
