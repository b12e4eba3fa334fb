#include "sim/channel/background_queue.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "sim/channel/channel.hpp"
#include "tests/sim/fault_fixture.hpp"

namespace {

using proto::Duration;
using proto::Instant;
using proto::microseconds;
using proto::milliseconds;
using Kind = sim::BackgroundTraffic::Kind;

sim::BackgroundTraffic traffic(Kind kind, double load, unsigned burst = 1) {
    return {.kind = kind,
            .service = microseconds(50),
            .load = load,
            .burst = burst,
            .room = proto::seconds(10),
            .ramp_to = load,
            .ramp_from = {},
            .ramp_lasting = {}};
}

TEST_CASE("an empty queue costs one service, and telegrams wait for each other") {
    sim::BackgroundQueue queue(traffic(Kind::constant, 0.0), 1, 0);
    CHECK(queue.enter({1000}) == microseconds(50));
    CHECK(queue.enter({1000}) == microseconds(100));
    CHECK(queue.enter({31'000}) == microseconds(120));
    CHECK(queue.waiting({milliseconds(1).ns}) == Duration{});
}

TEST_CASE("a constant load above 1 makes a delay that creeps by exactly what is too much") {
    sim::BackgroundQueue queue(traffic(Kind::constant, 1.25), 1, 0);
    // In each second 0.25 s more comes than is served; the packets of a slot come at its begin.
    for (const int s : {1, 2, 4, 8}) {
        const Duration waiting = queue.waiting({proto::seconds(s).ns - 1});
        CHECK(std::abs(waiting.ns - (proto::milliseconds(250) * s).ns) <= microseconds(50).ns);
    }
}

TEST_CASE("a load goes over in a straight line") {
    auto ramp = traffic(Kind::constant, 0.0);
    ramp.ramp_to = 2.0;
    ramp.ramp_from = proto::seconds(1);
    ramp.ramp_lasting = proto::seconds(2);
    sim::BackgroundQueue queue(ramp, 1, 0);
    // The load passes 1 at 2 s; from there to 3 s it is 1 too much at the end, half of that in the mean.
    CHECK(queue.waiting({milliseconds(1990).ns}) <= microseconds(50));
    CHECK(std::abs(queue.waiting({milliseconds(3000).ns}).ns - milliseconds(500).ns) < milliseconds(1).ns);
    CHECK(std::abs(queue.waiting({milliseconds(4000).ns}).ns - milliseconds(1500).ns) < milliseconds(1).ns);
}

TEST_CASE("bursts make the waiting that the closed form tells") {
    // Mean work left at the end of a slot: (B - 1) load / (2 (1 - load)) services, from the balance of the second
    // moments of Lindley's recursion (as in any text on queues in discrete time; from memory).
    constexpr double load = 0.7;
    constexpr unsigned burst = 20;
    sim::BackgroundQueue queue(traffic(Kind::bursts, load, burst), 5, 0);
    double sum = 0.0;
    constexpr int batches = 40, slots = 100'000;
    double squares = 0.0;
    for (int b = 0; b < batches; ++b) {
        double batch = 0.0;
        for (int k = 0; k < slots; ++k) {
            const std::int64_t end = (std::int64_t{b} * slots + k + 1) * microseconds(50).ns - 1;
            batch += static_cast<double>(queue.waiting({end}).ns) / 50'000.0;
        }
        batch /= slots;
        sum += batch;
        squares += batch * batch;
    }
    const double mean = sum / batches;
    const double error = std::sqrt((squares / batches - mean * mean) / (batches - 1));
    const double right = (burst - 1) * load / (2 * (1 - load));
    CHECK(error < 0.02 * right);
    CHECK(std::fabs(mean - right) < 5 * error);  // a level of about 1e-5 with 39 degrees of freedom
}

TEST_CASE("what does not fit is lost, and the queue never holds more than its room") {
    auto full = traffic(Kind::constant, 3.0);
    full.room = milliseconds(2);
    sim::BackgroundQueue queue(full, 1, 0);
    unsigned lost = 0;
    for (int i = 1; i <= 1000; ++i) {
        const Instant now{milliseconds(i).ns + 20'000};
        CHECK(queue.waiting(now) <= milliseconds(2));
        lost += queue.enter(now) ? 0U : 1U;
    }
    CHECK(lost > 900);
}

TEST_CASE("what the other traffic does depends on its seed alone, not on when telegrams come") {
    sim::BackgroundQueue often(traffic(Kind::bursts, 0.5, 8), 9, 2), seldom(traffic(Kind::bursts, 0.5, 8), 9, 2);
    sim::BackgroundQueue other(traffic(Kind::bursts, 0.5, 8), 10, 2);
    int differing = 0;
    for (int i = 1; i <= 500; ++i) {
        const Instant now{milliseconds(i).ns};
        for (std::int64_t k = 0; k < 5; ++k)
            static_cast<void>(often.waiting({now.ns - milliseconds(1).ns + k * 200'000}));
        const Duration right = seldom.waiting(now);
        CHECK(often.waiting(now) == right);
        differing += other.waiting(now) != right ? 1 : 0;
    }
    CHECK(differing > 50);
}

TEST_CASE("R-80 a channel keeps its order behind other traffic, and a full queue counts as loss") {
    sim::ChannelSettings settings = fault_test::constant_delay(milliseconds(1));
    settings.queue = traffic(Kind::bursts, 1.3, 10);
    settings.queue->room = milliseconds(20);
    sim::Channel channel(settings, {}, 4);
    std::uint64_t next = 0, arrived = 0;
    Duration longest{};
    const auto receive = [&](Instant until) {
        while (channel.next_due() <= until) {
            const auto delivery = channel.take();
            CHECK(delivery.passage.tag.instance >= next);
            next = delivery.passage.tag.instance + 1;
            longest = std::max(longest, delivery.passage.due - delivery.passage.sent);
            ++arrived;
            channel.release(delivery);
        }
    };
    constexpr int sent = 2000;
    for (int i = 0; i < sent; ++i) {
        const Instant now{(microseconds(500) * i).ns};
        receive(now);
        sim::Telegram& telegram = channel.slot();
        telegram.size = 20;
        channel.offer(telegram, sim::Tag::genuine(static_cast<std::uint64_t>(i), 0, sim::Direction::to_device, false),
                      now);
    }
    receive({proto::seconds(10).ns});
    CHECK(arrived + channel.losses().lost == sent);
    CHECK(channel.losses().lost > 0);
    CHECK(longest > milliseconds(15));
    CHECK(longest <= milliseconds(21));
}

TEST_CASE("before time 0 there is no other traffic, and nothing of it waits then") {
    // a live run waits for its peers at times far below 0
    sim::BackgroundTraffic settings;
    settings.service = proto::microseconds(200);
    settings.load = settings.ramp_to = 0.4;
    settings.burst = 8;
    settings.room = proto::milliseconds(4);
    sim::BackgroundQueue late(settings, 7, 0), plain(settings, 7, 0);
    CHECK(late.enter(proto::Instant{} - proto::seconds(1'000'000)) == proto::microseconds(200));
    CHECK(late.enter(proto::Instant{} - proto::seconds(999'999)) == proto::microseconds(200));
    for (int ms = 1; ms < 50; ++ms) {
        const proto::Instant now = proto::Instant{} + proto::milliseconds(ms);
        CHECK(late.enter(now) == plain.enter(now));
    }
}

}  // namespace
