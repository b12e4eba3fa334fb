#include "sim/judge/motion.hpp"

namespace sim {

Motion motion_from(const std::optional<MachineModel>& machine, Instant now, Instant since) {
    Motion motion;
    if (!machine) return motion;
    motion.travelled_before = machine->travelled(since);
    motion.moved = machine->moving(now);
    motion.in_force = machine->in_force();
    if (machine->reduced_at() <= now) motion.reduced = since;
    return motion;
}

bool end_if_over(Motion& motion, const MachineModel& machine, Instant now) {
    motion.over = motion.over || (motion.commanded && machine.settles_at() <= now);
    return motion.over;
}

void follow(Motion& motion, const MachineModel& machine, const MachineTold& told) {
    if (!motion.moved || motion.over) return;
    const Instant now = told.at;
    if (!told.command || told.speeds_up) {
        // set in motion before it came to what was commanded
        motion.over = motion.commanded.has_value();
        if (!motion.over) motion.in_force = DriveCommand::run;
        if (motion.stands && *motion.stands > now) motion.stands.reset();
        if (motion.reduced && *motion.reduced > now) motion.reduced.reset();
        return;
    }
    if (*told.command == DriveCommand::run) return;
    if (!motion.commanded) {
        motion.commanded = now;
        motion.travelled_at_command = machine.travelled(now);
    }
    const Instant reduced = machine.reduced_at();
    if (reduced == proto::never) {
        motion.reduced.reset();
    } else if (!motion.reduced || reduced > now || *motion.reduced > now) {
        motion.reduced = reduced;
    }
    const Instant stands = machine.still_at();
    motion.stands = stands == proto::never ? std::nullopt : std::optional(stands);
    if (motion.stands) motion.travelled = machine.travelled(stands);
}

}  // namespace sim
