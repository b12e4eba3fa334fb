#include "sim/channel/background_queue.hpp"

#include <algorithm>
#include <cmath>

#include "proto/contract.hpp"

namespace sim {

namespace {

constexpr double load_most = 16.0;

std::uint64_t in_fractions(double load) {
    proto::require(load >= 0.0 && load <= load_most, "a load out of range");
    return static_cast<std::uint64_t>(std::llround(load * 4294967296.0));
}

}  // namespace

BackgroundQueue::BackgroundQueue(const BackgroundTraffic& settings, std::uint64_t seed, std::uint64_t lane)
    : settings_(settings),
      load_before_(in_fractions(settings.load)),
      load_after_(in_fractions(settings.ramp_to)),
      draws_(seed, Concern::background, lane) {
    proto::require(settings.service >= proto::microseconds(1) && settings.room >= settings.service &&
                       settings.burst >= 1 && settings.burst <= 65536 && settings.ramp_from.ns >= 0 &&
                       settings.ramp_lasting.ns >= 0,
                   "background traffic out of range");
}

std::uint64_t BackgroundQueue::load(std::uint64_t k) const {
    const std::int64_t since = static_cast<std::int64_t>(k) * settings_.service.ns - settings_.ramp_from.ns;
    if (since <= 0) return load_before_;
    if (since >= settings_.ramp_lasting.ns) return load_after_;
    const auto part = static_cast<Wide>(since);
    const auto whole = static_cast<Wide>(settings_.ramp_lasting.ns);
    return load_after_ >= load_before_
               ? load_before_ + static_cast<std::uint64_t>((load_after_ - load_before_) * part / whole)
               : load_before_ - static_cast<std::uint64_t>((load_before_ - load_after_) * part / whole);
}

std::uint64_t BackgroundQueue::packets(std::uint64_t k) {
    constexpr std::uint64_t one = std::uint64_t{1} << fraction_bits;
    if (settings_.kind == BackgroundTraffic::Kind::constant) {
        brought_ += load(k);
        const std::uint64_t whole = brought_ >> fraction_bits;
        brought_ &= one - 1;
        return whole;
    }
    const std::uint64_t rate = load(k) / settings_.burst;  // bursts in a slot
    const bool one_more = (draws_.at(k) >> fraction_bits) < (rate & (one - 1));
    return ((rate >> fraction_bits) + (one_more ? 1 : 0)) * settings_.burst;
}

void BackgroundQueue::advance(proto::Instant now) {
    const std::int64_t slot = settings_.service.ns;
    at_ = std::min(at_, now.ns);  // before time 0, where a live run waits for its peers, there is no other traffic
    const auto fits = [this](std::int64_t work) { return std::min(work, settings_.room.ns); };
    for (; static_cast<std::int64_t>(next_slot_) * slot <= now.ns; ++next_slot_) {
        const std::int64_t begin = static_cast<std::int64_t>(next_slot_) * slot;
        work_ = std::max<std::int64_t>(work_ - (begin - at_), 0);
        at_ = begin;
        work_ = std::max(work_, fits(work_ + static_cast<std::int64_t>(packets(next_slot_)) * slot));
    }
    work_ = std::max<std::int64_t>(work_ - (now.ns - at_), 0);
    at_ = now.ns;
}

Duration BackgroundQueue::waiting(proto::Instant now) {
    advance(now);
    return {work_};
}

std::optional<Duration> BackgroundQueue::enter(proto::Instant now) {
    advance(now);
    if (work_ + settings_.service.ns > settings_.room.ns) return std::nullopt;
    work_ += settings_.service.ns;
    return Duration{work_};
}

}  // namespace sim
