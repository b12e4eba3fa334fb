#include "sim/odds/link_model.hpp"

#include <cmath>

#include "proto/contract.hpp"
#include "sim/channel/delay_law.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/timing/bounds.hpp"

namespace sim {
namespace {

EndModel end_of(const proto::LinkSettings& link) {
    return {.scan = link.scan,
            .watchdog = link.watchdog,
            .reaction = link.reaction,
            .error_interval = link.error_interval,
            .missing_allowed = link.missing_allowed};
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
    const Duration between = (out ? link.controller : link.device).scan;
    return channel.keep_order || latest_of(channel.delay) - shortest_of(channel.delay) <= between;
}

double any_flip(double bit_error_rate, unsigned bits) {
    return bit_error_rate >= 1.0 ? 1.0 : -std::expm1(static_cast<double>(bits) * std::log1p(-bit_error_rate));
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
