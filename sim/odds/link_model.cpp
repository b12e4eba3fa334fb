#include "sim/odds/link_model.hpp"

#include <algorithm>
#include <cmath>

#include "proto/contract.hpp"
#include "sim/channel/delay_law.hpp"
#include "sim/numeric/portable_math.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

std::vector<AgeModel> ages_of(const proto::LinkSettings& link) {
    std::vector<AgeModel> ages;
    if (link.max_lag) ages.push_back({.by = AgeModel::By::lag, .lag_most = *link.max_lag});
    if (link.profile.time_stamp_bits != 0)
        ages.push_back(
            {.by = link.profile.time_stamp_kind == proto::StampKind::clock ? AgeModel::By::clock : AgeModel::By::echo,
             .most = link.max_age,
             .early = link.max_early,
             .unit = link.profile.time_stamp_unit});
    return ages;
}

EndModel end_of(const proto::LinkSettings& link) {
    return {.scan = link.scan,
            .watchdog = link.watchdog,
            .reaction = link.reaction,
            .error_interval = link.error_interval,
            .missing_allowed = link.missing_allowed,
            .ages = ages_of(link),
            .answers = link.answers};
}

WayModel way_of(const proto::LinkSettings& sender, const ChannelSettings& channel) {
    const auto layout = proto::layout_of(sender.profile, sender.payload_sent);
    proto::require(layout.ok(), "a way of an impossible profile");
    return {.channel = channel, .bent = any_flip(channel.bit_error_rate, layout.value().total_bytes * 8)};
}

}  // namespace

bool never_overtaken(const LinkModel& link, Direction way) {
    const bool out = way == Direction::to_device;
    const ChannelSettings& channel = (out ? link.to_device : link.to_controller).channel;
    // a device that answers each telegram sends several answers at once where it finds several
    const bool at_once =
        !out && link.exchange == proto::Exchange::polled && link.device.answers == proto::Answers::each;
    const Duration between = at_once ? Duration{} : (out ? link.controller : link.device).scan;
    return channel.keep_order || latest_of(channel.delay) - shortest_of(channel.delay) <= between;
}

namespace {

/// How long the sender of that way may hear nothing new from its receiver and run on.
Duration until_the_next(const LinkModel& link, Direction way) {
    const bool out = way == Direction::to_device;
    const EndModel& receiver = out ? link.device : link.controller;
    const EndModel& sender = out ? link.controller : link.device;
    const WayModel& back = out ? link.to_controller : link.to_device;
    if (link.exchange == proto::Exchange::polled) return sender.watchdog;
    const bool loses = back.channel.loss > 0.0 || back.channel.bursts || back.bent > 0.0 || !back.channel.keep_order;
    const std::int64_t numbers = loses ? std::int64_t{sender.missing_allowed} + 1 : 1;
    return std::min(sender.watchdog, receiver.scan * numbers);
}

}  // namespace

bool may_be_too_old(const LinkModel& link, Direction way) {
    const bool out = way == Direction::to_device;
    const EndModel& receiver = out ? link.device : link.controller;
    const EndModel& sender = out ? link.controller : link.device;
    const ChannelSettings& there = (out ? link.to_device : link.to_controller).channel;
    const ChannelSettings& back = (out ? link.to_controller : link.to_device).channel;
    if (receiver.ages.empty()) return false;
    if (there.queue || back.queue) return true;
    // What comes back was sent at most so long ago: it took its way back, was the last one there until another came,
    // and took the way here.
    const Duration here = latest_of(there.delay) + receiver.scan;
    const Duration round = here + latest_of(back.delay) + sender.scan + until_the_next(link, way);
    for (AgeModel age : receiver.ages) {
        // ages are told apart by whole units, two stamps apart
        if (age.unit.ns > 0) {
            age.most = Duration{std::max<std::int64_t>(age.most.ns / age.unit.ns - 2, 0) * age.unit.ns};
            age.early = Duration{std::max<std::int64_t>(age.early.ns / age.unit.ns - 2, 0) * age.unit.ns};
        }
        switch (age.by) {
            case AgeModel::By::lag:
                if (receiver.scan * static_cast<std::int64_t>(age.lag_most) < round) return true;
                break;
            case AgeModel::By::echo:
                // in a polled exchange both watchdogs supervise that very round trip
                if (age.most < (link.exchange == proto::Exchange::polled ? std::min(round, receiver.watchdog) : round))
                    return true;
                break;
            case AgeModel::By::clock:
                // the reading of the clock may be old by the way out of the handshake's round trip, and is accepted up
                // to the limit; early is what seems younger than half of that round trip
                if (age.most < here + latest_of(back.delay) + sender.scan || age.early < here + latest_of(back.delay))
                    return true;
                break;
        }
    }
    return false;
}

double any_flip(double bit_error_rate, unsigned bits) {
    return bit_error_rate >= 1.0 ? 1.0 : -portable_expm1(static_cast<double>(bits) * portable_log1p(-bit_error_rate));
}

LinkModel model_of(const Scenario& scenario) {
    return {.exchange = scenario.controller.link.exchange,
            .controller = end_of(scenario.controller.link),
            .device = end_of(scenario.device.link),
            .device_phase = scenario.device_phase,
            .to_device = way_of(scenario.controller.link, scenario.to_device),
            .to_controller = way_of(scenario.device.link, scenario.to_controller),
            .declared_delay = scenario.declared_delay};
}

}  // namespace sim
