#include "sim/plant/machine.hpp"

#include <algorithm>

namespace sim {
namespace {

constexpr std::int64_t ns_per_s = 1'000'000'000;
__extension__ using Wide = __int128;

/// `over / by`, which nearly always fits 64 bits: a division of 128 bits is a call. Requires by > 0.
Wide quotient(Wide over, std::int64_t by) {
    const auto narrow = static_cast<std::int64_t>(over);
    return narrow == over ? narrow / by : over / by;
}

/// Time to lose `speed` (um/s) at `slope` (um/s2), rounded up to a nanosecond; 0 slope: at once.
Duration time_to_lose(std::int64_t speed, std::int64_t slope) {
    if (speed <= 0 || slope <= 0) return {};
    const Wide exact = Wide{speed} * ns_per_s;
    return {static_cast<std::int64_t>(quotient(exact + slope - 1, slope))};
}

/// Speed (um/s) that a load gains at `slope` (um/s2) in `time`, rounded up.
std::int64_t gained(std::int64_t slope, Duration time) {
    return static_cast<std::int64_t>(quotient(Wide{slope} * time.ns + ns_per_s - 1, ns_per_s));
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
    const auto lost = static_cast<std::int64_t>(quotient(Wide{slope} * (now - from).ns, ns_per_s));
    return std::max(to_speed, from_speed - lost);
}

std::int64_t MachineModel::Piece::travelled_at(Instant now) const {
    if (now <= from) return travelled;
    Duration time = now - from;
    Wide twice = 0;  // twice the way, um
    if (const Duration slowing = time_to_lose(from_speed - to_speed, slope); slope > 0 && time >= slowing) {
        twice = quotient(Wide{from_speed} * from_speed - Wide{to_speed} * to_speed, slope);
        time = time - slowing;
        return travelled + static_cast<std::int64_t>(twice / 2 + quotient(Wide{to_speed} * time.ns, ns_per_s));
    }
    // a time below a day and a slope below 2^40 um/s2 keep every product under 2^127
    twice = quotient(Wide{2} * from_speed * time.ns - quotient(Wide{slope} * time.ns, ns_per_s) * time.ns, ns_per_s);
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

/// What the monitor did by `now` counts as commanded then.
void MachineModel::let_monitor_trip(Instant now) {
    if (now < monitor_trips_at_) return;
    monitor_trips_at_ = proto::never;
    in_force_ = std::max(in_force_, command_of(machine_.reduced_speed_monitor->then));
    started_ = false;
}

void MachineModel::command(DriveCommand next, Instant now) {
    let_monitor_trip(now);
    command_ = next;
    if (next <= in_force_) return;
    in_force_ = next;
    monitor_trips_at_ = proto::never;
    if (next >= DriveCommand::stop_category_2) started_ = false;
    const Instant begin = now + machine_.reaction_delay;
    if (next == DriveCommand::reduce && !slows_) return run_past_reduced_speed(begin);
    if (brake_follows_ && still_at_ <= begin) held_by_drive_ = false;
    const bool without_power = next == DriveCommand::stop_category_0;
    const bool drops = without_power && machine_.brake && machine_.brake->drops && held_by_drive_;
    brake_follows_ = next == DriveCommand::stop_category_1;
    if (without_power) held_by_drive_ = false;

    const std::int64_t target = next == DriveCommand::reduce ? reduced_um_s_ : 0;
    const std::int64_t slope = without_power ? machine_.braking_um_s2 : machine_.ramp_um_s2;
    const std::int64_t speed_then = speed(begin);
    if (speed_then <= target && !drops) return;  // already slower: the motion under way goes on
    if (!moving(begin)) ++motions_;
    const auto under_way = static_cast<std::size_t>(&piece_at(now) - pieces_.data());
    pieces_.erase(pieces_.begin(), pieces_.begin() + static_cast<std::ptrdiff_t>(under_way));
    slow_down({begin, speed_then, target, slope, 0}, without_power, drops);
}

/// From its begin on, down to its target; without power first as long as the brake takes to grip.
void MachineModel::slow_down(Piece slowing, bool without_power, bool drops) {
    if (without_power && machine_.brake) {
        // until the brake grips nothing holds the load: it goes on as it is, or falls freely
        const std::int64_t falls = drops ? machine_.gravity_um_s2 : 0;
        go_on_with({slowing.from, slowing.from_speed, slowing.from_speed, -falls, 0});
        slowing.from_speed += gained(falls, machine_.brake->delay);
        slowing.from = slowing.from + machine_.brake->delay;
    }
    go_on_with(slowing);
    settles_at_ = slowing.from + time_to_lose(slowing.from_speed - slowing.to_speed, slowing.slope);
    still_at_ = slowing.to_speed == 0 ? settles_at_ : proto::never;
}

/// A drive that does not slow down goes on until its monitor, which begins to look once the ramp should be over.
void MachineModel::run_past_reduced_speed(Instant begin) {
    const std::optional<SpeedMonitor>& monitor = machine_.reduced_speed_monitor;
    const std::int64_t speed_then = speed(begin);
    if (!monitor || speed_then <= machine_.reduced_speed_um_s + monitor->over_um_s) return;
    const Duration ramp = time_to_lose(speed_then - machine_.reduced_speed_um_s, machine_.ramp_um_s2);
    monitor_trips_at_ = begin + ramp + monitor->lasting;
    const Instant stops = monitor_trips_at_ + machine_.reaction_delay;
    const bool without_power = monitor->then == StopCategory::category_0;
    const bool drops = without_power && machine_.brake && machine_.brake->drops && held_by_drive_;
    if (without_power) held_by_drive_ = false;
    brake_follows_ = monitor->then == StopCategory::category_1;
    slow_down({stops, speed_then, 0, without_power ? machine_.braking_um_s2 : machine_.ramp_um_s2, 0}, without_power,
              drops);
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
    settles_at_ = still_at_ = monitor_trips_at_ = proto::never;
    in_force_ = DriveCommand::run;
}

bool MachineModel::start(Instant now) {
    let_monitor_trip(now);
    if (command_ != DriveCommand::run) return false;
    if (!moving(now)) ++motions_;
    started_ = held_by_drive_ = true;
    brake_follows_ = false;
    run_at_full_speed(now);
    return true;
}

bool MachineModel::speed_up(Instant now) {
    let_monitor_trip(now);
    if (command_ != DriveCommand::run || in_force_ != DriveCommand::reduce || !started_) return false;
    if (!moving(now)) return false;  // a value brought it to rest: only a start moves it
    run_at_full_speed(now);
    return true;
}

bool MachineModel::limit_reduced(std::int64_t um_s, Instant now) {
    const std::int64_t to = std::clamp(um_s, std::int64_t{0}, machine_.reduced_speed_um_s);
    if (to == reduced_um_s_) return false;
    let_monitor_trip(now);
    reduced_um_s_ = to;
    const Instant begin = now + machine_.reaction_delay;
    if (in_force_ != DriveCommand::reduce || !slows_ || !moving(begin)) return true;
    const std::int64_t speed_then = speed(begin);
    const auto under_way = static_cast<std::size_t>(&piece_at(now) - pieces_.data());
    pieces_.erase(pieces_.begin(), pieces_.begin() + static_cast<std::ptrdiff_t>(under_way));
    if (speed_then > to) {
        slow_down({begin, speed_then, to, machine_.ramp_um_s2, 0}, false, false);
    } else {
        // up again to what is allowed, at once: how soon a drive does so is not known
        go_on_with({begin, to, to, 0, 0});
        settles_at_ = begin;
        still_at_ = proto::never;
    }
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
    const Instant settles = stopped_from_full_speed(machine, category).settles_at();
    return settles == proto::never ? Duration{} : settles - Instant{};
}

std::int64_t MachineModel::stopping_distance(const Machine& machine, StopCategory category) {
    const MachineModel model = stopped_from_full_speed(machine, category);
    return model.settles_at() == proto::never ? 0 : model.travelled(model.settles_at());
}

}  // namespace sim
