// When faults begin and how long they act, shown by loss: what does not arrive was touched.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <vector>

#include "tests/sim/fault_fixture.hpp"

namespace {

using fault_test::at;
using fault_test::at_ms;
using fault_test::Bench;
using fault_test::Direction;
using fault_test::Fault;
using fault_test::FaultWay;
using fault_test::instances;
using fault_test::milliseconds;
using fault_test::on_telegram;

constexpr auto out = Direction::to_device;
constexpr auto back = Direction::to_controller;

/// Ten telegrams, one each millisecond from 0; which of them were dropped.
std::vector<std::uint64_t> dropped(const Fault& fault, Direction direction = out) {
    Bench bench;
    bench.add(fault);
    for (std::uint32_t n = 0; n < 10; ++n) bench.offer(n, n, direction);
    std::vector<std::uint64_t> gone;
    const auto arrived = instances(bench.drain());
    for (std::uint64_t n = 0; n < 10; ++n) {
        if (std::find(arrived.begin(), arrived.end(), n) == arrived.end()) gone.push_back(n);
    }
    CHECK(bench.log.calls.size() == gone.size());
    return gone;
}

using Numbers = std::vector<std::uint64_t>;

TEST_CASE("without an extent one telegram is touched") {
    CHECK(dropped(on_telegram(FaultWay::drop, 1)) == Numbers{0});
    CHECK(dropped(on_telegram(FaultWay::drop, 4)) == Numbers{3});
    CHECK(dropped(at(FaultWay::drop, milliseconds(6))) == Numbers{6});
    CHECK(dropped(at(FaultWay::drop, proto::microseconds(6001))) == Numbers{7});
    CHECK(dropped(on_telegram(FaultWay::drop, 11)).empty());
    CHECK(dropped(at(FaultWay::drop, milliseconds(10))).empty());
}

TEST_CASE("so many telegrams in a row, or each so-manyth of them") {
    Fault fault = on_telegram(FaultWay::drop, 3);
    fault.times = 4;
    CHECK(dropped(fault) == Numbers{2, 3, 4, 5});
    fault.every = 3;
    CHECK(dropped(fault) == Numbers{2, 5});
    fault.times = 0;
    CHECK(dropped(fault).empty());
}

TEST_CASE("a duration includes its begin and not its end") {
    Fault fault = at(FaultWay::drop, milliseconds(2));
    fault.lasting = milliseconds(4);
    CHECK(dropped(fault) == Numbers{2, 3, 4, 5});
    fault.every = 2;
    CHECK(dropped(fault) == Numbers{2, 4});
    fault = on_telegram(FaultWay::drop, 8);
    fault.lasting = milliseconds(2);
    CHECK(dropped(fault) == Numbers{7, 8});
}

TEST_CASE("only the directions meant are touched") {
    Fault fault = on_telegram(FaultWay::drop, 2);
    CHECK(dropped(fault, back).empty());
    fault.to_controller = true;
    CHECK(dropped(fault, back) == Numbers{1});
    fault.to_device = false;
    CHECK(dropped(fault, out).empty());
}

TEST_CASE("each direction counts its own telegrams") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::drop, 2);
    fault.to_controller = true;
    fault.times = 2;
    bench.add(fault);
    for (std::uint32_t n = 0; n < 5; ++n) bench.offer(n, n);
    for (std::uint32_t n = 10; n < 15; ++n) bench.offer(n, n, back);
    CHECK(instances(bench.drain()) == Numbers{0, 3, 4, 10, 13, 14});
    REQUIRE(bench.log.calls.size() == 4);
    CHECK(bench.log.calls[1].direction == out);
    CHECK(bench.log.calls[2].direction == back);
    CHECK(bench.log.calls[2].since == at_ms(11));
    CHECK(bench.log.calls[2].now == at_ms(11));
}

TEST_CASE("with a duration both directions share the begin of whichever comes first") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::drop, 3);
    fault.to_controller = true;
    fault.lasting = milliseconds(10);
    bench.add(fault);
    for (std::uint32_t n = 0; n < 20; ++n) {
        bench.offer(n, n);
        if (n % 4 == 1) bench.offer(100 + n, n, back);
    }
    // Begins with number 2 on the way out, at 2 ms: the answers at 5 and 9 ms are lost too, though not the third.
    CHECK(instances(bench.drain()) == Numbers{0, 1, 101, 12, 13, 113, 14, 15, 16, 17, 117, 18, 19});
    for (const auto& call : bench.log.calls) CHECK(call.since == at_ms(2));
}

TEST_CASE("a pulled cable cuts parameter telegrams too, a counted loss does not") {
    Bench pulled;
    Fault fault = at(FaultWay::drop, milliseconds(1));
    fault.lasting = milliseconds(2);
    pulled.add(fault);
    for (const std::int64_t ms : {0, 1, 2, 3}) pulled.offer_parameters(ms);
    CHECK(pulled.drain().size() == 2);
    REQUIRE(pulled.log.calls.size() == 2);
    CHECK(pulled.log.calls[1].since == at_ms(1));
    CHECK(pulled.log.calls[1].now == at_ms(2));

    Bench counted;
    fault.lasting.reset();
    fault.times = 2;
    counted.add(fault);
    for (const std::int64_t ms : {0, 1, 2, 3}) counted.offer_parameters(ms);
    counted.offer(7, 4);
    CHECK(counted.drain().size() == 4);
    CHECK(counted.log.calls.size() == 1);
}

TEST_CASE("the neighbour's telegrams are not touched and do not count") {
    Bench bench;
    bench.add(on_telegram(FaultWay::drop, 2));
    for (std::uint32_t n = 0; n < 5; ++n) bench.offer(50 + n, n, out, 1);
    bench.offer(0, 10);
    bench.offer(1, 11);
    bench.offer(2, 12);
    CHECK(instances(bench.drain()) == Numbers{50, 51, 52, 53, 54, 0, 2});
}

TEST_CASE("stages are quiet before they begin and after they are done") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::drop, 5);
    const auto counted = sim::make_stage(fault, 0, bench.context);
    CHECK(counted->quiet().before_ordinal == 4);
    CHECK(counted->quiet().before == proto::never);
    fault = at(FaultWay::drop, milliseconds(30));
    fault.lasting = milliseconds(10);
    const auto timed = sim::make_stage(fault, 1, bench.context);
    CHECK(timed->quiet().before_ordinal == ~std::uint64_t{0});
    CHECK(timed->quiet().before == at_ms(30));

    sim::Telegram telegram;
    telegram.assign(bench.bytes_of(1));
    sim::Passage passage;
    passage.ordinal = 4;
    passage.sent = at_ms(40);
    CHECK(counted->pass(telegram, passage, bench.channel) == sim::FaultStage::Pass::drop);
    CHECK(timed->pass(telegram, passage, bench.channel) == sim::FaultStage::Pass::deliver);
    for (const auto& stage : {counted.get(), timed.get()}) {
        CHECK(stage->quiet().before_ordinal == ~std::uint64_t{0});
        CHECK(stage->quiet().before == proto::never);
    }
}

TEST_CASE("faults after each other mark a telegram with their number") {
    Bench bench;
    Fault late = on_telegram(FaultWay::step, 2);
    late.extra = milliseconds(1);
    bench.add(on_telegram(FaultWay::drop, 1));
    bench.add(late);
    bench.offer(0, 0);
    bench.offer(1, 1);
    bench.offer(2, 2);
    const auto all = bench.drain();
    REQUIRE(all.size() == 2);
    CHECK(+all[0].passage.tag.injection == 2);
    CHECK(+all[1].passage.tag.injection == 0);
    REQUIRE(bench.log.calls.size() == 2);
    CHECK(bench.log.calls[0].fault == 0);
    CHECK(bench.log.calls[1].fault == 1);
}

TEST_CASE("only some faults need the history") {
    for (const FaultWay way : {FaultWay::beside, FaultWay::instead, FaultWay::old_parameters, FaultWay::neighbour}) {
        CHECK(sim::needs_history(on_telegram(way, 1)));
    }
    for (const FaultWay way : {FaultWay::burst, FaultWay::drop, FaultWay::stray, FaultWay::no_crc, FaultWay::swap}) {
        CHECK_FALSE(sim::needs_history(on_telegram(way, 1)));
    }
}

}  // namespace
