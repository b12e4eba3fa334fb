#include "sim/plant/machine.hpp"

#include <algorithm>

namespace sim {
namespace {

constexpr std::int64_t ns_per_s = 1'000'000'000;

/// Time to lose `speed` (um/s) at `slope` (um/s2), rounded up to a nanosecond; 0 slope: at once.
Duration time_to_lose(std::int64_t speed, std::int64_t slope) {
    if (speed <= 0 || slope <= 0) return {};
    const auto exact = __extension__ static_cast<__int128>(speed) * ns_per_s;
    return {static_cast<std::int64_t>((exact + slope - 1) / slope)};
}

}  // namespace

DriveCommand command_of(StopCategory category) {
    switch (category) {
        case StopCategory::category_0: return DriveCommand::stop_category_0;
        case StopCategory::category_1: return DriveCommand::stop_category_1;
        case StopCategory::category_2: return DriveCommand::stop_category_2;
        case StopCategory::reduced_speed: return DriveCommand::reduce;
    }
    return DriveCommand::stop_category_0;
}

std::int64_t MachineModel::Piece::speed(Instant now) const {
    if (now <= from) return from_speed;
    if (slope <= 0) return to_speed;
    const auto lost =
        static_cast<std::int64_t>(__extension__ static_cast<__int128>(slope) * (now - from).ns / ns_per_s);
    return std::max(to_speed, from_speed - lost);
}

std::int64_t MachineModel::speed(Instant now) const {
    return now < present_.from ? before_.speed(now) : present_.speed(now);
}

void MachineModel::command(DriveCommand next, Instant now) {
    const bool more_severe = next > command_;
    command_ = next;
    if (!more_severe) return;
    if (next >= DriveCommand::stop_category_2) started_ = false;
    const std::int64_t target = next == DriveCommand::reduce ? machine_.reduced_speed_um_s : 0;
    const std::int64_t slope = next == DriveCommand::stop_category_0 ? machine_.braking_um_s2 : machine_.ramp_um_s2;
    const Instant begin = now + machine_.reaction_delay;
    const std::int64_t speed_then = speed(begin);
    if (speed_then <= target) return;  // already slower: the motion under way goes on
    before_ = now < present_.from ? before_ : present_;
    present_ = {begin, speed_then, target, slope};
    harmless_at_ = begin + time_to_lose(speed_then - target, slope);
}

bool MachineModel::start(Instant now) {
    if (command_ != DriveCommand::run) return false;
    started_ = true;
    before_ = present_ = {now, machine_.speed_um_s, machine_.speed_um_s, 0};
    harmless_at_ = proto::never;
    return true;
}

Duration MachineModel::stopping_time(const Machine& machine, StopCategory category) {
    const std::int64_t target = category == StopCategory::reduced_speed ? machine.reduced_speed_um_s : 0;
    const std::int64_t slope = category == StopCategory::category_0 ? machine.braking_um_s2 : machine.ramp_um_s2;
    return machine.reaction_delay + time_to_lose(machine.speed_um_s - target, slope);
}

}  // namespace sim
