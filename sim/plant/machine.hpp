#pragma once
// The dangerous motion: it starts only by a deliberate act, and stops or slows down as its signals say.
#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "proto/time.hpp"
#include "sim/scenario/plant.hpp"

namespace sim {

using proto::Instant;

/// What the output tells the drive, in growing severity.
enum class DriveCommand : std::uint8_t { run, reduce, stop_category_2, stop_category_1, stop_category_0 };

class MachineModel {
  public:
    explicit MachineModel(Machine machine) : machine_(std::move(machine)), reduced_um_s_(machine_.reduced_speed_um_s) {}
    /// As it was at first.
    void begin_again() { *this = MachineModel(std::move(machine_)); }

    /// The output command changes at `now`. What was once commanded is completed: neither a milder command nor its end
    /// changes where the motion goes, only a more severe one does.
    void command(DriveCommand next, Instant now);
    /// The separate act that sets the machine in motion; refused (false) while the command is not run.
    bool start(Instant now);
    /// Back from reduced to full speed without a start; refused (false) unless the command is run, the machine was
    /// started, and nothing but a reduced speed was commanded since.
    bool speed_up(Instant now);

    /// A value from elsewhere lowers the reduced speed to that, and never raises it over the typed one. A motion at or
    /// on its way to the reduced speed follows; what stands because of it takes a start. False if nothing changes. What
    /// is told of the reduced speed, reduced_at() and the monitor, is of the typed one.
    bool limit_reduced(std::int64_t um_s, Instant now);

    /// A fault of the drive: false, and from now on a command for the reduced speed changes nothing. A speed monitor
    /// then stops the machine after its time; without one it runs on.
    void let_slow(bool slows) { slows_ = slows; }
    [[nodiscard]] bool slows() const { return slows_; }

    /// What keeps it still past the link and its signals, each by itself: until it ends, mildest() is a stop.
    enum class Hold : std::uint8_t {
        emergency_stop,  ///< the hard-wired one, which latches
        isolation,       ///< cut from every supply and locked, what could fall is blocked (ISO 14118; from memory)
    };
    void hold(Hold what, bool on) { holds_[static_cast<std::size_t>(what)] = on; }
    [[nodiscard]] bool held(Hold what) const { return holds_[static_cast<std::size_t>(what)]; }
    /// The mildest command that may be given now, whatever the signals say.
    [[nodiscard]] DriveCommand mildest() const {
        return holds_[0] || holds_[1] ? DriveCommand::stop_category_0 : DriveCommand::run;
    }

    [[nodiscard]] DriveCommand command() const { return command_; }
    /// Micrometres per second at `now`.
    [[nodiscard]] std::int64_t speed(Instant now) const;
    /// Micrometres that it has moved since the start of the run, there and back alike. Like speed(), for a time that is
    /// not before the motion that went on when the last command came.
    [[nodiscard]] std::int64_t travelled(Instant now) const;
    /// Where it is, in micrometres from one end of its travel: it goes there and back, again and again. 0 without
    /// travel.
    [[nodiscard]] std::int64_t position(Instant now) const;
    /// Moving, or bound to (a load that is about to drop).
    [[nodiscard]] bool moving(Instant now) const { return now < still_at_; }
    /// When the last motion ended; never while it runs.
    [[nodiscard]] Instant still_at() const { return still_at_; }
    /// How often a motion has come to its end.
    [[nodiscard]] std::uint64_t standstills(Instant now) const { return motions_ - (moving(now) ? 1 : 0); }
    /// The most severe command since the last start or return to full speed: what the motion under way completes.
    [[nodiscard]] DriveCommand in_force() const { return in_force_; }
    /// When the motion under way comes to what was commanded, standstill or the reduced speed; never while it runs.
    [[nodiscard]] Instant settles_at() const { return settles_at_; }
    /// From when on it is at or under its reduced speed, as the motion under way goes on; perhaps long before now.
    /// Never if it does not come to that, or has no reduced speed.
    [[nodiscard]] Instant reduced_at() const;
    /// A corner of the speed over time: straight lines run between corners, flat ones after the last.
    struct Corner {
        Instant at;
        std::int64_t um_s = 0;
    };
    /// The corners of the motion under way at the last command, and of what it led to; in order of time.
    [[nodiscard]] std::vector<Corner> corners() const;
    /// Started and not stopped since.
    [[nodiscard]] bool started() const { return started_; }

    /// From the output command to what one kind of stop comes to, from full speed: standstill, or reduced speed; 0 for
    /// a machine that is never faster than that.
    static Duration stopping_time(const Machine& machine, StopCategory category);
    /// The way in that time, micrometres.
    static std::int64_t stopping_distance(const Machine& machine, StopCategory category);

  private:
    /// A piece of motion: `from_speed` at `from`, then slowing by `slope` to `to_speed`, or, with a slope below 0,
    /// faster and faster; until the next piece.
    struct Piece {
        Instant from{};
        std::int64_t from_speed = 0, to_speed = 0, slope = 0;
        std::int64_t travelled = 0;  ///< at `from`
        [[nodiscard]] std::int64_t speed(Instant now) const;
        [[nodiscard]] std::int64_t travelled_at(Instant now) const;
    };
    [[nodiscard]] const Piece& piece_at(Instant now) const;
    void go_on_with(Piece piece);
    void run_past_reduced_speed(Instant begin);
    void let_monitor_trip(Instant now);
    void slow_down(Piece slowing, bool without_power, bool drops);
    void run_at_full_speed(Instant now);

    Machine machine_;
    std::int64_t reduced_um_s_;  ///< at most the typed one, see limit_reduced()
    DriveCommand command_ = DriveCommand::run;
    DriveCommand in_force_ = DriveCommand::run;
    std::array<bool, 2> holds_{};  ///< by Hold
    bool started_ = false;
    bool slows_ = true;
    Instant monitor_trips_at_ = proto::never;  ///< what then is in force
    bool held_by_drive_ = false;               ///< the load hangs on the drive's power, not on the brake
    bool brake_follows_ = false;               ///< category 1: once it stands the brake takes over from the drive
    std::vector<Piece> pieces_{1};             ///< in order of time, from the one under way at the last command
    Instant settles_at_{}, still_at_{};
    std::uint64_t motions_ = 0;
};

/// What a signal's fall commands.
DriveCommand command_of(StopCategory category);

}  // namespace sim
