// Insertion, masquerade and addressing: telegrams of the wrong origin or at the wrong end.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <set>
#include <utility>
#include <vector>

#include "tests/sim/fault_fixture.hpp"

namespace {

using fault_test::Arrival;
using fault_test::at;
using fault_test::at_ms;
using fault_test::Bench;
using fault_test::Direction;
using fault_test::Fault;
using fault_test::FaultWay;
using fault_test::instances;
using fault_test::milliseconds;
using fault_test::on_telegram;
using Numbers = std::vector<std::uint64_t>;

constexpr auto out = Direction::to_device;
constexpr auto back = Direction::to_controller;

TEST_CASE("the neighbour's newest telegram arrives beside the right one") {
    for (const Direction direction : {out, back}) {
        Bench bench;
        Fault fault = on_telegram(FaultWay::neighbour, 2);
        fault.to_device = direction == out;
        fault.to_controller = direction == back;
        bench.add(fault);
        bench.offer(0, 0, direction);
        bench.offer(70, 1, direction, 1);
        bench.offer(71, 2, direction, 1);
        bench.offer(1, 3, direction);
        const auto all = bench.drain();
        CHECK(instances(all) == Numbers{0, 70, 71, 1, 71});
        CHECK(all.back().bytes == bench.bytes_of(71, direction, 1));
        CHECK(+all.back().passage.tag.link == 1);
        CHECK(+all.back().passage.tag.injection == 1);
        CHECK(all.back().passage.to_link == 0);
        CHECK(all.back().passage.to_end == receiver(direction));
        CHECK(all[2].passage.to_link == 1);
        CHECK(+all[2].passage.tag.injection == 0);
        CHECK(bench.log.calls.size() == 1);
    }
}

TEST_CASE("a neighbour that is silent or missing inserts nothing") {
    for (const bool present : {true, false}) {
        Bench bench;
        bench.context.neighbour = present;
        bench.add(on_telegram(FaultWay::neighbour, 1));
        bench.offer(0, 0);
        CHECK(bench.drain().size() == 1);
        CHECK(bench.log.calls.empty());
    }
}

TEST_CASE("stray telegrams follow one another from a first one drawn by lot") {
    std::set<std::uint64_t> firsts;
    for (std::uint64_t seed = 0; seed < 40; ++seed) {
        Bench bench;
        bench.context.seed = seed;
        for (std::uint32_t n = 300; n < 305; ++n) {
            sim::Past past;
            past.telegram.assign(bench.bytes_of(n));
            past.tag.instance = n;
            past.tag.parameter = n == 302;
            bench.context.strays[static_cast<std::size_t>(out)].push_back(past);
        }
        Fault fault = on_telegram(FaultWay::stray, 1);
        fault.times = 5;
        fault.to_controller = true;  // nothing is known there
        bench.add(fault);
        for (std::uint32_t n = 0; n < 5; ++n) bench.offer(n, n);
        bench.offer(9, 9, back);
        const auto all = bench.drain();
        REQUIRE(all.size() == 11);
        const Numbers order{300, 301, 303, 304};
        auto place = static_cast<std::size_t>(std::find(order.begin(), order.end(), all[1].passage.tag.instance) -
                                              order.begin());
        firsts.insert(place);
        for (std::size_t i = 0; i < 5; ++i, ++place) {
            const Arrival& stray = all[2 * i + 1];
            CHECK(+stray.passage.tag.instance == order[place % 4]);
            CHECK(stray.passage.tag.stray);
            CHECK_FALSE(stray.passage.tag.forged);
            CHECK(+stray.passage.tag.injection == 1);
            CHECK(stray.bytes == bench.bytes_of(static_cast<std::uint32_t>(order[place % 4])));
            CHECK_FALSE(all[2 * i].passage.tag.stray);
        }
        CHECK(bench.log.calls.size() == 5);
    }
    CHECK(firsts == std::set<std::uint64_t>{0, 1, 2, 3});
}

TEST_CASE("a forged telegram has header and length of the right one, another payload and no CRC that fits") {
    for (const char* crc : {"CRC-32/ISCSI", "CRC-16/IBM-3740", "CRC-16/ARC", "CRC-32/AUTOSAR", "CRC-64/XZ"}) {
        for (const FaultWay way : {FaultWay::no_crc, FaultWay::other_crc}) {
            for (const unsigned copies : {1U, 2U}) {
                Bench bench(crc, copies);
                Fault fault = on_telegram(way, 1);
                fault.times = 20;
                bench.add(fault);
                for (std::uint32_t n = 0; n < 20; ++n) bench.offer(n, n);
                const auto all = bench.drain();
                REQUIRE(all.size() == 40);
                const proto::Layout& layout = bench.context.wire(out).layout;
                for (std::uint32_t n = 0; n < 20; ++n) {
                    const auto real = bench.bytes_of(n);
                    const std::size_t at = std::size_t{2} * n;
                    const Arrival& forged = all[at + 1];
                    CHECK(all[at].bytes == real);
                    CHECK_FALSE(all[at].passage.tag.forged);
                    REQUIRE(forged.bytes.size() == real.size());
                    CHECK(forged.passage.tag.forged);
                    CHECK_FALSE(forged.passage.tag.altered);
                    CHECK(+forged.passage.tag.injection == 1);
                    CHECK(std::equal(real.begin(), real.begin() + layout.header_bytes, forged.bytes.begin()));
                    const auto payload = [&](const std::vector<std::uint8_t>& bytes) {
                        return std::vector<std::uint8_t>(bytes.begin() + layout.header_bytes,
                                                         bytes.begin() + layout.header_bytes + layout.payload_bytes);
                    };
                    CHECK(payload(forged.bytes) != payload(real));
                    const auto decoded = bench.decode(forged.bytes);
                    CHECK_FALSE(decoded.failed.has(proto::Measure::cross_check));
                    CHECK(decoded.failed.has(proto::Measure::integrity));
                    CHECK(decoded.header.number == n);
                }
            }
        }
    }
}

TEST_CASE("the CRC of a forged telegram is zero or CRC-16/ARC, repeated to the width and in the link's byte order") {
    const auto arc = proto::CrcEngine::make(proto::find_crc("CRC-16/ARC")->spec).value();
    for (const auto& [crc, low_first] : {std::pair{"CRC-32/ISCSI", true}, std::pair{"CRC-16/IBM-3740", false}}) {
        for (const FaultWay way : {FaultWay::no_crc, FaultWay::other_crc}) {
            Bench bench(crc);
            bench.add(on_telegram(way, 1));
            bench.offer(5, 0);
            const auto bytes = bench.drain().at(1).bytes;
            const std::uint64_t value =
                way == FaultWay::no_crc ? 0 : arc.over(std::span<const std::uint8_t>(bytes).first(15));
            for (std::size_t i = 15; i < bytes.size(); ++i) {
                const bool low = ((i - 15) % 2 == 0) == low_first;
                CHECK(bytes[i] == (low ? value & 0xFF : value >> 8));
            }
        }
    }
}

TEST_CASE("an all-zero telegram has the right length and nothing else") {
    Bench bench("CRC-32/ISCSI", 2);
    bench.add(on_telegram(FaultWay::all_zero, 1));
    bench.offer(5, 0);
    const auto all = bench.drain();
    REQUIRE(all.size() == 2);
    CHECK(all[1].bytes == std::vector<std::uint8_t>(bench.bytes_of(5).size(), 0));
    CHECK(all[1].passage.tag.forged);
}

TEST_CASE("swapped links deliver to each other's receivers while it lasts") {
    Bench bench;
    Fault fault = at(FaultWay::swap, milliseconds(10));
    fault.lasting = milliseconds(10);
    fault.to_controller = true;
    bench.add(fault);
    for (const std::int64_t ms : {5, 10, 19, 20}) {
        for (const std::uint8_t link : {std::uint8_t{0}, std::uint8_t{1}}) {
            for (const Direction direction : {out, back}) bench.offer(1, ms, direction, link);
        }
    }
    const auto all = bench.drain();
    REQUIRE(all.size() == 16);
    for (const Arrival& arrival : all) {
        const bool swapped = arrival.passage.sent >= at_ms(10) && arrival.passage.sent < at_ms(20);
        const sim::Tag& tag = arrival.passage.tag;
        CHECK(arrival.passage.to_link == (swapped ? 1 - tag.link : tag.link));
        CHECK(arrival.passage.to_end == receiver(tag.direction));
        CHECK(+tag.injection == (swapped ? 1U : 0U));
        CHECK(arrival.bytes == bench.bytes_of(1, tag.direction, tag.link));
    }
    CHECK(bench.log.calls.size() == 8);
}

TEST_CASE("one swap exchanges one telegram of each link") {
    Bench bench;
    bench.add(on_telegram(FaultWay::swap, 3));
    for (std::uint32_t n = 0; n < 6; ++n) {
        bench.offer(100 + n, 2 * std::int64_t{n}, out, 1);
        bench.offer(n, 2 * n + 1);
    }
    Numbers swapped;
    for (const Arrival& arrival : bench.drain()) {
        if (arrival.passage.to_link != arrival.passage.tag.link) swapped.push_back(arrival.passage.tag.instance);
    }
    CHECK(swapped == Numbers{2, 103});
    CHECK(bench.log.calls.size() == 2);
}

TEST_CASE("without a neighbour a swapped telegram goes where nobody is") {
    Bench bench;
    bench.context.neighbour = false;
    bench.add(on_telegram(FaultWay::swap, 1));
    bench.offer(0, 0);
    CHECK(bench.drain()[0].passage.to_link == 1);
}

TEST_CASE("a looped telegram arrives at its sender too") {
    for (const Direction direction : {out, back}) {
        Bench bench;
        Fault fault = on_telegram(FaultWay::loop_back, 1);
        fault.to_device = direction == out;
        fault.to_controller = direction == back;
        bench.add(fault);
        bench.offer(3, 0, direction);
        const auto all = bench.drain();
        REQUIRE(all.size() == 2);
        CHECK(all[0].passage.to_end == receiver(direction));
        CHECK(+all[0].passage.tag.injection == 0);
        CHECK(all[1].passage.to_end == sender(direction));
        CHECK(all[1].passage.to_link == 0);
        CHECK(all[1].passage.tag.direction == direction);
        CHECK(+all[1].passage.tag.injection == 1);
        CHECK(all[1].bytes == all[0].bytes);
        CHECK(bench.log.calls.size() == 1);
    }
}

TEST_CASE("copies that find no free slot are counted, not reported") {
    Bench bench;
    Fault fault = on_telegram(FaultWay::loop_back, 1);
    fault.times = 1000;
    bench.add(fault);
    for (std::uint32_t n = 0; n < 300; ++n) bench.offer(n, 0);
    const auto all = bench.drain();
    CHECK(all.size() == sim::Channel::slots);
    CHECK(bench.log.calls.size() == sim::Channel::slots / 2);
    CHECK(bench.channel.losses().crowded_out == 600 - sim::Channel::slots);
}

}  // namespace
