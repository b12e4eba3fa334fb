#include "sim/channel/channel.hpp"

#include <algorithm>
#include <utility>

#include "proto/contract.hpp"

namespace sim {

Channel::Way::Way(const ChannelSettings& settings)
    : keep_order(settings.keep_order),
      delay(settings.delay),
      loss(settings.bursts ? 0 : threshold(settings.loss)),
      bit_errors(settings.bit_error_rate) {
    spoils = loss != 0 || bit_errors.any();
}

Channel::Channel(const ChannelSettings& to_device, const ChannelSettings& to_controller, std::uint64_t seed)
    : ways_{std::make_shared<const Way>(to_device), std::make_shared<const Way>(to_controller)},
      carried_(std::make_unique_for_overwrite<Carried[]>(slots + 1)) {
    if (*ways_[0] == *ways_[1]) ways_[1] = ways_[0];
    spare_ = &carried_[slots];
    for (unsigned i = 0; i < slots; ++i) places_[i].free = &carried_[i];
    begin_again(to_device, to_controller, seed);
}

void Channel::begin_again(const ChannelSettings& to_device, const ChannelSettings& to_controller, std::uint64_t seed) {
    proto::require(foresight_ == nullptr, "Channel::begin_again() with telegrams foreseen");
    stages_.clear();
    while (pending_count_ != 0) push_free(places_[--pending_count_].carried);
    if (history_) {
        history_->clear();
        unused_history_ = std::move(history_);
    }
    losses_ = {};
    for (std::size_t i = 0; i < lanes_.size(); ++i) {
        lanes_[i] = Lane{};
        lanes_[i].delays = Random(seed, Concern::delay, i);
        lanes_[i].losses = Random(seed, Concern::loss, i);
        lanes_[i].bit_errors = Random(seed, Concern::bit_errors, i);
        lanes_[i].extra_delays = Random(seed, Concern::delay_extra, i);
    }
    use_ways();
    for (Lane& lane : lanes_) lane.next_delay = lane.way->delay.of(lane.delays, 0);
    if (current_ == spare_) current_ = nullptr;
    extras_.reset();
    for (std::size_t i = 0; i < lanes_.size(); ++i) {
        const ChannelSettings& settings = i % 2 == lane_of(0, Direction::to_device) ? to_device : to_controller;
        if (!settings.queue && !settings.bursts) continue;
        if (!extras_) extras_ = std::make_unique<std::array<Extras, lane_count>>();
        if (settings.queue) (*extras_)[i].queue.emplace(*settings.queue, seed, i);
        if (settings.bursts) (*extras_)[i].bursts.emplace(*settings.bursts, seed, i);
    }
    keeps_fates_ = false;
    fates_.clear();
    ask_quiet();
}

void Channel::use_ways() {
    for (const std::uint8_t link : {std::uint8_t{0}, std::uint8_t{1}})
        for (const Direction direction : {Direction::to_device, Direction::to_controller})
            lanes_[lane_of(link, direction)].way = &way(direction);
}

void share_settings(Channel& one, const Channel& with) {
    for (std::shared_ptr<const Channel::Way>& own : one.ways_)
        for (const std::shared_ptr<const Channel::Way>& other : with.ways_)
            if (own != other && *own == *other) own = other;
    one.use_ways();
}

void Channel::add(std::unique_ptr<FaultStage> stage, std::size_t number) {
    proto::require(stage != nullptr, "Channel::add() of no stage");
    const Quiet quiet = stage->quiet();
    stages_.push_back({std::move(stage), quiet, number});
    ask_quiet();
}

std::unique_ptr<FaultStage> Channel::remove_stages(std::size_t number) {
    std::unique_ptr<FaultStage> removed;
    if (number == all_stages) {
        stages_.clear();
    } else {
        const auto found =
            std::find_if(stages_.begin(), stages_.end(), [&](const Stage& each) { return each.number == number; });
        if (found == stages_.end()) return nullptr;
        removed = std::move(found->stage);
        stages_.erase(found);
    }
    ask_quiet();
    return removed;
}

void Channel::keep_history() {
    if (history_) return;
    history_ = unused_history_ ? std::move(unused_history_) : std::make_unique<History>();
}

// What few telegrams meet is kept out of offer(): written out there, it would take the registers from all the others.

[[gnu::noinline]] bool Channel::spoil(Telegram& telegram, Passage& passage, std::uint64_t draw, bool arrives) {
    if (foresight_) return spoil_foreseen(telegram, passage, draw);
    const Way& settings = way(passage.tag.direction);
    const Lane& lane = lanes_[lane_of(passage.tag.link, passage.tag.direction)];
    if (settings.loss != 0 && arrives && happens(lane.losses.at(draw), settings.loss)) {
        ++losses_.lost;
        arrives = false;
        befell(passage, Fate::lost);
    }
    if (settings.bit_errors.any() && arrives &&
        settings.bit_errors.bend(telegram.view(), lane.bit_errors.at(draw)) != 0) {
        ++losses_.bent;
        passage.tag.altered = true;
        befell(passage, Fate::bent);
    }
    return arrives;
}

[[gnu::noinline]] void Channel::overflowed(const Passage& passage) {
    ++losses_.crowded_out;
    befell(passage, Fate::crowded_out);
}

[[gnu::noinline]] FaultStage::Pass Channel::past_extras(Telegram& telegram, Passage& passage) {
    if (!extras_) return through_stages(telegram, passage);
    Extras& extras = (*extras_)[lane_of(passage.tag.link, passage.tag.direction)];
    bool lost = false;
    if (extras.queue) {
        const std::optional<Duration> stays = extras.queue->enter(passage.sent);
        lost = !stays;
        passage.due = passage.due + stays.value_or(Duration{});
    }
    // The chain moves on with each telegram, whatever happens to it elsewhere.
    if (extras.bursts && !foresight_ && extras.bursts->loses()) lost = true;
    const auto pass = through_stages(telegram, passage);
    if (!lost || pass == FaultStage::Pass::drop) return pass;
    ++losses_.lost;
    befell(passage, Fate::lost);
    return FaultStage::Pass::drop;
}

void Channel::foresee(QuietTelegrams to_device, QuietTelegrams to_controller) {
    proto::require(stages_.empty(), "Channel::foresee() with faults");
    foresight_ = std::make_unique<Foresight>(
        Foresight{{Foreseen{std::move(to_device), 0, false, {}}, Foreseen{std::move(to_controller), 0, false, {}}}, 0});
    for (std::shared_ptr<const Way>& each : ways_) {
        auto spoiling = std::make_shared<Way>(*each);
        spoiling->spoils = true;
        each = std::move(spoiling);
    }
    use_ways();
}

void Channel::forget_places() {
    for (Foreseen& each : foresight_->ways) each.places.clear();
}

void Channel::foretell(Direction direction, std::uint64_t ordinary, Then then) {
    Foreseen& foreseen = foresight_->ways[static_cast<std::size_t>(direction)];
    foreseen.ordinary_below = lanes_[lane_of(0, direction)].offered + ordinary;
    foreseen.then_strange = then == Then::strange;
}

/// The channel's loss, burst chain and bit errors while telegrams are foreseen: as foretold, else as drawn.
bool Channel::spoil_foreseen(Telegram& telegram, Passage& passage, std::uint64_t draw) {
    Foreseen& foreseen = foresight_->ways[static_cast<std::size_t>(passage.tag.direction)];
    const Way& settings = way(passage.tag.direction);
    const std::size_t number = lane_of(0, passage.tag.direction);
    const Lane& lane = lanes_[number];
    BurstLossChain* const bursts = extras_ && (*extras_)[number].bursts ? &*(*extras_)[number].bursts : nullptr;
    const std::size_t place = foreseen.quiet.place_of(passage.sent);
    const Duration delay = passage.due - passage.sent;
    foreseen.places.push_back(static_cast<std::uint16_t>(place));

    bool lost = false, bent = false;
    if (draw < foreseen.ordinary_below) {
        if (!foreseen.quiet.ordinary(place, delay)) passage.due = passage.sent + foreseen.quiet.draw_ordinary(place);
        if (bursts != nullptr) bursts->stay_good(1);
        return true;
    }
    if (foreseen.then_strange) {
        foreseen.then_strange = false;
        const Strangeness strange = foreseen.quiet.draw_strange(place);
        passage.due = passage.sent + strange.delay;
        lost = strange.lost;
        if (bursts != nullptr) bursts->go_on(strange.turns_bad);
        bent = !lost && strange.bent && settings.bit_errors.bend(telegram.view(), strange.bend_draw) != 0;
        ++foresight_->strange;
    } else {
        const bool was_bad = bursts != nullptr && bursts->bad();
        lost = bursts != nullptr ? bursts->loses() : settings.loss != 0 && happens(lane.losses.at(draw), settings.loss);
        bent = !lost && settings.bit_errors.any() &&
               settings.bit_errors.bend(telegram.view(), lane.bit_errors.at(draw)) != 0;
        const bool is_bad = bursts != nullptr && bursts->bad();
        if (lost || bent || was_bad || is_bad || passage.tag.parameter || !foreseen.quiet.ordinary(place, delay))
            ++foresight_->strange;
    }
    if (lost) ++losses_.lost;
    if (bent) {
        ++losses_.bent;
        passage.tag.altered = true;
    }
    return !lost;
}

void Channel::skip_lanes(Duration by, const std::array<std::uint64_t, 2>& telegrams) {
    for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
        const std::size_t number = lane_of(0, direction);
        const std::uint64_t passed = telegrams[static_cast<std::size_t>(direction)];
        Lane& lane = lanes_[number];
        lane.offered += passed;
        lane.process += passed;
        lane.next_delay = way(direction).delay.of(lane.delays, lane.offered);
        if (lane.not_before.ns != std::numeric_limits<std::int64_t>::min()) lane.not_before = lane.not_before + by;
        if (extras_ && (*extras_)[number].bursts) (*extras_)[number].bursts->stay_good(passed);
    }
}

FaultStage::Pass Channel::through_stages(Telegram& telegram, Passage& passage) {
    const Past offered = past_of(telegram, passage.tag);
    auto pass = FaultStage::Pass::deliver;
    in_stages_ = true;
    for (Stage& each : stages_) {
        if (each.quiet.covers(passage.ordinal, passage.sent)) continue;
        pass = each.stage->pass(telegram, passage, *this);
        each.quiet = each.stage->quiet();
        if (pass == FaultStage::Pass::drop) break;
    }
    in_stages_ = false;
    ask_quiet();

    // Two faults may undo each other: only the net change counts.
    const bool still_itself = passage.tag.instance == offered.tag.instance && passage.tag.stray == offered.tag.stray &&
                              passage.tag.parameter == offered.tag.parameter && !offered.tag.altered;
    if (passage.tag.altered && still_itself) {
        const auto was = offered.telegram.view();
        const auto is = std::as_const(telegram).view();
        passage.tag.altered = !std::equal(was.begin(), was.end(), is.begin(), is.end());
    }
    if (history_) history_->note(offered.telegram, offered.tag, passage.sent);
    if (pass == FaultStage::Pass::drop || passage.tag.injection != offered.tag.injection)
        befell(passage, pass == FaultStage::Pass::drop ? Fate::dropped : Fate::touched);
    return pass;
}

void Channel::ask_quiet() {
    quiet_ = extras_ ? Quiet{} : Quiet{~std::uint64_t{0}, proto::never};
    for (const Stage& each : stages_) {
        quiet_.before_ordinal = std::min(quiet_.before_ordinal, each.quiet.before_ordinal);
        quiet_.before = std::min(quiet_.before, each.quiet.before);
    }
    const bool by_ordinal = std::any_of(stages_.begin(), stages_.end(), [](const Stage& each) {
        return each.quiet.before_ordinal != ~std::uint64_t{0};
    });
    untouched_before_ = by_ordinal ? Instant{std::numeric_limits<std::int64_t>::min()} : proto::never;
    for (const Stage& each : stages_) untouched_before_ = std::min(untouched_before_, each.quiet.before);
}

bool Channel::schedule(const Telegram& telegram, const Passage& passage) {
    Carried* const copy = pop_free();
    if (copy == nullptr) {
        ++losses_.crowded_out;
        return false;
    }
    copy->telegram.assign(telegram.view());
    copy->passage = passage;
    copy->passage.due = passage.due + passage.held;
    if (in_stages_) {
        beside_.push_back(copy);
    } else {
        insert(copy, copy->passage.due);
    }
    return true;
}

proto::Duration Channel::draw_delay(std::uint8_t link, Direction direction) {
    proto::require(link < link_count, "Channel::draw_delay() of an impossible link");
    Lane& lane = lanes_[lane_of(link, direction)];
    return way(direction).delay.at(lane.extra_delays.at(lane.extra++));
}

void Channel::keep_behind(std::uint8_t link, Direction direction, Instant due) {
    proto::require(link < link_count, "Channel::keep_behind() of an impossible link");
    Instant& not_before = lanes_[lane_of(link, direction)].not_before;
    not_before = std::max(not_before, due);
}

Instant Channel::due_beside(const Passage& passage) {
    const std::uint8_t link = passage.tag.link;
    const Direction direction = passage.tag.direction;
    proto::require(link < link_count, "Channel::due_beside() of an impossible link");
    const Instant own = std::max(passage.due, lanes_[lane_of(link, direction)].not_before) + passage.held;
    return keeps_order(direction) ? own : std::max(own, passage.sent + draw_delay(link, direction));
}

bool Channel::keeps_order(Direction direction) const { return way(direction).keep_order; }

const Past* Channel::past(std::uint8_t link, Direction direction, unsigned back, Counting counting) const {
    proto::require(history_ != nullptr && link < link_count, "Channel::past() without keep_history()");
    return history_->past(link, direction, back, counting);
}

const Past* Channel::past_offer() const { return history_ ? history_->last_offer() : nullptr; }
const Past* Channel::first_offer() const { return history_ ? history_->first_offer() : nullptr; }

}  // namespace sim
