#include "sim/timing/bounds.hpp"
#include "sim/scenario/scenario.hpp"

#include <algorithm>

namespace sim {

Duration polled_bound(const Consumer& consumer) { return consumer.watchdog * 2 + consumer.scan + consumer.payload_age; }

Duration polled_over_controller_bound(const Consumer& device, Duration input_pipeline) {
    return polled_bound(device) + input_pipeline;
}

Duration streaming_loss_bound(const StreamingPath& path) {
    return path.longest_delay + path.receiver.scan * 2 + path.receiver.watchdog + path.receiver.payload_age;
}

Duration streaming_bound(const StreamingPath& path) {
    const Duration late = path.longest_delay * 2 - path.shortest_delay + path.receiver.scan * 3 +
                          path.receiver.watchdog * 2 - path.sender_scan + path.receiver.payload_age;
    return std::max(late, streaming_loss_bound(path));  // a sender slower than the watchdog
}

Duration supervised_age_bound(Duration longest_age, const Consumer& receiver) {
    return longest_age + receiver.watchdog + receiver.scan * 2 + receiver.payload_age;
}

CablePulled cable_pulled_bounds(const Consumer& receiver, Duration longest_delay, Duration longest_exchange) {
    return {.at_least = std::max(receiver.watchdog - longest_exchange, Duration{}),
            .at_most = longest_delay + receiver.scan * 2 + receiver.watchdog};
}

Duration longest_round_trip(Duration watchdog, Duration cycle) { return watchdog - cycle; }

Duration least_hold(const Scenario& scenario, End producer) {
    const proto::LinkSettings& from = scenario.end(producer).link;
    const Duration within_watchdog = from.watchdog + from.scan;
    if (from.exchange == proto::Exchange::polled) return within_watchdog;
    const std::int64_t missing = scenario.end(proto::other(producer)).link.missing_allowed;
    return std::max(within_watchdog, from.scan * (missing + 2));
}

Duration longest_of(const DelayShape& shape) {
    switch (shape.kind) {
        case DelayShape::Kind::constant: return shape.low;
        case DelayShape::Kind::uniform: return shape.high;
        case DelayShape::Kind::histogram: break;
    }
    Duration longest{};
    for (const DelayShape::Cell& cell : shape.cells) {
        if (cell.weight != 0) longest = std::max(longest, cell.high);
    }
    return longest;
}

Duration shortest_of(const DelayShape& shape) {
    if (shape.kind != DelayShape::Kind::histogram) return shape.low;
    Duration shortest = longest_of(shape);
    for (const DelayShape::Cell& cell : shape.cells) {
        if (cell.weight != 0) shortest = std::min(shortest, cell.low);
    }
    return shortest;
}

std::optional<Duration> bound_of(const Scenario& scenario, Direction direction) {
    const proto::LinkSettings& consumer = scenario.end(receiver(direction)).link;
    const Consumer at{.watchdog = consumer.watchdog, .scan = consumer.scan, .payload_age = {}};
    if (consumer.exchange == proto::Exchange::polled) return polled_bound(at);
    if (consumer.profile.time_stamp_bits != 0) return supervised_age_bound(consumer.max_age, at);
    if (consumer.max_lag) {
        // The number fed back was sent at most max_lag scans before the receiver's last one; the peer made its telegram
        // after having received that number, so it is not older.
        return supervised_age_bound(consumer.scan * (std::int64_t{*consumer.max_lag} + 1), at);
    }
    if (!scenario.declared_delay) return std::nullopt;
    const ChannelSettings& channel = direction == Direction::to_device ? scenario.to_device : scenario.to_controller;
    return streaming_bound({.longest_delay = *scenario.declared_delay,
                            .shortest_delay = shortest_of(channel.delay),
                            .sender_scan = scenario.end(sender(direction)).link.scan,
                            .receiver = at});
}

std::optional<Duration> over_other_end_bound_of(const Scenario& scenario, Direction back) {
    const std::optional<Duration> last = bound_of(scenario, back);
    if (scenario.controller.link.exchange == proto::Exchange::polled) return last;
    const Direction there = back == Direction::to_device ? Direction::to_controller : Direction::to_device;
    const std::optional<Duration> first = bound_of(scenario, there);
    if (!first || !last) return std::nullopt;
    return *first + *last + scenario.controller.link.cycle;
}

}  // namespace sim
