#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <set>
#include <tuple>
#include <utility>
#include <vector>

#include "tests/sim/fault_fixture.hpp"

namespace {

using fault_test::at;
using fault_test::Bench;
using fault_test::differing_bits;
using fault_test::Direction;
using fault_test::Fault;
using fault_test::FaultWay;
using fault_test::milliseconds;
using fault_test::on_telegram;
using sim::TelegramField;

constexpr auto out = Direction::to_device;

Fault all_telegrams(FaultWay way) {
    Fault fault = on_telegram(way, 1);
    fault.times = 1'000'000;
    return fault;
}

/// Offers `count` telegrams and returns which bits of each were changed, checking tag and log on the way.
std::vector<std::vector<unsigned>> changes(Bench& bench, std::uint32_t count) {
    std::vector<std::vector<unsigned>> all;
    for (std::uint32_t n = 0; n < count; ++n) {
        const std::size_t calls = bench.log.calls.size();
        bench.offer(n, n);
        const auto arrivals = bench.drain();
        REQUIRE(arrivals.size() == 1);
        all.push_back(differing_bits(bench.bytes_of(n), arrivals[0].bytes));
        const sim::Tag& tag = arrivals[0].passage.tag;
        REQUIRE(+tag.altered == !all.back().empty());
        REQUIRE(+tag.injection == (all.back().empty() ? 0U : 1U));
        REQUIRE(bench.log.calls.size() - calls == (all.back().empty() ? 0U : 1U));
        REQUIRE(+tag.instance == n);
    }
    return all;
}

TEST_CASE("listed bits flip, counted from the first byte's highest bit") {
    Bench bench;
    Fault fault = all_telegrams(FaultWay::flip_bits);
    fault.bits = {0, 9, 15, 100000};  // the last one is nowhere
    bench.add(fault);
    CHECK(changes(bench, 1)[0] == std::vector<unsigned>{0, 9, 15});
}

TEST_CASE("a bit that is flipped twice is no injection") {
    Bench bench;
    Fault fault = all_telegrams(FaultWay::flip_bits);
    fault.bits = {3, 3};
    bench.add(fault);
    CHECK(changes(bench, 1)[0].empty());
}

TEST_CASE("two faults that undo each other leave the telegram unaltered") {
    Bench bench;
    Fault fault = all_telegrams(FaultWay::flip_bits);
    fault.bits = {3};
    bench.add(fault);
    bench.add(fault);
    bench.offer(1, 0);
    const auto all = bench.drain();
    CHECK(all[0].bytes == bench.bytes_of(1));
    CHECK_FALSE(all[0].passage.tag.altered);
    CHECK(bench.log.calls.size() == 2);
}

TEST_CASE("exactly so many different random bits flip, any of them") {
    for (const unsigned count : {1U, 2U, 5U, 40U}) {
        Bench bench;
        Fault fault = all_telegrams(FaultWay::random_bits);
        fault.count = count;
        bench.add(fault);
        std::set<unsigned> hit;
        for (const auto& bits : changes(bench, 2000)) {
            REQUIRE(bits.size() == count);
            hit.insert(bits.begin(), bits.end());
        }
        CHECK(hit.size() == bench.context.wire(out).layout.total_bytes * 8);
    }
}

TEST_CASE("more random bits than there are flips all") {
    Bench bench;
    Fault fault = all_telegrams(FaultWay::random_bits);
    fault.count = 5000;
    bench.add(fault);
    CHECK(changes(bench, 1)[0].size() == bench.context.wire(out).layout.total_bytes * 8);
}

TEST_CASE("pairs of random bits are all equally likely") {
    Bench bench;
    Fault fault = all_telegrams(FaultWay::random_bits);
    fault.count = 2;
    fault.field = TelegramField::status;  // 8 bits: 28 pairs
    bench.add(fault);
    std::vector<int> seen(64);
    constexpr int draws = 14'000;
    for (const auto& bits : changes(bench, draws)) ++seen[bits[0] * 8 + bits[1]];
    int pairs = 0;
    for (unsigned a = 0; a < 8; ++a) {
        for (unsigned b = a + 1; b < 8; ++b, ++pairs) CHECK(std::abs(seen[a * 8 + b] - draws / 28) < 110);  // 5 sd
    }
    CHECK(pairs == 28);
}

/// Every named field of the telegram in a fixture's profile: 1 status byte, two addresses, number, payload, CRC.
TEST_CASE("a named field keeps the flips to itself, in both copies") {
    for (const unsigned copies : {1U, 2U}) {
        for (const auto& [field, begin, bits] :
             std::vector<std::tuple<TelegramField, unsigned, unsigned>>{{TelegramField::status, 0, 8},
                                                                        {TelegramField::address, 8, 32},
                                                                        {TelegramField::sequence, 40, 16},
                                                                        {TelegramField::payload, 56, 64},
                                                                        {TelegramField::crc, 120, 32}}) {
            Bench bench("CRC-32/ISCSI", copies);
            Fault fault = all_telegrams(FaultWay::random_bits);
            fault.field = field;
            bench.add(fault);
            std::set<unsigned> hit;
            for (const auto& flipped : changes(bench, 1500)) hit.insert(flipped.begin(), flipped.end());
            std::set<unsigned> expected;
            for (unsigned copy = 0; copy < copies; ++copy) {
                for (unsigned i = 0; i < bits; ++i) expected.insert(copy * 152 + begin + i);
            }
            CHECK(hit == expected);
        }
    }
}

TEST_CASE("listed bits of a field count from its first bit and go on in the second copy") {
    Bench bench("CRC-32/ISCSI", 2);
    Fault fault = all_telegrams(FaultWay::flip_bits);
    fault.field = TelegramField::sequence;
    fault.bits = {0, 15, 16};
    bench.add(fault);
    CHECK(changes(bench, 1)[0] == std::vector<unsigned>{40, 55, 152 + 40});
}

TEST_CASE("a field that is not in the bytes leaves nothing to touch") {
    Bench bench;
    for (sim::Wire& wire : bench.context.wires) {
        wire.profile.sequence.presence = proto::Presence::implied;
        wire.places.number.bits = 0;
    }
    Fault fault = all_telegrams(FaultWay::random_bits);
    fault.field = TelegramField::sequence;
    bench.add(fault);
    CHECK(changes(bench, 1)[0].empty());
}

TEST_CASE("a parameter telegram has no fields of a profile, but bits") {
    for (const auto& [field, touched] :
         {std::pair{TelegramField::payload, false}, std::pair{TelegramField::whole, true}}) {
        Bench bench;
        Fault fault = at(FaultWay::random_bits, {});
        fault.lasting = milliseconds(5);
        fault.field = field;
        bench.add(fault);
        bench.offer_parameters(1);
        CHECK(+bench.drain()[0].passage.tag.altered == touched);
        CHECK(bench.log.calls.size() == (touched ? 1 : 0));
    }
}

/// Numbers of changed bits in the order in which a CRC takes them.
std::vector<unsigned> in_crc_order(const std::vector<unsigned>& bits, bool reflected) {
    std::vector<unsigned> order;
    order.reserve(bits.size());
    for (const unsigned bit : bits) order.push_back(reflected ? bit / 8 * 8 + (7 - bit % 8) : bit);
    std::sort(order.begin(), order.end());
    return order;
}

TEST_CASE("a burst has its length in the CRC's own order, with first and last bit flipped") {
    for (const auto& [crc, reflected] : {std::pair{"CRC-32/ISCSI", true}, std::pair{"CRC-16/IBM-3740", false}}) {
        for (const unsigned length : {1U, 2U, 13U, 16U, 70U}) {
            Bench bench(crc);
            Fault fault = all_telegrams(FaultWay::burst);
            fault.length = length;
            bench.add(fault);
            std::set<unsigned> begins;
            std::size_t inner = 0;
            for (const auto& bits : changes(bench, 3000)) {
                const auto order = in_crc_order(bits, reflected);
                REQUIRE(order.back() - order.front() + 1 == length);
                begins.insert(order.front());
                inner += order.size() - (length > 1 ? 2 : 1);
            }
            CHECK(begins.size() == bench.context.wire(out).layout.total_bytes * 8 - length + 1);
            if (length > 2) CHECK(std::abs(static_cast<double>(inner) / (3000.0 * (length - 2)) - 0.5) < 0.05);
        }
    }
}

TEST_CASE("no burst up to the width of the CRC passes it, whichever way it is reflected") {
    // Peterson and Brown, Cyclic Codes for Error Detection, Proc. IRE 49, 1961: a burst no longer than the width of the
    // check is always detected. It holds only if burst, CRC and byte order agree on the order of bits.
    for (const char* crc : {"CRC-32/ISCSI", "CRC-16/IBM-3740", "CRC-16/ARC", "CRC-32/AUTOSAR"}) {
        Bench bench(crc);
        const unsigned width = bench.profile.crc->width;
        for (unsigned length = 1; length <= width; ++length) {
            Fault fault = on_telegram(FaultWay::burst, (length - 1) * 500 + 1);
            fault.times = 500;
            fault.length = length;
            bench.add(fault);
        }
        unsigned passed = 0;
        for (std::uint32_t n = 0; n < width * 500; ++n) {
            bench.offer(n, n);
            const auto all = bench.drain();
            if (!bench.decode(all[0].bytes).failed.has(proto::Measure::integrity)) ++passed;
        }
        CHECK(bench.log.calls.size() == width * 500);
        CHECK(passed == 0);
    }
}

TEST_CASE("a burst in a field begins and ends in it and spares the rest") {
    for (const char* crc : {"CRC-32/ISCSI", "CRC-16/IBM-3740"}) {
        Bench bench(crc);
        Fault fault = all_telegrams(FaultWay::burst);
        fault.length = 10;
        fault.field = TelegramField::sequence;
        bench.add(fault);
        for (const auto& bits : changes(bench, 300)) {
            for (const unsigned bit : bits) REQUIRE((bit >= 40 && bit < 56));
        }
        CHECK(bench.log.calls.size() == 300);
    }
    Bench bench;
    Fault fault = all_telegrams(FaultWay::burst);
    fault.length = 17;
    fault.field = TelegramField::sequence;
    bench.add(fault);
    CHECK(changes(bench, 1)[0].empty());  // longer than the field
}

TEST_CASE("bits at a rate are hit at that rate, and none hit is no injection") {
    Bench bench;
    Fault fault = all_telegrams(FaultWay::bit_rate);
    fault.rate = 0.005;
    bench.add(fault);
    std::size_t flips = 0, untouched = 0;
    for (const auto& bits : changes(bench, 5000)) {
        flips += bits.size();
        untouched += bits.empty() ? 1U : 0U;
    }
    // 152 bits: 3800 flips (sd 61), 0.995^152 = 0.4668 of 5000 untouched (sd 35)
    CHECK(std::abs(static_cast<double>(flips) - 3800) < 310);
    CHECK(std::abs(static_cast<double>(untouched) - 2334) < 180);
}

TEST_CASE("bytes are cut off the end") {
    for (const unsigned count : {1U, 3U, 19U, 500U}) {
        Bench bench;
        Fault fault = all_telegrams(FaultWay::truncate);
        fault.count = count;
        bench.add(fault);
        bench.offer(4, 0);
        const auto all = bench.drain();
        auto expected = bench.bytes_of(4);
        expected.resize(expected.size() - std::min<std::size_t>(count, expected.size()));
        CHECK(all[0].bytes == expected);
        CHECK(all[0].passage.tag.altered);
        CHECK(bench.log.calls.size() == 1);
    }
}

TEST_CASE("corruption repeats with its seed and differs between faults") {
    const auto run = [](std::uint64_t seed, std::size_t index) {
        Bench bench;
        bench.context.seed = seed;
        Fault fault = all_telegrams(FaultWay::random_bits);
        bench.channel.add(sim::make_stage(fault, index, bench.context));
        std::vector<std::vector<std::uint8_t>> all;
        for (std::uint32_t n = 0; n < 20; ++n) {
            bench.offer(n, n);
            all.push_back(bench.drain()[0].bytes);
        }
        return all;
    };
    CHECK(run(1, 0) == run(1, 0));
    CHECK(run(1, 0) != run(2, 0));
    CHECK(run(1, 0) != run(1, 1));
}

}  // namespace
