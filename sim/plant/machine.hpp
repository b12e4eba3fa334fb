#pragma once
// The dangerous motion: it starts only by a deliberate act, and stops or slows down as its signals say.
#include <cstdint>
#include <optional>

#include "proto/time.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

using proto::Instant;

/// What the output tells the drive, in growing severity.
enum class DriveCommand : std::uint8_t { run, reduce, stop_category_2, stop_category_1, stop_category_0 };

class MachineModel {
  public:
    explicit MachineModel(const Machine& machine) : machine_(machine) {}

    /// The output command changes at `now`. A milder command never undoes a stop: only start() does.
    void command(DriveCommand command, Instant now);
    /// The separate act that sets the machine in motion; refused (false) while the command is not run.
    bool start(Instant now);

    [[nodiscard]] DriveCommand command() const { return command_; }
    /// Micrometres per second at `now`.
    [[nodiscard]] std::int64_t speed(Instant now) const;
    /// Moving faster than what the hazard ends at: 0, or the reduced speed where reduce was commanded.
    [[nodiscard]] bool hazardous(Instant now) const { return now < harmless_at_; }
    /// When the motion is harmless: standstill, or the reduced speed is reached; never while it runs.
    [[nodiscard]] Instant harmless_at() const { return harmless_at_; }
    /// Started and not stopped since.
    [[nodiscard]] bool started() const { return started_; }

    /// From the output command to standstill (or reduced speed) from full speed, for one kind of stop.
    static Duration stopping_time(const Machine& machine, StopCategory category);

  private:
    Machine machine_;
    DriveCommand command_ = DriveCommand::run;
    bool started_ = false;
    /// A piece of motion: `from_speed` at `from`, then slowing by `slope` to `to_speed`.
    struct Piece {
        Instant from{};
        std::int64_t from_speed = 0, to_speed = 0, slope = 0;
        [[nodiscard]] std::int64_t speed(Instant now) const;
    };
    Piece before_, present_;  ///< the drive has not reacted yet: what went on before present_.from
    Instant harmless_at_{};
};

/// What a signal's fall commands.
DriveCommand command_of(StopCategory category);

}  // namespace sim
