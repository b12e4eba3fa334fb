#include "sim/plant/machine.hpp"

#include <algorithm>

namespace sim {
namespace {

constexpr std::int64_t ns_per_s = 1'000'000'000;
__extension__ using Wide = __int128;

/// Time to lose `speed` (um/s) at `slope` (um/s2), rounded up to a nanosecond; 0 slope: at once.
Duration time_to_lose(std::int64_t speed, std::int64_t slope) {
    if (speed <= 0 || slope <= 0) return {};
    const Wide exact = Wide{speed} * ns_per_s;
    return {static_cast<std::int64_t>((exact + slope - 1) / slope)};
}

/// Speed (um/s) that a load gains at `slope` (um/s2) in `time`, rounded up.
std::int64_t gained(std::int64_t slope, Duration time) {
    return static_cast<std::int64_t>((Wide{slope} * time.ns + ns_per_s - 1) / ns_per_s);
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
    if (slope == 0) return to_speed;
    if (slope < 0) return from_speed + gained(-slope, now - from);
    const auto lost = static_cast<std::int64_t>(Wide{slope} * (now - from).ns / ns_per_s);
    return std::max(to_speed, from_speed - lost);
}

std::int64_t MachineModel::Piece::travelled_at(Instant now) const {
    if (now <= from) return travelled;
    Duration time = now - from;
    Wide twice = 0;  // twice the way, um
    if (const Duration slowing = time_to_lose(from_speed - to_speed, slope); slope > 0 && time >= slowing) {
        twice = (Wide{from_speed} * from_speed - Wide{to_speed} * to_speed) / slope;
        time = time - slowing;
        return travelled + static_cast<std::int64_t>(twice / 2 + Wide{to_speed} * time.ns / ns_per_s);
    }
    // a time below a day and a slope below 2^40 um/s2 keep every product under 2^127
    twice = (Wide{2} * from_speed * time.ns - Wide{slope} * time.ns / ns_per_s * time.ns) / ns_per_s;
    return travelled + static_cast<std::int64_t>(twice / 2);
}

const MachineModel::Piece& MachineModel::piece_at(Instant now) const {
    std::size_t i = pieces_.size() - 1;
    while (i > 0 && now < pieces_[i].from) --i;
    return pieces_[i];
}

std::vector<MachineModel::Corner> MachineModel::corners() const {
    std::vector<Corner> found;
    for (std::size_t i = 0; i < pieces_.size(); ++i) {
        const Piece& piece = pieces_[i];
        const Instant next = i + 1 < pieces_.size() ? pieces_[i + 1].from : proto::never;
        found.push_back({piece.from, piece.from_speed});
        const Instant slowed = piece.from + time_to_lose(piece.from_speed - piece.to_speed, piece.slope);
        if (piece.slope > 0 && slowed < next) found.push_back({slowed, piece.to_speed});
        if (next != proto::never && next > piece.from) found.push_back({next, piece.speed(next)});
    }
    return found;
}

std::int64_t MachineModel::speed(Instant now) const { return piece_at(now).speed(now); }

std::int64_t MachineModel::travelled(Instant now) const { return piece_at(now).travelled_at(now); }

std::int64_t MachineModel::position(Instant now) const {
    if (machine_.travel_um <= 0) return 0;
    const std::int64_t there_and_back = travelled(now) % (2 * machine_.travel_um);
    return std::min(there_and_back, 2 * machine_.travel_um - there_and_back);
}

/// From its begin on the piece takes the place of what was to come.
void MachineModel::go_on_with(Piece piece) {
    piece.travelled = travelled(piece.from);
    while (pieces_.size() > 1 && pieces_.back().from >= piece.from) pieces_.pop_back();
    pieces_.push_back(piece);
}

void MachineModel::command(DriveCommand next, Instant now) {
    command_ = next;
    if (next <= in_force_) return;
    in_force_ = next;
    if (next >= DriveCommand::stop_category_2) started_ = false;
    const Instant begin = now + machine_.reaction_delay;
    if (brake_follows_ && still_at_ <= begin) held_by_drive_ = false;
    const bool without_power = next == DriveCommand::stop_category_0;
    const bool drops = without_power && machine_.brake && machine_.brake->drops && held_by_drive_;
    brake_follows_ = next == DriveCommand::stop_category_1;
    if (without_power) held_by_drive_ = false;

    const std::int64_t target = next == DriveCommand::reduce ? machine_.reduced_speed_um_s : 0;
    const std::int64_t slope = without_power ? machine_.braking_um_s2 : machine_.ramp_um_s2;
    const std::int64_t speed_then = speed(begin);
    if (speed_then <= target && !drops) return;  // already slower: the motion under way goes on
    if (!moving(begin)) ++motions_;
    const auto under_way = static_cast<std::size_t>(&piece_at(now) - pieces_.data());
    pieces_.erase(pieces_.begin(), pieces_.begin() + static_cast<std::ptrdiff_t>(under_way));
    Piece slowing{begin, speed_then, target, slope, 0};
    if (without_power && machine_.brake) {
        // until the brake grips nothing holds the load: it goes on as it is, or falls freely
        const std::int64_t falls = drops ? machine_.gravity_um_s2 : 0;
        go_on_with({begin, speed_then, speed_then, -falls, 0});
        slowing.from = begin + machine_.brake->delay;
        slowing.from_speed = speed_then + gained(falls, machine_.brake->delay);
    }
    go_on_with(slowing);
    settles_at_ = slowing.from + time_to_lose(slowing.from_speed - target, slope);
    still_at_ = target == 0 ? settles_at_ : proto::never;
}

Instant MachineModel::reduced_at() const {
    const std::int64_t reduced = machine_.reduced_speed_um_s;
    if (reduced == 0) return proto::never;
    Instant from = proto::never;
    for (std::size_t i = pieces_.size(); i-- > 0;) {
        const Piece& piece = pieces_[i];
        const bool last = i + 1 == pieces_.size();
        const std::int64_t at_its_end =
            last ? (piece.slope < 0 ? machine_.speed_um_s : piece.to_speed) : piece.speed(pieces_[i + 1].from);
        if (at_its_end > reduced) return from;
        from = piece.from_speed <= reduced ? piece.from
                                           : piece.from + time_to_lose(piece.from_speed - reduced, piece.slope);
        if (piece.from_speed > reduced) return from;
    }
    return from;
}

void MachineModel::run_at_full_speed(Instant now) {
    const Piece full{now, machine_.speed_um_s, machine_.speed_um_s, 0, travelled(now)};
    pieces_.assign(1, full);
    settles_at_ = still_at_ = proto::never;
    in_force_ = DriveCommand::run;
}

bool MachineModel::start(Instant now) {
    if (command_ != DriveCommand::run) return false;
    if (!moving(now)) ++motions_;
    started_ = held_by_drive_ = true;
    brake_follows_ = false;
    run_at_full_speed(now);
    return true;
}

bool MachineModel::speed_up(Instant now) {
    if (command_ != DriveCommand::run || in_force_ != DriveCommand::reduce || !started_) return false;
    run_at_full_speed(now);
    return true;
}

namespace {

MachineModel stopped_from_full_speed(const Machine& machine, StopCategory category) {
    MachineModel model(machine);
    model.start({});
    model.command(command_of(category), {});
    return model;
}

}  // namespace

Duration MachineModel::stopping_time(const Machine& machine, StopCategory category) {
    return stopped_from_full_speed(machine, category).settles_at() - Instant{};
}

std::int64_t MachineModel::stopping_distance(const Machine& machine, StopCategory category) {
    const MachineModel model = stopped_from_full_speed(machine, category);
    return model.travelled(model.settles_at());
}

}  // namespace sim
