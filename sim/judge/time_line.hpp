#pragma once
// What changed in a run and when: the states of both ends, the signals as they use them, the speed of the machine.
// Drawn when somebody asks for it; it judges nothing.
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "proto/endpoint.hpp"
#include "sim/judge/events.hpp"
#include "sim/plant/machine.hpp"

namespace sim {

struct Scenario;

class TimeLine {
  public:
    /// Of each kind so many changes are kept, the first ones; how many more there were is counted.
    static constexpr std::size_t changes_max = 200'000;

    struct StateChange {
        Instant at;
        proto::State state{};
        proto::Cause cause{};
        std::optional<proto::Measure> measure;  ///< for a watchdog or a rejected telegram
    };
    struct SignalChange {
        Instant at;
        std::uint64_t used = 0;  ///< one bit per signal that the end receives, or sends; 0 also as substitute value
    };
    /// Safeguards as their contacts stand, one bit each: 1 free.
    struct ContactChange {
        Instant at;
        std::uint64_t free = 0;
    };
    struct ValueChange {
        Instant at;
        ValueWord values;  ///< as the end means or uses them
    };
    using Corner = MachineModel::Corner;

    explicit TimeLine(const Scenario& scenario);

    // ---- told in the order of true time ----
    using hears = std::tuple<Changed, InUse, OutputsOff, MachineTold, Contacted, Computed, DriveSlows, ValuesMeant,
                             ValuesInUse, SpeedLimited>;
    void hear(const Changed& changed);
    void hear(const InUse& in_use);
    void hear(const OutputsOff& off);
    void hear(const MachineTold& told);
    void hear(const Contacted& contacted);
    void hear(const Computed& computed);
    void hear(const DriveSlows& drive) {
        if (machine_) machine_->let_slow(drive.slows);
    }
    void hear(const ValuesMeant& meant);
    void hear(const ValuesInUse& in_use);
    void hear(const SpeedLimited& limited);
    /// The run ends here: what is told afterwards is not drawn.
    void finish(Instant end);

    // ---- asked afterwards ----
    [[nodiscard]] Instant end() const { return end_; }
    /// Before the first change an end starts up.
    [[nodiscard]] const std::vector<StateChange>& states(End end) const { return states_[index(end)]; }
    /// Before the first change every signal has its substitute value, 0.
    [[nodiscard]] const std::vector<SignalChange>& signals(End end) const { return signals_[index(end)]; }
    /// What the end computes for the signals that it sends; before the first change every one is 0.
    [[nodiscard]] const std::vector<SignalChange>& computed(End end) const { return computed_[index(end)]; }
    /// What the end means by the values that it sends, and those that it uses; before the first change every one is its
    /// substitute. Empty without values.
    [[nodiscard]] const std::vector<ValueChange>& values_meant(End end) const { return meant_[index(end)]; }
    [[nodiscard]] const std::vector<ValueChange>& values_used(End end) const { return values_[index(end)]; }
    /// Before the first change every safeguard is free.
    [[nodiscard]] const std::vector<ContactChange>& contacts() const { return contacts_; }
    /// Of a machine, from standing at time 0 to the end; empty without one.
    [[nodiscard]] const std::vector<Corner>& speed() const { return speed_; }
    /// Changes that came when there was no room left.
    [[nodiscard]] std::uint64_t left_out() const { return left_out_; }

  private:
    [[nodiscard]] static std::size_t index(End end) { return static_cast<std::size_t>(end) & 1; }
    template <class Change>
    void keep(std::vector<Change>& list, const Change& change);
    void turn(Instant at, std::int64_t um_s);
    template <class Act>
    void move(Instant at, Act act);

    std::array<std::vector<StateChange>, 2> states_;
    std::array<std::vector<SignalChange>, 2> signals_, computed_;
    std::array<std::vector<ValueChange>, 2> meant_, values_;
    std::vector<ContactChange> contacts_;
    std::uint64_t free_ = ~std::uint64_t{0};
    std::array<std::uint64_t, 2> used_{};
    std::optional<MachineModel> machine_;
    std::vector<Corner> speed_;
    std::uint64_t left_out_ = 0;
    Instant end_{};
    bool finished_ = false;
};

/// Hears for a time line that may not be there.
class LineIfAny {
  public:
    explicit LineIfAny(TimeLine* line) : line_(line) {}
    using hears = TimeLine::hears;
    void hear(const Changed& fact) { pass_on(fact); }
    void hear(const InUse& fact) { pass_on(fact); }
    void hear(const OutputsOff& fact) { pass_on(fact); }
    void hear(const MachineTold& fact) { pass_on(fact); }
    void hear(const Contacted& fact) { pass_on(fact); }
    void hear(const Computed& fact) { pass_on(fact); }
    void hear(const DriveSlows& fact) { pass_on(fact); }
    void hear(const ValuesMeant& fact) { pass_on(fact); }
    void hear(const ValuesInUse& fact) { pass_on(fact); }
    void hear(const SpeedLimited& fact) { pass_on(fact); }

  private:
    template <class F>
    void pass_on(const F& fact) {
        if (__builtin_expect(line_ != nullptr, 0)) line_->hear(fact);
    }
    TimeLine* line_;
};

}  // namespace sim
