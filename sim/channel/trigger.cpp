#include "sim/channel/trigger.hpp"

#include <algorithm>

#include "proto/contract.hpp"

namespace sim {

namespace {
constexpr std::uint64_t no_ordinal = ~std::uint64_t{0};
}

Trigger::Trigger(const Fault& fault, Links links, const Surroundings* around)
    : lasting_(fault.lasting),
      in_time_(fault.lasting || (fault.when.until && !fault.times)),
      times_(fault.times.value_or(1)),
      every_(fault.every),
      when_(fault.when),
      around_(around) {
    proto::require(around != nullptr || !fault.when.any(), "a fault with a condition needs to know its surroundings");
    proto::require(fault.at.has_value() != fault.on_telegram.has_value(),
                   "a fault begins at a time or with a telegram");
    proto::require(fault.every >= 1 && fault.on_telegram.value_or(1) >= 1, "a fault counts from 1");
    proto::require(fault.to_device || fault.to_controller, "a fault acts in at least one direction");
    if (fault.at) at_ = Instant{} + *fault.at;
    ordinal_ = fault.on_telegram.value_or(1) - 1;
    const unsigned looked_at = links == Links::both ? link_count : 1;
    for (unsigned i = 0; i < looked_at; ++i) {
        const auto link = static_cast<std::uint8_t>(i);
        lanes_[lane_of(link, Direction::to_device)].meant = fault.to_device;
        lanes_[lane_of(link, Direction::to_controller)].meant = fault.to_controller;
    }
    if (times_ == 0) {
        for (Lane& lane : lanes_) lane.done = true;
    }
}

bool Trigger::begins_with(const Passage& passage) const {
    if (at_) return passage.sent >= *at_;
    return passage.tag.link == 0 && !passage.tag.parameter && passage.ordinal >= ordinal_;
}

std::optional<Instant> Trigger::acts_on(const Passage& passage) {
    Lane& lane = lanes_[lane_of(passage.tag.link, passage.tag.direction)];
    if (!lane.meant) return std::nullopt;
    return in_time_ ? within_duration(passage, lane) : within_count(passage, lane);
}

bool Trigger::holds(Instant now) const {
    if (when_.state && around_->state(when_.state_of) != *when_.state) return false;
    if (when_.machine && around_->machine_moves(now) != (*when_.machine == FaultCondition::Motion::moving))
        return false;
    if (!when_.position) return true;
    const std::int64_t position = around_->machine_position(now);
    return position >= when_.position->from_um && position <= when_.position->to_um;
}

bool Trigger::ended(Instant now) {
    if (!when_.until) return false;
    const std::uint64_t happened = around_->happened(*when_.until, now);
    if (!happened_before_) happened_before_ = happened;
    return happened != *happened_before_;
}

std::optional<Instant> Trigger::within_duration(const Passage& passage, Lane& lane) {
    if (!begun_at_) {
        if (!begins_with(passage)) return std::nullopt;
        begun_at_ = at_ ? *at_ : passage.sent;
    }
    if (ended(passage.sent) || (lasting_ && passage.sent >= *begun_at_ + *lasting_)) over_ = true;
    if (over_ || !holds(passage.sent) || !touches(lane)) return std::nullopt;
    if (!when_.comes_and_goes()) return begun_at_;
    if (!acts_since_) acts_since_ = passage.sent;
    return acts_since_;
}

std::optional<Instant> Trigger::within_count(const Passage& passage, Lane& lane) {
    if (passage.tag.parameter || lane.done) return std::nullopt;
    // The neighbour's telegrams have ordinals of their own: there it begins as soon as it has begun here.
    lane.begun =
        lane.begun || begins_with(passage) || (passage.tag.link != 0 && own_direction_begun(passage.tag.direction));
    if (!lane.begun) return std::nullopt;
    if (ended(passage.sent)) {
        lane.done = true;
        return std::nullopt;
    }
    if (!holds(passage.sent)) return std::nullopt;
    const bool touched = touches(lane);
    lane.done = lane.seen >= times_;
    if (!touched) return std::nullopt;
    return passage.sent;
}

Quiet Trigger::quiet() const {
    const Quiet for_ever{no_ordinal, proto::never};
    const Quiet until_begin = at_ ? Quiet{no_ordinal, *at_} : Quiet{ordinal_, proto::never};
    // While a fault has begun its condition may come to hold with any telegram, so there is no promise then.
    if (in_time_) return over_ ? for_ever : begun_at_ ? Quiet{} : until_begin;
    const auto waits = [](const Lane& lane) { return lane.meant && !lane.done; };
    if (std::none_of(lanes_.begin(), lanes_.end(), waits)) return for_ever;
    const auto acts = [&](const Lane& lane) { return waits(lane) && lane.begun; };
    const bool acting = std::any_of(lanes_.begin(), lanes_.end(), acts);
    // A neighbour's lane that has still to begin may do so at once when the own one has begun.
    const bool followed = std::any_of(lanes_.begin(), lanes_.end(), [](const Lane& lane) { return lane.begun; });
    return acting || followed ? Quiet{0, Instant{}} : until_begin;
}

}  // namespace sim
