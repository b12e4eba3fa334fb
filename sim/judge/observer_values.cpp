// What the observer makes of values in the payload: R-85 for a value that means something else, R-83 and R-84 for one
// that comes late.
#include "sim/judge/observer.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {

void Observer::tell_late_values(Direction direction, Instant now) {
    const Duration allowed = limits_.required[index(direction)];
    for (const ValueWatch::Late& late : values_.late(direction, allowed, now))
        danger(responsible(0, now), late.since + allowed,
               "at " + std::string(end_name(receiver(direction))) + " " + late.what + " after " + in_ms(allowed));
}

void Observer::hear_values(const ValuesMeant& meant) {
    tell_late_values(meant.way, meant.at);
    values_.meant(meant, ways_[index(meant.way)].next_instance);
    mix(static_cast<std::uint64_t>(meant.at.ns) * 17 + static_cast<std::uint64_t>(meant.way));
    for (std::size_t i = 0; i < scenario_.values.all.size(); ++i)
        mix(static_cast<std::uint64_t>(meant.values.is[i]) * 2 + (meant.values.is_substitute(i) ? 1 : 0));
}

void Observer::hear_values(const ValuesInUse& in_use) {
    const auto& [end, values, now] = in_use;
    const Direction direction = toward(end);
    const Way& way = ways_[index(direction)];
    const bool running = state_[index(end)] == proto::State::running;
    tell_late_values(direction, now);
    const auto wrong = values_.in_use(in_use, way.current_instance, way.current_expected, running);
    if (wrong)
        danger(responsible(way.current_injection, now), now,
               "at " + std::string(end_name(end)) + " a value does not mean what it means at its source: " + *wrong);
    for (std::size_t i = 0; i < scenario_.values.all.size(); ++i)
        mix(static_cast<std::uint64_t>(values.is[i]) * 2 + (values.is_substitute(i) ? 1 : 0));
}

void Observer::hear_values(const SpeedLimited& limited) {
    const auto [um_s, now] = limited;
    if (!machine_) return;
    end_motions(now);
    machine_->limit_reduced(um_s, now);
    mix(static_cast<std::uint64_t>(now.ns) * 19 + static_cast<std::uint64_t>(um_s));
    if (machine_->in_force() != DriveCommand::reduce) return;
    // what was commanded goes on to another speed; it is no command of its own
    const MachineTold again{DriveCommand::reduce, now};
    for (const std::size_t fault : open_)
        if (tracks_[fault].motion.commanded) follow(tracks_[fault].motion, *machine_, again);
    for (const std::size_t seen : followed_)
        if (demands_[seen].motion.commanded) follow(demands_[seen].motion, *machine_, again);
}

}  // namespace sim
