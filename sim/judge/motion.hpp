#pragma once
// What a machine that moved came to after something happened, followed by what it was told.
#include <cstdint>
#include <optional>

#include "sim/judge/events.hpp"
#include "sim/plant/machine.hpp"

namespace sim {

/// As the motion goes on until the machine is told otherwise.
struct Motion {
    std::int64_t travelled_before = 0;          ///< um, at the beginning
    bool moved = false;                         ///< at the beginning
    DriveCommand in_force = DriveCommand::run;  ///< at the beginning, until a start overruled it
    bool over = false;                          ///< it came to what was commanded: what comes later has another cause
    std::optional<Instant> commanded, reduced, stands;
    std::int64_t travelled_at_command = 0, travelled = 0;  ///< um; at standstill
};

/// Of that machine, if there is one, from now on. `since`: when it began, at the latest now.
Motion motion_from(const std::optional<MachineModel>& machine, Instant now, Instant since);
/// True once it came to what was commanded by now; what a later command begins is not put down to it.
bool end_if_over(Motion& motion, const MachineModel& machine, Instant now);
/// The machine was just told that. The first command counts, and a more severe one in its course shortens it.
void follow(Motion& motion, const MachineModel& machine, const MachineTold& told);

}  // namespace sim
