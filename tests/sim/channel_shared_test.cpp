// What several channels have together, and what one promises of its fault stages.
#include <doctest/doctest.h>

#include <cstdint>
#include <limits>
#include <memory>
#include <vector>

#include "sim/channel/channel.hpp"
#include "tests/sim/fault_fixture.hpp"

namespace {

using fault_test::at_ms;
using proto::Instant;
using proto::milliseconds;
using sim::Channel;
using sim::ChannelSettings;
using sim::Direction;
using sim::Tag;

ChannelSettings pieces(double loss) {
    ChannelSettings settings;
    settings.delay.kind = sim::DelayShape::Kind::histogram;
    for (int i = 0; i < 8; ++i)
        settings.delay.cells.push_back({milliseconds(i), milliseconds(i + 1), static_cast<std::uint64_t>(9 - i)});
    settings.loss = loss;
    return settings;
}

/// When each telegram arrives; 0: it does not.
std::vector<std::int64_t> arrivals(Channel& channel) {
    std::vector<std::int64_t> all;
    for (std::uint64_t n = 1; n <= 400; ++n) {
        const Direction way = n % 2 == 0 ? Direction::to_device : Direction::to_controller;
        sim::Telegram& telegram = channel.slot();
        telegram.size = 20;
        channel.offer(telegram, Tag::genuine(n, 0, way, false), at_ms(static_cast<std::int64_t>(n) * 20));
        if (channel.next_due() == proto::never) {
            all.push_back(0);
            continue;
        }
        const Channel::Delivery delivery = channel.take();
        all.push_back(delivery.passage.due.ns);
        channel.release(delivery);
    }
    return all;
}

struct Promising final : sim::FaultStage {
    sim::Quiet promise;
    explicit Promising(sim::Quiet quiet) : promise(quiet) {}
    [[nodiscard]] sim::Quiet quiet() const override { return promise; }
    Pass pass(sim::Telegram&, sim::Passage&, Channel&) override { return Pass::deliver; }
};

TEST_CASE("channels that have their settings in one place deliver what each delivers alone, and outlive each other") {
    const ChannelSettings clear = pieces(0.0), lossy = pieces(0.3);
    const auto alone = [](const ChannelSettings& out, const ChannelSettings& back, std::uint64_t seed) {
        Channel channel(out, back, seed);
        return arrivals(channel);
    };
    auto first = std::make_unique<Channel>(clear, lossy, 1);
    Channel second(lossy, clear, 2), third(clear, clear, 3);
    share_settings(second, *first);
    share_settings(third, *first);
    share_settings(third, second);
    CHECK(arrivals(*first) == alone(clear, lossy, 1));
    first.reset();
    CHECK(arrivals(second) == alone(lossy, clear, 2));
    CHECK(arrivals(third) == alone(clear, clear, 3));
    second.begin_again(lossy, clear, 4);
    CHECK(arrivals(second) == alone(lossy, clear, 4));
    CHECK(alone(lossy, clear, 4) != alone(clear, clear, 4));
}

TEST_CASE("a channel knows before when none of its stages touches anything") {
    constexpr std::uint64_t no_ordinal = ~std::uint64_t{0};
    constexpr Instant at_once{std::numeric_limits<std::int64_t>::min()};
    Channel channel(pieces(0.0), pieces(0.0), 1);
    CHECK(channel.untouched_before() == proto::never);
    channel.add(std::make_unique<Promising>(sim::Quiet{no_ordinal, proto::never}), 1);
    CHECK(channel.untouched_before() == proto::never);
    channel.add(std::make_unique<Promising>(sim::Quiet{no_ordinal, at_ms(7)}), 2);
    channel.add(std::make_unique<Promising>(sim::Quiet{no_ordinal, at_ms(5)}), 3);
    CHECK(channel.untouched_before() == at_ms(5));
    // which telegram is number so many, and when it is offered, nobody knows
    channel.add(std::make_unique<Promising>(sim::Quiet{1'000, proto::never}), 4);
    CHECK(channel.untouched_before() == at_once);
    channel.remove_stages(4);
    CHECK(channel.untouched_before() == at_ms(5));
    channel.remove_stages();
    CHECK(channel.untouched_before() == proto::never);
}

}  // namespace
