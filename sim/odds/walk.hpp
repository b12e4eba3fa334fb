#pragma once
// A link reduced to what makes it stop for nothing: times and numbers of telegrams, without their bytes. It walks cycle
// by cycle, can be copied at any cycle and continued with other draws, which is what splitting needs. Telegrams with
// flipped bits do not stop it: they count as lost, and are counted.
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/channel/delay.hpp"
#include "sim/numeric/random.hpp"
#include "sim/odds/burst_gaps.hpp"
#include "sim/odds/chain_odds.hpp"
#include "sim/odds/delay_chance.hpp"
#include "sim/odds/link_model.hpp"
#include "sim/scenario/channel.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

/// What all walks of a link draw from, by Direction.
struct WalkTables {
    explicit WalkTables(const LinkModel& link);
    std::vector<DelayTable> delays;
    std::vector<BurstGaps> gaps;
};

class LinkWalk {
  public:
    /// Both must outlive the walk. A load that ramps is taken as it is after the ramp.
    LinkWalk(const LinkModel& link, const WalkTables& tables, std::uint64_t seed);

    /// A copy goes on with other draws.
    void draw_from(std::uint64_t seed) { draws_ = {seed, 0}; }
    /// From one scan of the controller to the next. Why the link stopped in it, or nothing. Then it runs again at once.
    std::optional<StopCause> step();
    /// The least time that is left to one of the watchdogs, or to the age of what is accepted, after the last step.
    /// Behind other traffic: that will be left when the next telegram is found, if that traffic keeps to its mean.
    [[nodiscard]] std::int64_t left_ns() const;
    [[nodiscard]] std::uint64_t bent(Direction way) const { return ways_[static_cast<std::size_t>(way)].bent; }

  private:
    struct Draws {
        std::uint64_t key = 0, count = 0;
        std::uint64_t next() { return scramble(key + ++count * 0x9E3779B97F4A7C15ULL); }
        double even() { return (static_cast<double>(next() >> 11) + 0.5) * 0x1p-53; }
        bool happens(double probability) { return probability > 0.0 && even() < probability; }
    };
    struct Telegram {
        std::int64_t due;
        std::uint64_t number;
        bool bent;
        std::int64_t sent;       ///< its sender's stamp
        std::uint64_t feedback;  ///< number that its sender had last accepted
        std::int64_t echo;       ///< and when that was sent
    };
    struct Way {
        std::vector<Telegram> pending;  ///< by due time, equal ones as sent
        std::int64_t not_before = 0;
        bool bad = false;
        DelayTable::Place in_block = {};
        std::int64_t work = 0, work_at = 0;  ///< background traffic, ns
        std::int64_t next_burst = 0;         ///< slot in which one comes
        const BurstGaps* gaps = nullptr;     ///< with background traffic
        std::uint64_t bent = 0;
    };
    struct End {
        std::int64_t heard = 0;                         ///< last acceptance
        std::int64_t error = -(std::int64_t{1} << 62);  ///< last number that did not fit
        std::uint64_t number = 1;                       ///< last one sent (controller, streaming)
        std::uint64_t accepted = 0;                     ///< last one accepted
        bool waiting = false;
        std::int64_t accepted_sent = 0;  ///< when what was accepted last was sent
        /// How far ahead the peer's clock seems at most and at least, since it was read between the question and its
        /// answer, and how long that took.
        std::int64_t clock_lead = 0, clock_least = 0, clock_round = 0;
    };

    void send(Direction direction, std::uint64_t number, std::int64_t now);
    std::optional<std::int64_t> queue(Way& way, const BackgroundTraffic& traffic, std::int64_t now);
    std::optional<StopCause> scan(Direction direction, std::int64_t now);
    /// How a number fits what that way's receiver has accepted.
    struct Fit {
        bool fits = true;
        bool fresh = false;
        bool gap = false;  ///< what came between is missing
    };
    [[nodiscard]] Fit fit_of(std::uint64_t number, Direction direction) const;
    /// A telegram is looked at by its receiver: how it fits, and why the link stops, if it does.
    std::optional<StopCause> look_at(const Telegram& telegram, Fit fit, Direction direction, std::int64_t now);
    [[nodiscard]] bool too_old(const Telegram& telegram, Fit fit, Direction direction, std::int64_t now) const;
    /// An error was counted: why the link stops, if that one or the second within the interval stops it.
    std::optional<StopCause> count_error(Direction direction, StopCause cause, std::int64_t now);
    /// Of that way's receiver.
    void set_clock(Direction way);
    /// Until what is sent now would be too old, if it came by the shortest way.
    [[nodiscard]] std::int64_t age_left_ns(Direction way) const;
    [[nodiscard]] std::int64_t watchdog_left_ns() const;
    /// The receiver of that way sends what is due in its scan: so many answers, if it gives any.
    void send_due(Direction direction, unsigned answers, std::int64_t now);
    void run_again(std::int64_t now);
    /// How long a telegram sent at `until`, now or later, would wait if the other traffic kept to its mean.
    [[nodiscard]] std::int64_t waits(Direction direction, std::int64_t until) const;
    /// When the first telegram with that number comes, if one is on its way.
    [[nodiscard]] std::optional<std::int64_t> on_its_way(Direction direction, std::uint64_t number) const;
    [[nodiscard]] const EndModel& receiver(Direction way) const {
        return way == Direction::to_device ? link_->device : link_->controller;
    }
    [[nodiscard]] const End& sending(Direction way) const {
        return way == Direction::to_device ? controller_ : device_;
    }
    [[nodiscard]] End& receiving(Direction way) { return way == Direction::to_device ? device_ : controller_; }
    [[nodiscard]] const End& receiving(Direction way) const {
        return way == Direction::to_device ? device_ : controller_;
    }
    [[nodiscard]] const WayModel& model(Direction way) const {
        return way == Direction::to_device ? link_->to_device : link_->to_controller;
    }

    const LinkModel* link_;
    const std::vector<DelayTable>* delays_;  ///< of both ways
    const std::vector<BurstGaps>* gaps_;
    Draws draws_;
    std::array<Way, 2> ways_;
    End controller_, device_;
    std::int64_t now_ = 0, device_scan_ = 0;
};

}  // namespace sim
