#include "sim/odds/walk.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "sim/channel/delay.hpp"

namespace sim {

WalkTables::WalkTables(const LinkModel& link) {
    for (const WayModel* way : {&link.to_device, &link.to_controller}) {
        delays.emplace_back(way->channel.delay);
        const auto& traffic = way->channel.queue;
        const bool constant = traffic && traffic->kind == BackgroundTraffic::Kind::constant;
        constexpr std::int64_t latest_ns = 1'000'000'000'000'000'000;  // no time beyond it is reckoned with
        gaps.emplace_back(!traffic   ? 0.0
                          : constant ? 1.0
                                     : traffic->ramp_to / traffic->burst,
                          traffic ? latest_ns / traffic->service.ns : 1);
    }
}

LinkWalk::LinkWalk(const LinkModel& link, const WalkTables& tables, std::uint64_t seed)
    : link_(&link), delays_(&tables.delays), gaps_(&tables.gaps), draws_{seed, 0} {
    // Begun in any of the ways in which the scans of the two can stand to each other: with constant delays a link may
    // stay in one of them for very long.
    const std::int64_t cycle = link.controller.scan.ns, scan = link.device.scan.ns;
    const auto ways = static_cast<std::uint64_t>(scan / std::gcd(cycle, scan));
    const auto turned = static_cast<std::int64_t>(ways > 1 ? scale(draws_.next(), ways) : 0);
    device_scan_ = (link.device_phase.ns % scan - turned * (cycle % scan)) % scan;
    if (device_scan_ <= 0) device_scan_ += scan;
    for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
        const auto& traffic = model(direction).channel.queue;
        if (!traffic) continue;
        Way& way = ways_[static_cast<std::size_t>(direction)];
        way.gaps = &(*gaps_)[static_cast<std::size_t>(direction)];
        way.next_burst = way.gaps->at(draws_.next());
    }
}

/// When a telegram that comes now has been served, as BackgroundQueue has it, with draws from the time to the next
/// burst.
std::optional<std::int64_t> LinkWalk::queue(Way& way, const BackgroundTraffic& traffic, std::int64_t now) {
    const std::int64_t slot = traffic.service.ns, room = traffic.room.ns;
    while (way.next_burst * slot <= now) {
        const std::int64_t begin = way.next_burst * slot;
        way.work = std::max<std::int64_t>(way.work - (begin - way.work_at), 0);
        way.work_at = begin;
        double packets = traffic.burst;
        if (traffic.kind == BackgroundTraffic::Kind::constant) {
            const auto k = static_cast<double>(way.next_burst);
            packets = std::floor((k + 1.0) * traffic.ramp_to) - std::floor(k * traffic.ramp_to);
        } else if (const double rate = traffic.ramp_to / traffic.burst; rate >= 1.0) {
            packets = (std::floor(rate) + (draws_.happens(rate - std::floor(rate)) ? 1.0 : 0.0)) * traffic.burst;
        }
        way.work = std::max(way.work, std::min(way.work + static_cast<std::int64_t>(packets) * slot, room));
        way.next_burst += way.gaps->at(draws_.next());
    }
    way.work = std::max<std::int64_t>(way.work - (now - way.work_at), 0);
    way.work_at = now;
    if (way.work + slot > room) return std::nullopt;
    way.work += slot;
    return way.work;
}

void LinkWalk::send(Direction direction, std::uint64_t number, std::int64_t now) {
    const WayModel& settings = model(direction);
    const ChannelSettings& channel = settings.channel;
    Way& way = ways_[static_cast<std::size_t>(direction)];
    std::int64_t due = now + (*delays_)[static_cast<std::size_t>(direction)].after(way.in_block, draws_.next()).ns;
    bool lost = false;
    if (channel.queue) {
        const std::optional<std::int64_t> wait = queue(way, *channel.queue, now);
        lost = !wait;
        if (wait) due += *wait;
    }
    if (channel.bursts) {
        lost = draws_.happens(way.bad ? channel.bursts->in_bad : channel.bursts->in_good) || lost;
        if (draws_.happens(way.bad ? channel.bursts->bad_to_good : channel.bursts->good_to_bad)) way.bad = !way.bad;
    } else {
        lost = draws_.happens(channel.loss) || lost;
    }
    if (lost) return;
    if (channel.keep_order) way.not_before = due = std::max(due, way.not_before);
    const End& sender = sending(direction);
    const Telegram telegram{due, number, draws_.happens(settings.bent), now, sender.accepted, sender.accepted_sent};
    auto at = way.pending.end();
    while (at != way.pending.begin() && std::prev(at)->due > due) --at;
    way.pending.insert(at, telegram);
}

LinkWalk::Fit LinkWalk::fit_of(std::uint64_t number, Direction direction) const {
    const End& end = receiving(direction);
    if (link_->exchange != proto::Exchange::polled) {
        const bool fits = number > end.accepted && number <= end.accepted + receiver(direction).missing_allowed + 1;
        return {fits, fits, !fits && number > end.accepted};
    }
    if (direction == Direction::to_device) {
        const bool fresh = number == end.accepted + 1;
        return {fresh || number == end.accepted, fresh, false};
    }
    return {number == end.number || number + 1 == end.number, number == end.number && end.waiting, false};
}

bool LinkWalk::too_old(const Telegram& telegram, Fit fit, Direction direction, std::int64_t now) const {
    const End& end = receiving(direction);
    const auto is_over = [&](const AgeModel& age) {
        if (age.by == AgeModel::By::lag) return end.number - telegram.feedback > age.lag_most;
        if (fit.fits && !fit.fresh) return false;  // stamps of repeats are not judged
        const std::int64_t unit = age.unit.ns, most = age.most.ns / unit;
        if (age.by == AgeModel::By::echo) return now / unit - telegram.echo / unit > most;
        const std::int64_t old = now / unit - telegram.sent / unit;
        const std::int64_t early = 2 * (old + end.clock_least / unit) - end.clock_round / unit;
        return old + end.clock_lead / unit > most || early < -2 * (age.early.ns / unit);
    };
    const std::vector<AgeModel>& ages = receiver(direction).ages;
    return std::any_of(ages.begin(), ages.end(), is_over);
}

std::optional<StopCause> LinkWalk::count_error(Direction direction, StopCause cause, std::int64_t now) {
    End& end = receiving(direction);
    const EndModel& model = receiver(direction);
    const bool again = now - end.error < model.error_interval.ns;
    end.error = now;
    if (model.reaction != proto::Reaction::trip && !again) return std::nullopt;
    return cause;
}

std::optional<StopCause> LinkWalk::look_at(const Telegram& telegram, Fit fit, Direction direction, std::int64_t now) {
    End& end = receiving(direction);
    const bool out = direction == Direction::to_device;
    if (!fit.fits) {
        const StopCause gap = out ? StopCause::missing_to_device : StopCause::missing_to_controller;
        const StopCause order = out ? StopCause::order_to_device : StopCause::order_to_controller;
        return count_error(direction, fit.gap ? gap : order, now);
    }
    if (too_old(telegram, fit, direction, now))
        return count_error(direction, out ? StopCause::age_to_device : StopCause::age_to_controller, now);
    if (fit.fresh) {
        end.accepted = telegram.number;
        end.accepted_sent = telegram.sent;
        end.heard = now;
        end.waiting = false;
    }
    return std::nullopt;
}

void LinkWalk::send_due(Direction direction, unsigned answers, std::int64_t now) {
    const bool at_device = direction == Direction::to_device;
    End& end = receiving(direction);
    if (link_->exchange != proto::Exchange::polled) {
        send(at_device ? Direction::to_controller : Direction::to_device, ++end.number, now);
    } else if (at_device) {
        if (link_->device.answers == proto::Answers::one_a_scan) answers = std::min(answers, 1U);
        for (; answers > 0; --answers) send(Direction::to_controller, end.accepted, now);
    } else {
        if (!end.waiting) ++end.number;
        end.waiting = true;
        send(Direction::to_device, end.number, now);
    }
}

/// One scan of the receiver of that way; true time is now.
std::optional<StopCause> LinkWalk::scan(Direction direction, std::int64_t now) {
    const bool at_device = direction == Direction::to_device;
    Way& way = ways_[static_cast<std::size_t>(direction)];
    if (now - receiving(direction).heard > receiver(direction).watchdog.ns)
        return at_device ? StopCause::device_watchdog : StopCause::controller_watchdog;
    unsigned answers = 0;
    std::size_t taken = 0;
    std::optional<StopCause> stops;
    for (; taken < way.pending.size() && way.pending[taken].due <= now; ++taken) {
        const Telegram& telegram = way.pending[taken];
        if (telegram.bent) {
            ++way.bent;
            continue;
        }
        const Fit fit = fit_of(telegram.number, direction);
        const std::uint64_t accepted = receiving(direction).accepted;
        stops = look_at(telegram, fit, direction, now);
        if (stops) break;
        answers += fit.fits && (!fit.fresh || receiving(direction).accepted != accepted) ? 1U : 0U;
    }
    way.pending.erase(way.pending.begin(),
                      way.pending.begin() + static_cast<std::ptrdiff_t>(std::min(taken, way.pending.size())));
    if (!stops) send_due(direction, answers, now);
    return stops;
}

/// After a stop: connected anew, nothing on its way, and a burst that stopped it is over.
void LinkWalk::run_again(std::int64_t now) {
    for (const Direction direction : {Direction::to_device, Direction::to_controller}) {
        Way& way = ways_[static_cast<std::size_t>(direction)];
        way.pending.clear();
        way.not_before = 0;
        const std::optional<BurstLoss>& bursts = model(direction).channel.bursts;
        if (bursts && bursts->good_to_bad > 0.0)
            way.bad = draws_.happens(bursts->good_to_bad / (bursts->good_to_bad + bursts->bad_to_good));
    }
    controller_.heard = device_.heard = now;
    controller_.number += 2;
    device_.number += 2;
    controller_.accepted = device_.number;
    device_.accepted = controller_.number;
    controller_.waiting = false;
    // the numbers and stamps of the handshake
    controller_.accepted_sent = device_.accepted_sent = now;
    set_clock(Direction::to_device);
    set_clock(Direction::to_controller);
}

/// The receiver of that way asks in one of its scans, the sender reads its clock when it finds the question, and the
/// answer comes back. How well a clock was set holds until the next start, and one that was set badly stops a link that
/// another would run for ever: so it is set as badly as a start allows, both ways.
void LinkWalk::set_clock(Direction way) {
    const Direction other = way == Direction::to_device ? Direction::to_controller : Direction::to_device;
    const DelayTable& there = (*delays_)[static_cast<std::size_t>(other)];
    const DelayTable& back = (*delays_)[static_cast<std::size_t>(way)];
    const std::int64_t waits = receiver(other).scan.ns, looks = receiver(way).scan.ns;
    End& end = receiving(way);
    for (const AgeModel& age : receiver(way).ages) {
        if (age.by != AgeModel::By::clock) continue;
        end.clock_lead = std::min(there.longest().ns + waits, age.most.ns - back.shortest().ns);
        end.clock_least = there.shortest().ns;
        end.clock_round = std::min(there.longest().ns + waits + back.longest().ns + looks, age.most.ns);
    }
}

std::optional<StopCause> LinkWalk::step() {
    if (now_ == 0) {
        run_again(0);
        static_cast<void>(scan(Direction::to_controller, 0));
    }
    now_ += link_->controller.scan.ns;
    std::optional<StopCause> stopped;
    for (; device_scan_ <= now_; device_scan_ += link_->device.scan.ns)
        if (!stopped) stopped = scan(Direction::to_device, device_scan_);
    if (!stopped) stopped = scan(Direction::to_controller, now_);
    if (stopped) {
        // somebody acknowledges about a second later; the other traffic has gone on in the meantime
        constexpr std::int64_t second = 1'000'000'000;
        const std::int64_t pause =
            second / link_->controller.scan.ns * link_->controller.scan.ns + link_->controller.scan.ns;
        now_ += pause;
        while (device_scan_ <= now_) device_scan_ += link_->device.scan.ns;
        run_again(now_);
        static_cast<void>(scan(Direction::to_controller, now_));
    }
    return stopped;
}

std::int64_t LinkWalk::waits(Direction direction, std::int64_t until) const {
    const Way& way = ways_[static_cast<std::size_t>(direction)];
    const auto& traffic = model(direction).channel.queue;
    if (!traffic) return 0;
    const auto waiting = static_cast<double>(way.work - (now_ - way.work_at));
    const double served = (1.0 - traffic->ramp_to) * static_cast<double>(until - now_);
    return static_cast<std::int64_t>(std::max(waiting - served, 0.0));
}

std::optional<std::int64_t> LinkWalk::on_its_way(Direction direction, std::uint64_t number) const {
    for (const Telegram& telegram : ways_[static_cast<std::size_t>(direction)].pending)
        if (telegram.number == number && !telegram.bent) return telegram.due;
    return std::nullopt;
}

std::int64_t LinkWalk::age_left_ns(Direction way) const {
    const bool out = way == Direction::to_device;
    const std::int64_t shortest = (*delays_)[static_cast<std::size_t>(way)].shortest().ns;
    std::int64_t left = std::numeric_limits<std::int64_t>::max();
    for (const AgeModel& age : receiver(way).ages) {
        if (age.by == AgeModel::By::clock) continue;
        const std::int64_t most =
            age.by == AgeModel::By::lag ? receiver(way).scan.ns * static_cast<std::int64_t>(age.lag_most) : age.most.ns;
        const End& sender = out ? controller_ : device_;
        left = std::min(left, most - shortest - (now_ - sender.accepted_sent));
    }
    return left;
}

std::int64_t LinkWalk::left_ns() const {
    return std::min({watchdog_left_ns(), age_left_ns(Direction::to_device), age_left_ns(Direction::to_controller)});
}

std::int64_t LinkWalk::watchdog_left_ns() const {
    const std::int64_t controller_until = controller_.heard + link_->controller.watchdog.ns;
    const std::int64_t device_until = device_.heard + link_->device.watchdog.ns;
    const bool queue = link_->to_device.channel.queue || link_->to_controller.channel.queue;
    if (!queue) return std::min(controller_until, device_until) - now_;
    if (link_->exchange != proto::Exchange::polled)
        return std::min(controller_until - waits(Direction::to_controller, now_),
                        device_until - waits(Direction::to_device, now_)) -
               now_;
    // when the number that is asked for now will be found at each end, if the other traffic keeps to its mean
    const auto sent_from = [this](Direction direction, std::int64_t from) { return from + waits(direction, from); };
    const bool asks = device_.accepted < controller_.number;
    const std::int64_t asked =
        on_its_way(Direction::to_device, controller_.number).value_or(sent_from(Direction::to_device, now_));
    const std::int64_t answered =
        asks ? sent_from(Direction::to_controller, asked)
             : on_its_way(Direction::to_controller, controller_.number)
                   .value_or(sent_from(Direction::to_controller, sent_from(Direction::to_device, now_)));
    const std::int64_t found = asks ? asked : sent_from(Direction::to_device, answered + link_->controller.scan.ns);
    const std::int64_t afresh =
        sent_from(Direction::to_controller, sent_from(Direction::to_device, now_)) + link_->controller.scan.ns;
    const std::int64_t watchdog = std::min(link_->controller.watchdog.ns, link_->device.watchdog.ns);
    return std::min({controller_until - answered, device_until - found, watchdog - (afresh - now_)});
}

}  // namespace sim
