#pragma once
// When a fault acts: its begin and its extent, as fault_stages.hpp describes them.
#include <array>
#include <cstdint>
#include <optional>

#include "sim/channel/channel.hpp"
#include "sim/channel/surroundings.hpp"
#include "sim/scenario/faults.hpp"

namespace sim {

class Trigger {
  public:
    /// Which links a fault looks at.
    enum class Links : std::uint8_t { own, both };

    /// Requires `around`, which must outlive it, for a fault with a condition.
    Trigger(const Fault& fault, Links links, const Surroundings* around = nullptr);

    /// Whether the fault acts on this telegram, and then since when it acts. To be called once for each telegram
    /// offered while not quiet.
    [[nodiscard]] std::optional<Instant> acts_on(const Passage& passage);
    [[nodiscard]] Quiet quiet() const;
    /// Telegrams of link 0 within the extent so far.
    [[nodiscard]] std::uint64_t seen(Direction direction) const { return lanes_[lane_of(0, direction)].seen; }

  private:
    /// One direction of one link.
    struct Lane {
        bool meant = false;  ///< the fault acts on it at all
        bool begun = false;
        bool done = false;
        std::uint64_t seen = 0;  ///< telegrams within the extent
    };
    [[nodiscard]] bool begins_with(const Passage& passage) const;
    [[nodiscard]] bool own_direction_begun(Direction direction) const { return lanes_[lane_of(0, direction)].begun; }
    /// All that the fault's condition asks for is so now.
    [[nodiscard]] bool holds(Instant now) const;
    /// The event that ends the fault has happened since the first call, which is to come with the fault's begin.
    [[nodiscard]] bool ended(Instant now);
    [[nodiscard]] bool touches(Lane& lane) const { return lane.seen++ % every_ == 0; }
    [[nodiscard]] std::optional<Instant> within_duration(const Passage& passage, Lane& lane);
    [[nodiscard]] std::optional<Instant> within_count(const Passage& passage, Lane& lane);

    std::optional<Instant> at_;
    std::uint64_t ordinal_ = 0;  ///< with which it begins, if there is no time
    std::optional<Duration> lasting_;
    bool in_time_ = false;  ///< acts on all that is offered for a time, not on so many
    std::uint64_t times_ = 1;
    std::uint64_t every_ = 1;
    std::array<Lane, lane_count> lanes_;
    std::optional<Instant> begun_at_;    ///< in time: the one begin
    std::optional<Instant> acts_since_;  ///< in time, if the fault comes and goes: the first telegram touched
    bool over_ = false;                  ///< in time
    FaultCondition when_;
    const Surroundings* around_;
    std::optional<std::uint64_t> happened_before_;  ///< the ending event, when the fault began
};

}  // namespace sim
