#pragma once
// The observer knows the truth about every telegram and value, and judges what the endpoints made of them. It is no
// part of what it judges: endpoints and channel never ask it anything.
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

#include "proto/endpoint.hpp"
#include "sim/judge/events.hpp"
#include "sim/judge/motion.hpp"
#include "sim/judge/result.hpp"
#include "sim/judge/value_watch.hpp"
#include "sim/plant/machine.hpp"
#include "sim/scenario/ends.hpp"

namespace sim {

struct Scenario;

/// The limits by which the observer judges, per direction.
struct Limits {
    std::array<Duration, 2> required{};  ///< age of a value in use, from sampling to output
    Duration demand_required{};          ///< from a demand's contact to the output
    /// Of a link of a cell, by safeguard: how much longer its demand may take on other links before; empty: none does.
    std::vector<Duration> demand_beyond = {};
    Duration settle{};  ///< how long after a fault's last telegram an effect may still be its own
    /// Per fault of the scenario: from injection to the end of the hazard; nothing where none can be stated.
    std::vector<std::optional<Duration>> allowed;
    /// After a failure of the link the hazard has ended at reduced speed, else only at standstill.
    bool reduced_speed_counts = false;
};

/// Stops for nothing that began at one end, by what made it stop.
struct SpuriousTrips {
    std::uint64_t by_watchdog = 0;
    std::uint64_t by_rejection = 0;
    [[nodiscard]] std::uint64_t all() const { return by_watchdog + by_rejection; }
};

class Observer final {
  public:
    Observer(const Scenario& scenario, Limits limits);
    /// As if made anew, for the faults and demands that the scenario now has.
    void begin_again(const Limits& limits);

    // ---- told by the driver, in the order of true time ----
    using hears =
        std::tuple<Produced, Concluded, Changed, Connected, Acknowledged, InUse, OutputsOff, Demanded, OutputUsed,
                   MachineTold, Touched, Contacted, DriveSlows, ValuesMeant, ValuesInUse, SpeedLimited>;
    [[gnu::always_inline]] void hear(const Produced& produced);
    [[gnu::always_inline]] void hear(const Concluded& concluded);
    void hear(const Changed& changed);
    void hear(const Connected& connected);
    void hear(const Acknowledged& acknowledged);
    [[gnu::always_inline]] void hear(const InUse& in_use);
    void hear(const OutputsOff& off);
    void hear(const Demanded& demanded);
    void hear(const OutputUsed& output);
    void hear(const MachineTold& told);
    void hear(const Touched& touched);
    void hear(const Contacted& contacted);
    void hear(const DriveSlows& drive) {
        if (machine_) machine_->let_slow(drive.slows);
    }

    template <class F>
    requires is_of_values<F>
    void hear(const F& fact) { hear_values(fact); }

    // ---- asked by the driver ----
    [[nodiscard]] bool demand_open() const { return !open_demands_.empty(); }
    [[nodiscard]] std::uint64_t digest() const { return digest_; }
    /// Both ends have run.
    [[nodiscard]] bool link_started() const { return started_; }
    [[nodiscard]] std::uint64_t exchanges() const {
        return accepted_[static_cast<std::size_t>(Direction::to_controller)];
    }

    /// The longest that a demand took to the output, and the oldest value that was used and replaced so far.
    struct Worst {
        Duration demand{}, age{};
    };
    [[nodiscard]] Worst worst(Direction direction) const { return {slowest_demand_, ways_[index(direction)].oldest}; }
    [[nodiscard]] const SpuriousTrips& spurious_trips(End end) const { return spurious_[index(end)]; }
    [[nodiscard]] std::uint64_t dangerous_events() const { return dangerous_count_; }

    /// So much time passed in which each end accepted so many telegrams (by Direction), all of them as the last one,
    /// and nothing else happened. What is on the way counts as made later by that time.
    void pass_over(Duration by, const std::array<std::uint64_t, 2>& accepted);

    /// Ends the observation at `now` and fills in what was seen.
    void finish(RunResult& result, Instant now);

    /// The demands as of `until`, perhaps later than anything that was told: a stop under way goes on as it is.
    [[nodiscard]] std::vector<DemandResult> demands_until(Instant until) const;

  private:
    /// Everything that makes runs comparable goes through here.
    void mix(std::uint64_t value) {
        digest_ = (digest_ ^ value) * 0x9E3779B97F4A7C15ULL;
        digest_ ^= digest_ >> 29;
    }

    static constexpr std::uint64_t ring = 1024;
    static constexpr std::size_t none = ~std::size_t{0};
    struct Made {
        Instant sampled;
        std::uint64_t signals = 0;
    };
    /// One direction, as seen by its receiver.
    struct alignas(64) Way {
        std::uint64_t next_instance = 1;
        std::uint64_t first_of_connection = 1;
        std::uint64_t last_accepted = 0;
        // what the receiver's application uses
        std::uint64_t used_signals = 0;
        Instant used_sampled{};
        std::uint64_t current_instance = 0;  ///< last accepted, in use after this scan
        std::uint32_t current_injection = 0;
        bool current_expected = true;  ///< false once a wrong telegram was accepted: it cannot be dated
        bool meaning_differs = false;  ///< reported already
        Duration oldest{};             ///< the largest age of a value in use
    };
    struct SeenDemand {
        std::size_t demand = 0;
        Instant since{};
        std::uint64_t modes = 0;
        bool muted = false;
        bool reaches_output = true;
        bool link_ran = false;
        bool reached = false;  ///< the output
        Instant reached_at{};
        bool freed = false;  ///< its guard is free again
        /// When the machine was started once more, its guard free, before it had come to what was commanded; and when
        /// it would have come to it.
        std::optional<Instant> set_going, would_be_reduced, would_stand;
        Motion motion;
    };
    struct Track {
        bool fired = false;
        bool open = false;
        bool tripped = false;
        bool rejected = false;
        bool dangerous = false;
        bool both_ways = false;
        bool link_had_run = false;  ///< when it touched something, or had an effect
        Direction direction = Direction::to_device;
        Instant since{}, last{};
        std::uint64_t telegrams = 0;
        std::optional<proto::Measure> detected_by, owing_to;
        proto::MeasureSet also_by;
        std::optional<End> detected_end;
        Instant detected_at{};
        std::array<std::optional<Instant>, 2> safe_at;
        Motion motion;
        std::string why;
    };
    struct OpenDemand {
        std::size_t demand = 0;
        std::uint64_t signals = 0;
        Instant since;
        std::size_t seen = 0;  ///< index in demands_
        bool late = false;
    };
    [[nodiscard]] Duration required_of(const OpenDemand& open) const;

    // `& 1`: both have two values, and an index that shows it needs no check at each use
    [[nodiscard]] static std::size_t index(Direction d) { return static_cast<std::size_t>(d) & 1; }
    [[nodiscard]] static std::size_t index(End e) { return static_cast<std::size_t>(e) & 1; }
    [[nodiscard]] static Direction toward(End end) {
        return end == End::device ? Direction::to_device : Direction::to_controller;
    }
    [[nodiscard]] bool both_running() const {
        return state_[0] == proto::State::running && state_[1] == proto::State::running;
    }
    /// The fault to which something is put down: the one that touched the telegram, else the last still open, or none.
    std::size_t responsible(std::uint32_t injection, Instant now);
    void rejected(End end, const Tag& tag, const proto::Verdict& verdict, Instant now);
    void stopped(End end, const proto::Transition& transition, Instant now);
    void danger(std::size_t fault, Instant at, std::string why);
    void check_age(Way& way, Direction direction, Instant now);
    void accepted_wrong(End end, const Tag& tag, Instant now);
    void too_old(const Way& way, Direction direction, Duration age, Instant now);
    void other_meaning(Way& way, End end, std::uint64_t wrong, Instant now);
    void hear_values(const ValuesMeant& meant);
    void hear_values(const ValuesInUse& in_use);
    void hear_values(const SpeedLimited& limited);
    void tell_late_values(Direction direction, Instant now);
    [[nodiscard]] std::string_view end_name(End end) const;
    /// The link of the cell that a telegram came from; requires a fault that brought it.
    [[nodiscard]] const std::string& other_link_of(const Tag& tag) const;
    void judge(RunResult& result, std::size_t fault, Instant now) const;
    void first_ran(Instant now);
    void end_motions(Instant now);
    static void tell_motion(const Track& track, Instant now, InjectionResult& r);
    void judge_motion(const Track& track, InjectionResult& r) const;
    [[nodiscard]] Outcome outcome_of(const Track& track, const Fault& injected) const;
    [[nodiscard]] static DemandResult judged(const SeenDemand& seen, Instant now);

    // What each exchange asks for lies together: with many links in turn each line of memory counts.
    alignas(64) std::uint64_t digest_ = 0;
    std::array<std::uint64_t, 2> accepted_{};
    std::uint64_t first_bits_ = 0, second_bits_ = 0;  ///< signals: of pairs
    std::array<proto::State, 2> state_{proto::State::start_up, proto::State::start_up};
    Limits limits_;
    std::array<Way, 2> ways_;
    /// By instance and Direction: what both ends make at about the same time lies side by side.
    alignas(64) std::array<std::array<Made, 2>, ring> made_{};
    const Scenario& scenario_;
    std::array<std::size_t, 2> last_rejected_{none, none};  ///< fault behind the last rejection at each end
    std::vector<Track> tracks_;
    ValueWatch values_;
    std::vector<std::size_t> open_;  ///< fired and not closed, the most recently begun last
    std::vector<OpenDemand> open_demands_;
    std::vector<SeenDemand> demands_;
    std::vector<std::size_t> followed_;    ///< those whose motion is not over, by their place
    std::optional<MachineModel> machine_;  ///< moves as the true one does
    std::vector<DangerousEvent> dangerous_;
    std::uint64_t dangerous_count_ = 0;
    std::array<SpuriousTrips, 2> spurious_{};  ///< by End
    std::uint64_t stops_ = 0, acknowledgements_ = 0;
    Duration slowest_demand_{};
    bool started_ = false;
    bool machine_started_ = false;
};

// What happens in every exchange stands here, so that it is compiled into the driver's loop; the rest is
// observer.cpp's.

inline void Observer::hear(const Produced& produced) {
    const auto [direction, signals, now] = produced;
    Way& way = ways_[index(direction)];
    const std::uint64_t instance = way.next_instance++;
    made_[instance % ring][index(direction)] = {now, signals};
    mix(static_cast<std::uint64_t>(now.ns) ^ signals << 1 ^ static_cast<std::uint64_t>(direction));
}

inline void Observer::hear(const Concluded& concluded) {
    using Kind = proto::Verdict::Kind;
    const auto& [end, token, verdict, now] = concluded;
    const std::uint64_t kind_bits = static_cast<std::uint64_t>(verdict.kind) << 56 | std::uint64_t{verdict.number} << 8;
    mix(static_cast<std::uint64_t>(now.ns) + kind_bits + static_cast<std::uint64_t>(end));
    if (__builtin_expect(verdict.kind == Kind::fresh, 1)) {
        const Direction direction = toward(end);
        Way& way = ways_[index(direction)];
        const Tag tag = Tag::from(token);
        ++accepted_[index(direction)];
        way.current_instance = tag.instance;
        way.current_injection = tag.injection;
        // the truth about what was accepted
        way.current_expected = tag.as_produced(0, direction) && tag.instance > way.last_accepted &&
                               tag.instance >= way.first_of_connection;
        if (__builtin_expect(way.current_expected, 1))
            way.last_accepted = tag.instance;
        else
            accepted_wrong(end, tag, now);
    } else if (verdict.kind == Kind::rejected) {
        rejected(end, Tag::from(token), verdict, now);
    }
}

inline void Observer::check_age(Way& way, Direction direction, Instant now) {
    if (way.used_signals == 0 && !values_.permits(direction)) return;  // only substitute values were in use
    const Duration age = now - way.used_sampled;
    if (age > way.oldest) way.oldest = age;
    if (__builtin_expect(age > limits_.required[index(direction)], 0)) too_old(way, direction, age, now);
}

inline void Observer::hear(const InUse& in_use) {
    const auto [end, signals, now] = in_use;
    const Direction direction = toward(end);
    Way& way = ways_[index(direction)];
    if (state_[index(end)] != proto::State::running) {
        way.used_signals = 0;
        return;
    }
    check_age(way, direction, now);
    const Made& made = made_[way.current_instance % ring][index(direction)];
    way.used_signals = signals & ~second_bits_;  // which permit nothing by themselves
    way.used_sampled = way.current_expected ? made.sampled : now;
    // what the receiver reads is not what the sender meant
    if (__builtin_expect(way.current_expected && signals != made.signals, 0))
        other_meaning(way, end, signals ^ made.signals, now);
    else
        way.meaning_differs = false;
}

/// Milliseconds with three decimals, for sentences.
std::string in_ms(Duration d);

}  // namespace sim
