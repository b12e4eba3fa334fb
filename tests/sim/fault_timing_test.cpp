// Incorrect sequence and unacceptable delay. (Loss is shown with the extents of faults.)
#include <doctest/doctest.h>

#include <cstdint>
#include <vector>

#include "tests/sim/fault_fixture.hpp"

namespace {

using fault_test::at;
using fault_test::at_ms;
using fault_test::Bench;
using fault_test::constant_delay;
using fault_test::Direction;
using fault_test::Fault;
using fault_test::FaultWay;
using fault_test::instances;
using fault_test::milliseconds;
using fault_test::on_telegram;
using Numbers = std::vector<std::uint64_t>;

constexpr auto out = Direction::to_device;

sim::ChannelSettings delay_of_two(bool keep_order) {
    sim::ChannelSettings settings = constant_delay(milliseconds(2));
    settings.keep_order = keep_order;
    return settings;
}

TEST_CASE("a held telegram is overtaken, also where order is kept") {
    for (const bool keep_order : {true, false}) {
        Bench bench("CRC-32/ISCSI", 1, delay_of_two(keep_order));
        Fault fault = on_telegram(FaultWay::hold, 2);
        fault.hold = milliseconds(25);
        bench.add(fault);
        for (std::uint32_t n = 0; n < 6; ++n) bench.offer(n, 10 * std::int64_t{n});
        const auto all = bench.drain();
        CHECK(instances(all) == Numbers{0, 2, 3, 1, 4, 5});
        CHECK(all[3].passage.due == at_ms(37));
        CHECK(+all[3].passage.tag.injection == 1);
        CHECK(all[3].bytes == bench.bytes_of(1));
        CHECK(all[1].passage.due == at_ms(22));  // the others are as punctual as ever
        CHECK(all[4].passage.due == at_ms(42));
        CHECK(bench.log.calls.size() == 1);
    }
}

TEST_CASE("a hold counts from when order would have let it arrive") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::hold, 1);
    fault.hold = milliseconds(5);
    bench.add(fault);
    bench.channel.keep_behind(0, out, at_ms(50));
    bench.offer(1, 0);
    CHECK(bench.drain()[0].passage.due == at_ms(55));
}

TEST_CASE("no hold and no extra touch nothing") {
    Bench bench;
    bench.add(on_telegram(FaultWay::hold, 1));
    bench.add(on_telegram(FaultWay::step, 1));
    bench.add(on_telegram(FaultWay::creeping, 1));
    bench.offer(1, 0);
    CHECK(+bench.drain()[0].passage.tag.injection == 0);
    CHECK(bench.log.calls.empty());
}

TEST_CASE("a step of latency adds the same to each, and nothing overtakes at its end") {
    for (const bool keep_order : {true, false}) {
        Bench bench("CRC-32/ISCSI", 1, delay_of_two(keep_order));
        Fault fault = at(FaultWay::step, milliseconds(20));
        fault.lasting = milliseconds(20);
        fault.extra = milliseconds(35);
        bench.add(fault);
        for (std::uint32_t n = 0; n < 9; ++n) bench.offer(n, 10 * std::int64_t{n});
        const auto all = bench.drain();
        CHECK(instances(all) == Numbers{0, 1, 2, 3, 4, 5, 6, 7, 8});
        const std::vector<std::int64_t> due{2, 12, 57, 67, 67, 67, 67, 72, 82};
        for (std::size_t i = 0; i < all.size(); ++i) {
            CHECK(all[i].passage.due == at_ms(due[i]));
            CHECK(+all[i].passage.tag.injection == (i == 2 || i == 3 ? 1U : 0U));
        }
        REQUIRE(bench.log.calls.size() == 2);
        CHECK(bench.log.calls[1].since == at_ms(20));
        CHECK(bench.log.calls[1].now == at_ms(30));
    }
}

TEST_CASE("a step that does not keep the order is overtaken at its end") {
    for (const bool keep_order : {true, false}) {
        Bench bench("CRC-32/ISCSI", 1, delay_of_two(keep_order));
        Fault fault = on_telegram(FaultWay::step, 2);
        fault.times = 2;
        fault.extra = milliseconds(35);
        fault.keep_order = false;
        bench.add(fault);
        for (std::uint32_t n = 0; n < 7; ++n) bench.offer(n, 10 * std::int64_t{n});
        const auto all = bench.drain();
        CHECK(instances(all) == Numbers{0, 3, 4, 1, 5, 2, 6});
        CHECK(all[3].passage.due == at_ms(47));
        CHECK(all[4].passage.due == at_ms(52));
    }
}

TEST_CASE("a creeping delay grows with the time since its begin") {
    Bench bench;
    Fault fault = at(FaultWay::creeping, milliseconds(1000));
    fault.lasting = proto::seconds(3);
    fault.extra = milliseconds(2);  // in every second
    bench.add(fault);
    std::vector<std::int64_t> extra_us;
    for (std::uint32_t n = 0; n < 10; ++n) {
        bench.offer(n, 500 * std::int64_t{n});
        const auto all = bench.drain();
        extra_us.push_back((all[0].passage.due - all[0].passage.sent).ns / 1000 - 2000);
    }
    CHECK(extra_us == std::vector<std::int64_t>{0, 0, 0, 1000, 2000, 3000, 4000, 5000, 0, 0});
    // The first, at the begin itself, was not delayed and so is none.
    CHECK(bench.log.calls.size() == 5);
    CHECK(bench.log.calls[0].since == at_ms(1000));
    CHECK(bench.log.calls[0].now == at_ms(1500));
}

TEST_CASE("a creeping delay that counts telegrams grows from the first of them") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::creeping, 2);
    fault.times = 3;
    fault.extra = proto::seconds(1);
    bench.add(fault);
    for (std::uint32_t n = 0; n < 4; ++n) bench.offer(n, 10 * std::int64_t{n});
    const auto all = bench.drain();
    CHECK(all[1].passage.due == at_ms(12));
    CHECK(all[2].passage.due == at_ms(22 + 10));
    CHECK(all[3].passage.due == at_ms(32 + 20));
}

TEST_CASE("a delay holds parameter telegrams too while it lasts") {
    Bench bench;
    Fault fault = at(FaultWay::step, milliseconds(0));
    fault.lasting = milliseconds(10);
    fault.extra = milliseconds(7);
    bench.add(fault);
    bench.offer_parameters(1);
    CHECK(bench.drain()[0].passage.due == at_ms(10));
}

TEST_CASE("each direction is delayed by itself") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::step, 1);
    fault.extra = milliseconds(30);
    bench.add(fault);
    bench.offer(1, 0);
    bench.offer(2, 1, Direction::to_controller);
    CHECK(instances(bench.drain()) == Numbers{2, 1});
}

}  // namespace
