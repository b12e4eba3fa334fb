#include "sim/channel/channel.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <memory>
#include <vector>

#include "proto/parameters.hpp"
#include "tests/sim/fault_fixture.hpp"

namespace {

using fault_test::at_ms;
using fault_test::Bench;
using fault_test::constant_delay;
using proto::Instant;
using proto::milliseconds;
using sim::Channel;
using sim::ChannelSettings;
using sim::Counting;
using sim::Direction;
using sim::Tag;
using sim::Telegram;

ChannelSettings jitter(std::int64_t low_ms, std::int64_t high_ms, bool keep_order) {
    ChannelSettings settings;
    settings.delay.kind = sim::DelayShape::Kind::uniform;
    settings.delay.low = milliseconds(low_ms);
    settings.delay.high = milliseconds(high_ms);
    settings.keep_order = keep_order;
    return settings;
}

void send(Channel& channel, std::uint64_t instance, Instant now, Direction direction = Direction::to_device,
          std::uint8_t link = 0) {
    Telegram& telegram = channel.slot();
    telegram.size = 20;
    for (std::size_t i = 0; i < 20; ++i) telegram.bytes[i] = static_cast<std::uint8_t>(instance >> (i % 8 * 8));
    Tag tag;
    tag.instance = instance & sim::Tag::instance_max;
    tag.direction = direction;
    tag.link = link & 1U;
    channel.offer(telegram, tag, now);
}

/// Counts its calls; quiet as told.
struct Listener final : sim::FaultStage {
    sim::Quiet promise;
    std::vector<std::uint64_t>& heard;
    Listener(sim::Quiet quiet, std::vector<std::uint64_t>& calls) : promise(quiet), heard(calls) {}
    [[nodiscard]] sim::Quiet quiet() const override { return promise; }
    Pass pass(Telegram&, sim::Passage& passage, Channel&) override {
        heard.push_back(passage.tag.instance);
        return Pass::deliver;
    }
};

TEST_CASE("a tag survives the way through a token") {
    for (unsigned bits = 0; bits < 32; ++bits) {
        Tag tag;
        tag.instance = (std::uint64_t{1} << 40) - 1 - bits;
        tag.injection = (0xFFF - bits) & sim::Tag::injection_max;
        tag.link = static_cast<std::uint8_t>(bits & 1);
        tag.direction = (bits & 1) != 0 ? Direction::to_controller : Direction::to_device;
        tag.altered = (bits & 2) != 0;
        tag.forged = (bits & 4) != 0;
        tag.parameter = (bits & 8) != 0;
        tag.stray = (bits & 16) != 0;
        const Tag back = Tag::from(tag.token());
        CHECK(+back.instance == +tag.instance);
        CHECK(+back.injection == +tag.injection);
        CHECK(+back.link == +tag.link);
        CHECK((back.direction == tag.direction));
        CHECK(+back.altered == +tag.altered);
        CHECK(+back.forged == +tag.forged);
        CHECK(+back.parameter == +tag.parameter);
        CHECK(+back.stray == +tag.stray);
    }
}

TEST_CASE("a telegram arrives unaltered at the other end after its delay") {
    Bench bench;
    bench.offer(5, 10, Direction::to_controller, 1);
    CHECK(bench.channel.next_due() == at_ms(12));
    const auto all = bench.drain();
    REQUIRE(all.size() == 1);
    CHECK(all[0].bytes == bench.bytes_of(5, Direction::to_controller, 1));
    CHECK(all[0].passage.to_link == 1);
    CHECK(all[0].passage.to_end == proto::End::controller);
    CHECK(all[0].passage.sent == at_ms(10));
    CHECK(all[0].passage.due == at_ms(12));
    CHECK_FALSE(all[0].passage.tag.altered);
    CHECK(bench.channel.next_due() == proto::never);
}

TEST_CASE("ordinals count process telegrams of one link and direction") {
    Bench bench;
    bench.offer(1, 0);
    bench.offer_parameters(1);
    bench.offer(2, 2);
    bench.offer(1, 3, Direction::to_controller);
    bench.offer(1, 4, Direction::to_device, 1);
    const auto all = bench.drain();
    REQUIRE(all.size() == 5);
    const std::vector<std::uint64_t> expected{0, 1, 1, 0, 0};
    for (std::size_t i = 0; i < all.size(); ++i) CHECK(all[i].passage.ordinal == expected[i]);
    CHECK(bench.channel.offered(0, Direction::to_device) == 2);
    CHECK(bench.channel.offered(0, Direction::to_controller) == 1);
    CHECK(bench.channel.offered(1, Direction::to_device) == 1);
    CHECK(bench.channel.offered(1, Direction::to_controller) == 0);
}

TEST_CASE("slot() gives the same slot until it is offered") {
    Channel channel(constant_delay({}), constant_delay({}), 1);
    Telegram* first = &channel.slot();
    CHECK(&channel.slot() == first);
    send(channel, 1, {});
    CHECK(&channel.slot() != first);
}

TEST_CASE("a hundred thousand random telegrams arrive sorted, each once, with first come first served") {
    for (const bool keep_order : {true, false}) {
        CAPTURE(keep_order);
        Channel channel(jitter(1, 40, keep_order), jitter(0, 9, keep_order), 4);
        const sim::Random random(4, sim::Concern::trial);
        Instant now{};
        Instant last_due{};
        std::vector<std::vector<std::uint64_t>> arrived(4);
        std::uint64_t overtaken = 0;
        const auto receive_until = [&](Instant until) {
            while (channel.next_due() <= until && channel.next_due() != proto::never) {
                const Instant due = channel.next_due();
                const auto delivery = channel.take();
                REQUIRE(delivery.passage.due == due);
                REQUIRE(due >= last_due);
                last_due = due;
                auto& lane = arrived[std::size_t{delivery.passage.tag.link} * 2 +
                                     static_cast<std::size_t>(delivery.passage.tag.direction)];
                if (!lane.empty() && lane.back() > delivery.passage.tag.instance) ++overtaken;
                lane.push_back(delivery.passage.tag.instance);
                channel.release(delivery);
            }
        };
        for (std::uint64_t n = 0; n < 100'000; ++n) {
            const std::uint64_t draw = random.at(n);
            send(channel, n, now, (draw & 1) != 0 ? Direction::to_device : Direction::to_controller,
                 static_cast<std::uint8_t>(draw >> 1 & 1));
            now = now + proto::microseconds(static_cast<std::int64_t>(draw >> 2 & 1023));
            receive_until(now);
        }
        receive_until(now + milliseconds(1000));
        std::size_t total = 0;
        for (auto& lane : arrived) {
            total += lane.size();
            std::sort(lane.begin(), lane.end());
            CHECK(std::adjacent_find(lane.begin(), lane.end()) == lane.end());
        }
        CHECK(total == 100'000);
        CHECK(channel.losses().crowded_out == 0);
        CHECK((overtaken == 0) == keep_order);
    }
}

TEST_CASE("order is kept for each link and direction by itself") {
    Channel channel(jitter(0, 50, true), jitter(0, 50, true), 8);
    for (std::uint64_t n = 0; n < 50; ++n) {
        send(channel, n, at_ms(static_cast<std::int64_t>(n)), Direction::to_device, static_cast<std::uint8_t>(n % 2));
    }
    std::vector<std::uint64_t> order;
    while (channel.next_due() != proto::never) {
        const auto delivery = channel.take();
        order.push_back(delivery.passage.tag.instance);
        channel.release(delivery);
    }
    CHECK_FALSE(std::is_sorted(order.begin(), order.end()));  // the links overtake each other
    for (const std::uint64_t parity : {0U, 1U}) {
        std::vector<std::uint64_t> own;
        std::copy_if(order.begin(), order.end(), std::back_inserter(own),
                     [&](std::uint64_t n) { return n % 2 == parity; });
        CHECK(own.size() == 25);
        CHECK(std::is_sorted(own.begin(), own.end()));
    }
}

TEST_CASE("when all slots are taken telegrams are dropped and counted, and it recovers") {
    Channel channel(constant_delay(milliseconds(1000)), constant_delay({}), 1);
    for (std::uint64_t n = 0; n < Channel::slots + 10; ++n) send(channel, n, {});
    CHECK(channel.losses().crowded_out == 10);
    CHECK(channel.offered(0, Direction::to_device) == Channel::slots + 10);
    for (std::uint64_t n = 0; n < Channel::slots; ++n) {
        const auto delivery = channel.take();
        CHECK(+delivery.passage.tag.instance == n);
        channel.release(delivery);
    }
    CHECK(channel.next_due() == proto::never);
    send(channel, 999, at_ms(1));
    CHECK(channel.losses().crowded_out == 10);
    CHECK(+channel.take().passage.tag.instance == 999);
}

TEST_CASE("a taken telegram keeps its bytes until it is released") {
    Channel channel(constant_delay({}), constant_delay({}), 1);
    send(channel, 0x1122334455667788, {});
    const auto held = channel.take();
    for (std::uint64_t n = 0; n < 600; ++n) {
        send(channel, n, {});
        channel.release(channel.take());
    }
    CHECK(held.telegram->bytes[0] == 0x88);
    CHECK(held.telegram->bytes[7] == 0x11);
    channel.release(held);
}

TEST_CASE("loss has its rate and is independent of everything else") {
    ChannelSettings lossy = constant_delay(milliseconds(1));
    lossy.loss = 0.25;
    ChannelSettings lossy_and_bent = lossy;
    lossy_and_bent.bit_error_rate = 0.001;
    std::vector<std::vector<std::uint64_t>> runs;
    for (const ChannelSettings& settings : {lossy, lossy_and_bent}) {
        Channel channel(settings, settings, 21);
        std::vector<std::uint64_t> arrived;
        for (std::uint64_t n = 0; n < 20'000; ++n) {
            send(channel, n, at_ms(static_cast<std::int64_t>(n)));
            while (channel.next_due() != proto::never) {
                const auto delivery = channel.take();
                arrived.push_back(delivery.passage.tag.instance);
                channel.release(delivery);
            }
        }
        CHECK(arrived.size() + channel.losses().lost == 20'000);
        CHECK(channel.losses().lost > 4'700);  // 5000, standard deviation 61
        CHECK(channel.losses().lost < 5'300);
        runs.push_back(arrived);
    }
    CHECK(runs[0] == runs[1]);
}

TEST_CASE("with a loss of one nothing arrives") {
    ChannelSettings dead = constant_delay({});
    dead.loss = 1.0;
    Channel channel(dead, constant_delay({}), 1);
    for (std::uint64_t n = 0; n < 1000; ++n) send(channel, n, {});
    CHECK(channel.next_due() == proto::never);
    CHECK(channel.losses().lost == 1000);
    CHECK(channel.losses().crowded_out == 0);  // lost ones give their slots back
    send(channel, 1, {}, Direction::to_controller);
    CHECK(channel.next_due() == Instant{});
}

TEST_CASE("bit errors have their rate and set altered exactly where bytes changed") {
    ChannelSettings noisy = constant_delay({});
    noisy.bit_error_rate = 0.001;
    Channel channel(noisy, noisy, 5);
    std::uint64_t altered = 0;
    for (std::uint64_t n = 0; n < 20'000; ++n) {
        send(channel, n, {});
        const auto delivery = channel.take();
        bool differs = false;
        for (std::size_t i = 0; i < 20; ++i)
            differs = differs || delivery.telegram->bytes[i] != static_cast<std::uint8_t>(n >> (i % 8 * 8));
        REQUIRE(differs == delivery.passage.tag.altered);
        altered += differs ? 1 : 0;
        channel.release(delivery);
    }
    CHECK(altered == channel.losses().bent);
    CHECK(altered > 2'700);  // 20000 * (1 - 0.999^160) = 2958, standard deviation 50
    CHECK(altered < 3'220);
}

TEST_CASE("the same seed gives the same run, another seed another") {
    const auto run = [](std::uint64_t seed) {
        ChannelSettings settings = jitter(1, 30, false);
        settings.loss = 0.1;
        settings.bit_error_rate = 0.001;
        Channel channel(settings, settings, seed);
        std::vector<std::uint64_t> trace;
        for (std::uint64_t n = 0; n < 200; ++n) send(channel, n, at_ms(static_cast<std::int64_t>(n)));
        while (channel.next_due() != proto::never) {
            const auto delivery = channel.take();
            trace.push_back(delivery.passage.tag.token().value);
            trace.push_back(static_cast<std::uint64_t>(delivery.passage.due.ns));
            for (const std::uint8_t byte : delivery.telegram->view()) trace.push_back(byte);
            channel.release(delivery);
        }
        return trace;
    };
    CHECK(run(1) == run(1));
    CHECK(run(1) != run(2));
}

TEST_CASE("a stage that promises quiet is not called before") {
    Channel channel(constant_delay({}), constant_delay({}), 1);
    std::vector<std::uint64_t> by_ordinal, by_time, never, either;
    const std::uint64_t no_ordinal = ~std::uint64_t{0};
    channel.add(std::make_unique<Listener>(sim::Quiet{7, proto::never}, by_ordinal));
    channel.add(std::make_unique<Listener>(sim::Quiet{no_ordinal, at_ms(5)}, by_time));
    channel.add(std::make_unique<Listener>(sim::Quiet{no_ordinal, proto::never}, never));
    channel.add(std::make_unique<Listener>(sim::Quiet{8, at_ms(9)}, either));
    for (std::uint64_t n = 0; n < 10; ++n) {
        send(channel, n, at_ms(static_cast<std::int64_t>(n)));
        channel.release(channel.take());
    }
    CHECK(by_ordinal == std::vector<std::uint64_t>{7, 8, 9});
    CHECK(by_time == std::vector<std::uint64_t>{5, 6, 7, 8, 9});
    CHECK(never.empty());
    CHECK(either == std::vector<std::uint64_t>{8, 9});
}

TEST_CASE("what was offered can be had again, with and without repeats") {
    Bench bench;
    CHECK(bench.channel.past(0, Direction::to_device, 0, Counting::every) == nullptr);
    for (const std::uint32_t number : {1U, 2U, 2U, 2U, 3U}) bench.offer(number, number);
    const auto instance = [&](unsigned back, Counting counting) -> std::int64_t {
        const sim::Past* past = bench.channel.past(0, Direction::to_device, back, counting);
        return past == nullptr ? -1 : static_cast<std::int64_t>(past->tag.instance);
    };
    CHECK(instance(0, Counting::distinct) == 3);
    CHECK(instance(1, Counting::distinct) == 2);
    CHECK(instance(2, Counting::distinct) == 1);
    CHECK(instance(3, Counting::distinct) == -1);
    CHECK(instance(1, Counting::every) == 2);
    CHECK(instance(3, Counting::every) == 2);
    CHECK(instance(4, Counting::every) == 1);
    CHECK(instance(5, Counting::every) == -1);
    CHECK(bench.channel.past(0, Direction::to_controller, 0, Counting::every) == nullptr);
    CHECK(bench.channel.past(1, Direction::to_device, 0, Counting::every) == nullptr);
}

TEST_CASE("the history keeps its length and forgets what is older") {
    Channel channel(constant_delay({}), constant_delay({}), 1);
    channel.keep_history();
    for (std::uint64_t n = 0; n < 1000; ++n) {
        send(channel, n, {});
        channel.release(channel.take());
    }
    for (unsigned back = 0; back < Channel::history_length; ++back) {
        const auto* past = channel.past(0, Direction::to_device, back, Counting::distinct);
        REQUIRE(past != nullptr);
        CHECK(+past->tag.instance == 999 - back);
    }
    CHECK(channel.past(0, Direction::to_device, Channel::history_length, Counting::distinct) == nullptr);
}

TEST_CASE("only offers of link 0 are kept as parameter telegrams, the first and the last") {
    Bench bench;
    CHECK(bench.channel.past_offer() == nullptr);
    using Step = proto::ParameterTelegram::Step;
    std::uint64_t instance = 100;
    for (const Step step : {Step::offer, Step::confirm, Step::offer, Step::confirm}) {
        proto::ParameterTelegram parameters;
        parameters.step = step;
        parameters.controller_number = instance;
        std::array<std::uint8_t, proto::parameter_telegram_bytes> bytes{};
        proto::encode(parameters, bytes);
        REQUIRE(proto::decode_parameters(bytes).has_value());
        Tag tag;
        tag.instance = instance++ & sim::Tag::instance_max;
        tag.parameter = true;
        bench.offer_bytes({bytes.begin(), bytes.end()}, tag, 1);
    }
    bench.offer_parameters(2);  // not intact
    REQUIRE(bench.channel.past_offer() != nullptr);
    CHECK(+bench.channel.past_offer()->tag.instance == 102);
    CHECK(+bench.channel.first_offer()->tag.instance == 100);
}

TEST_CASE("scheduled copies keep to their due time and lose nothing") {
    ChannelSettings dead = constant_delay({});
    dead.loss = 1.0;
    dead.bit_error_rate = 1.0;
    Channel channel(dead, dead, 1);
    Telegram copy;
    copy.assign(std::vector<std::uint8_t>{1, 2, 3});
    sim::Passage passage;
    for (const std::int64_t due : {5, 3, 4, 3}) {
        passage.due = at_ms(due);
        passage.tag.instance++;
        CHECK(channel.schedule(copy, passage));
    }
    std::vector<std::uint64_t> order;
    while (channel.next_due() != proto::never) {
        const auto delivery = channel.take();
        CHECK(std::vector<std::uint8_t>(delivery.telegram->view().begin(), delivery.telegram->view().end()) ==
              std::vector<std::uint8_t>{1, 2, 3});
        order.push_back(delivery.passage.tag.instance);
        channel.release(delivery);
    }
    CHECK(order == std::vector<std::uint64_t>{2, 4, 3, 1});
}

TEST_CASE("later telegrams stay behind what they are told to") {
    Channel channel(jitter(1, 1, false), jitter(1, 1, false), 1);
    channel.keep_behind(0, Direction::to_device, at_ms(50));
    send(channel, 1, at_ms(10));
    send(channel, 2, at_ms(10), Direction::to_device, 1);
    CHECK(channel.take().passage.due == at_ms(11));
    CHECK(channel.take().passage.due == at_ms(50));
}

TEST_CASE("extra delays are no draws of ordinary telegrams") {
    const auto dues = [](bool with_extra) {
        Channel channel(jitter(0, 100, false), jitter(0, 100, false), 6);
        std::vector<std::int64_t> all;
        for (std::uint64_t n = 0; n < 20; ++n) {
            if (with_extra) {
                const auto delay = channel.draw_delay(0, Direction::to_device);
                CHECK(delay <= milliseconds(100));
            }
            send(channel, n, {});
            const auto delivery = channel.take();
            all.push_back(delivery.passage.due.ns);
            channel.release(delivery);
        }
        return all;
    };
    CHECK(dues(false) == dues(true));
}

}  // namespace
