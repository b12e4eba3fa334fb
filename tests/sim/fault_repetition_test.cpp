#include <doctest/doctest.h>

#include <array>
#include <cstdint>
#include <vector>

#include "proto/parameters.hpp"
#include "tests/sim/fault_fixture.hpp"

namespace {

using fault_test::at_ms;
using fault_test::Bench;
using fault_test::Direction;
using fault_test::End;
using fault_test::Fault;
using fault_test::FaultWay;
using fault_test::instances;
using fault_test::milliseconds;
using fault_test::on_telegram;
using Numbers = std::vector<std::uint64_t>;

constexpr auto out = Direction::to_device;
constexpr auto back = Direction::to_controller;

TEST_CASE("an old telegram arrives beside the new one, after it, under its own name") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::beside, 4);
    fault.back = 2;
    bench.add(fault);
    for (std::uint32_t n = 0; n < 5; ++n) bench.offer(n, 10 * std::int64_t{n});
    const auto all = bench.drain();
    CHECK(instances(all) == Numbers{0, 1, 2, 3, 1, 4});
    REQUIRE(all.size() == 6);
    CHECK(+all[3].passage.tag.injection == 0);
    CHECK(+all[4].passage.tag.injection == 1);
    CHECK_FALSE(all[4].passage.tag.altered);
    CHECK(all[4].bytes == bench.bytes_of(1));
    CHECK(all[4].passage.due == all[3].passage.due);
    CHECK(all[4].passage.to_end == End::device);
    REQUIRE(bench.log.calls.size() == 1);
    CHECK(bench.log.calls[0].now == at_ms(30));
}

TEST_CASE("repeats of the same bytes count as one when looking back") {
    for (const FaultWay way : {FaultWay::beside, FaultWay::instead}) {
        Bench bench;
        Fault fault = on_telegram(way, 6);  // the second repeat of number 3
        fault.back = 1;
        bench.add(fault);
        std::int64_t ms = 0;
        for (const std::uint32_t n : {1U, 2U, 2U, 3U, 3U, 3U, 4U}) bench.offer(n, ms += 10);
        CHECK(instances(bench.drain()) ==
              (way == FaultWay::beside ? Numbers{1, 2, 2, 3, 3, 3, 2, 4} : Numbers{1, 2, 2, 3, 3, 2, 4}));
    }
}

TEST_CASE("an old telegram in place of each new one, on the way back") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::instead, 3);
    fault.to_device = false;
    fault.to_controller = true;
    fault.times = 3;
    bench.add(fault);
    for (std::uint32_t n = 0; n < 7; ++n) bench.offer(n, n, back);
    const auto all = bench.drain();
    CHECK(instances(all) == Numbers{0, 1, 1, 2, 3, 5, 6});
    CHECK(all[2].bytes == bench.bytes_of(1, back));
    CHECK(all[2].passage.ordinal == 2);
    CHECK(+all[2].passage.tag.injection == 1);
    CHECK_FALSE(all[2].passage.tag.altered);
    CHECK(bench.log.calls.size() == 3);
    CHECK(bench.log.calls[0].direction == back);
}

TEST_CASE("what was never sent cannot be repeated") {
    for (const FaultWay way : {FaultWay::beside, FaultWay::instead}) {
        Bench bench;
        Fault fault = on_telegram(way, 2);
        fault.back = 2;
        bench.add(fault);
        bench.offer(0, 0);
        bench.offer(1, 1);
        CHECK(instances(bench.drain()) == Numbers{0, 1});
        CHECK(bench.log.calls.empty());
    }
}

TEST_CASE("the history holds what was offered, not what a fault made of it") {
    Bench bench;
    Fault corruption = on_telegram(FaultWay::flip_bits, 1);
    corruption.bits = {1};
    bench.add(corruption);
    bench.add(on_telegram(FaultWay::beside, 2));
    bench.offer(0, 0);
    bench.offer(1, 1);
    const auto all = bench.drain();
    REQUIRE(all.size() == 3);
    CHECK(all[0].bytes != bench.bytes_of(0));
    CHECK(all[2].bytes == bench.bytes_of(0));
    CHECK_FALSE(all[2].passage.tag.altered);
    CHECK(+all[2].passage.tag.injection == 2);
}

TEST_CASE("the current telegram arrives twice") {
    Bench bench;
    bench.add(on_telegram(FaultWay::current_again, 2));
    for (std::uint32_t n = 0; n < 3; ++n) bench.offer(n, n);
    const auto all = bench.drain();
    CHECK(instances(all) == Numbers{0, 1, 1, 2});
    CHECK(all[1].bytes == all[2].bytes);
    CHECK(+all[1].passage.tag.injection == 0);
    CHECK(+all[2].passage.tag.injection == 1);
}

TEST_CASE("where order is not kept a copy has a delay of its own, but never comes first") {
    sim::ChannelSettings jitter;
    jitter.delay.kind = sim::DelayShape::Kind::uniform;
    jitter.delay.low = milliseconds(1);
    jitter.delay.high = milliseconds(9);
    jitter.keep_order = false;
    Bench bench("CRC-32/ISCSI", 1, jitter);
    Fault fault = on_telegram(FaultWay::current_again, 1);
    fault.times = 200;
    bench.add(fault);
    int later = 0;
    for (std::uint32_t n = 0; n < 200; ++n) {
        bench.offer(n, 100 * std::int64_t{n});
        const auto all = bench.drain();
        REQUIRE(all.size() == 2);
        CHECK(+all[0].passage.tag.injection == 0);
        CHECK(+all[1].passage.tag.injection == 1);
        CHECK(all[1].passage.due <= at_ms(n * 100 + 9));
        if (all[1].passage.due > all[0].passage.due) ++later;
    }
    CHECK(later > 60);  // half of 200
    CHECK(later < 140);
}

std::vector<std::uint8_t> offer_of(std::uint64_t number, proto::ParameterTelegram::Step step) {
    proto::ParameterTelegram parameters;
    parameters.step = step;
    parameters.controller_number = number;
    std::array<std::uint8_t, proto::parameter_telegram_bytes> bytes{};
    proto::encode(parameters, bytes);
    return {bytes.begin(), bytes.end()};
}

void offer_parameters(Bench& bench, std::uint64_t number, proto::ParameterTelegram::Step step, std::int64_t ms) {
    sim::Tag tag;
    tag.instance = number & sim::Tag::instance_max;
    tag.parameter = true;
    bench.offer_bytes(offer_of(number, step), tag, ms);
}

TEST_CASE("old parameters are the offer with which the run began") {
    using Step = proto::ParameterTelegram::Step;
    Bench bench;
    bench.add(on_telegram(FaultWay::old_parameters, 2));
    offer_parameters(bench, 501, Step::offer, 0);
    offer_parameters(bench, 502, Step::confirm, 1);
    bench.offer(1, 2);
    offer_parameters(bench, 503, Step::offer, 3);  // a second start
    offer_parameters(bench, 504, Step::confirm, 4);
    bench.offer(2, 5);
    const auto all = bench.drain();
    CHECK(instances(all) == Numbers{501, 502, 1, 503, 504, 2, 501});
    CHECK(all.back().bytes == offer_of(501, Step::offer));
    CHECK(all.back().passage.tag.parameter);
    CHECK_FALSE(all.back().passage.tag.stray);
    CHECK(+all.back().passage.tag.injection == 1);
}

TEST_CASE("old parameters come from an earlier start if one is known") {
    using Step = proto::ParameterTelegram::Step;
    Bench bench;
    const auto stray = [&](std::uint64_t number, Step step) {
        sim::Past past;
        past.telegram.assign(offer_of(number, step));
        past.tag.instance = number & sim::Tag::instance_max;
        past.tag.parameter = true;
        bench.context.strays[static_cast<std::size_t>(out)].push_back(past);
    };
    stray(401, Step::offer);
    stray(402, Step::offer);
    stray(403, Step::confirm);
    bench.add(on_telegram(FaultWay::old_parameters, 1));
    offer_parameters(bench, 501, Step::offer, 0);
    bench.offer(1, 2);
    const auto all = bench.drain();
    CHECK(instances(all) == Numbers{501, 1, 402});
    CHECK(all.back().passage.tag.stray);
}

TEST_CASE("without any old parameters nothing is touched") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::old_parameters, 1);
    fault.to_controller = true;
    bench.add(fault);
    bench.offer(1, 0);
    bench.offer(1, 1, back);
    CHECK(bench.drain().size() == 2);
    CHECK(bench.log.calls.empty());
}

}  // namespace
