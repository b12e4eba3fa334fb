#pragma once
// Passes over periods in which nothing happens but ordinary telegrams: what an end makes of them is in
// Endpoint::skip(), what the channel promises about them in sim/channel/quiet_telegrams.hpp.
#include <array>
#include <cstdint>
#include <optional>

#include "sim/drive/judged_run.hpp"

namespace sim {

class PassingOver {
  public:
    /// For a run without faults and demands; it must outlive this.
    explicit PassingOver(JudgedRun& run) : run_(run) {}

    /// Sums up how both ends and what is on the way stand, relative to the time now: equal values mean that, with
    /// ordinary telegrams, the same will happen again. Nothing where something is not in order.
    [[nodiscard]] std::optional<std::uint64_t> standing() const;

    /// What one quiet period does.
    struct Period {
        std::array<proto::QuietPeriod, 2> ends;    ///< by End
        std::array<std::uint64_t, 2> telegrams{};  ///< offered, by Direction
        std::uint64_t cycles = 0;
    };
    /// As if `periods` of these had passed since the last event. Requires that one has just passed, that nobody acts in
    /// the time and that the channel's telegrams were foreseen.
    void skip(std::uint64_t periods, const Period& period);

  private:
    JudgedRun& run_;
};

}  // namespace sim
