#include <optional>
#include <string_view>
#include <utility>

#include "sim/channel/delay_shapes.hpp"
#include "sim/reading/parts.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

using Zero = Section::Zero;

void read_loss(Section& section, ChannelSettings& channel) {
    const Node* node = section.find("loss");
    holds(section, "loss", KeyShape::number(0.0, 1.0));
    if (node == nullptr) return;
    channel.bursts.reset();
    if (node->kind != Node::Kind::table) {
        channel.loss = section.probability("loss").value_or(channel.loss);
        return;
    }
    Section table = *section.table("loss");
    BurstLoss bursts;
    const auto needed = [&table](std::string_view key, std::string_view example, double& value) {
        if (!table.has(key)) table.missing(key, example);
        value = table.probability(key).value_or(value);
    };
    needed("good_to_bad", "0.02", bursts.good_to_bad);
    needed("bad_to_good", "0.25", bursts.bad_to_good);
    bursts.in_good = table.probability("in_good").value_or(bursts.in_good);
    bursts.in_bad = table.probability("in_bad").value_or(bursts.in_bad);
    table.finish();
    channel.loss = 0.0;
    channel.bursts = bursts;
}

void read_queue(Section& section, ChannelSettings& channel) {
    std::optional<Section> table = section.table("queue");
    if (!table) return;
    using Kind = BackgroundTraffic::Kind;
    constexpr Duration longest_service = proto::seconds(1);
    constexpr Duration longest_room = proto::seconds(3600);
    constexpr double load_max = 16.0;
    BackgroundTraffic queue;
    queue.service = table->duration("service", Zero::refused, longest_service).value_or(proto::microseconds(50));
    if (!table->has("service")) table->missing("service", "\"50 us\"");
    queue.kind = table->choice<Kind>("background", {{"constant", Kind::constant}, {"bursts", Kind::bursts}})
                     .value_or(Kind::constant);
    if (!table->has("background")) table->missing("background", R"("constant" or "bursts")");
    queue.load = number_in(*table, "load", 0.0, load_max, "0.7").value_or(0.0);
    if (!table->has("load")) table->missing("load", "0.7");
    if (queue.kind == Kind::bursts) {
        queue.burst = static_cast<unsigned>(table->integer("burst", 1, 65536).value_or(10));
    }
    queue.room = table->duration("room", Zero::refused, longest_room).value_or(proto::milliseconds(50));
    queue.ramp_to = queue.load;
    if (std::optional<Section> ramp = table->table("ramp")) {
        queue.ramp_to = number_in(*ramp, "to", 0.0, load_max, "1.05").value_or(queue.load);
        queue.ramp_from = ramp->duration("at", Zero::allowed, run_longest).value_or(Duration{});
        queue.ramp_lasting = ramp->duration("lasting", Zero::allowed, run_longest).value_or(Duration{});
        if (!ramp->has("to")) ramp->missing("to", "1.05");
        if (!ramp->has("at")) ramp->missing("at", "\"2 s\"");
        ramp->finish();
    }
    table->finish();
    if (table->wrong()) return;
    if (queue.service < proto::microseconds(1)) {
        table->say("service", written(queue.service) + " is too short; write \"1 us\" or more");
    } else if (queue.room < queue.service) {
        table->say("room",
                   written(queue.room) + " is less than one service (" + written(queue.service) + "); write more");
    }
    channel.queue = queue;
}

void read_one_way(Section& section, ChannelSettings& channel) {
    if (auto delay = read_delay(section)) channel.delay = std::move(*delay);
    if (channel.delay.lost > 0.0 && section.has("loss"))
        section.say("loss", "is stated beside measured times of which some were lost; leave loss, or no_answer, away");
    else if (channel.delay.lost > 0.0)
        channel.loss = channel.delay.lost;
    read_loss(section, channel);
    read_queue(section, channel);
    channel.bit_error_rate = section.probability("bit_error_rate").value_or(channel.bit_error_rate);
    channel.keep_order = section.flag("keep_order").value_or(channel.keep_order);
}

}  // namespace

void read_channel(Section& top, Scenario& scenario) {
    std::optional<Section> both = top.table("channel");
    if (!both) return;
    ChannelSettings shared;
    read_one_way(*both, shared);
    scenario.to_device = scenario.to_controller = shared;
    if (std::optional<Section> way = both->table("to_device")) {
        read_one_way(*way, scenario.to_device);
        way->finish();
    }
    if (std::optional<Section> way = both->table("to_controller")) {
        read_one_way(*way, scenario.to_controller);
        way->finish();
    }
    both->finish();
    if (scenario.controller.link.exchange == proto::Exchange::polled)
        share_round_trips(scenario.to_device.delay, scenario.to_controller.delay);
}

}  // namespace sim
