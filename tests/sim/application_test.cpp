#include "sim/plant/application.hpp"

#include <doctest/doctest.h>

#include <array>
#include <string>

#include "tests/support/scenarios.hpp"

namespace {

using proto::End;
using sim::Application;
using sim::Direction;
using sim::Scenario;

constexpr std::uint64_t bit(unsigned i) { return std::uint64_t{1} << i; }

TEST_CASE("a signal is 1 only while every safeguard and every received signal is") {
    const Scenario s = tests::polled_link();  // signal 0 from the curtain, signal 1 from signal 0 and the rope
    const Application controller(s, End::controller), device(s, End::device);
    CHECK(controller.sends() == bit(1));
    CHECK(controller.receives() == bit(0));
    CHECK(device.sends() == bit(0));
    for (unsigned free = 0; free < 4; ++free) {
        CHECK(device.evaluate({0, free, 0}) == (free & 1));
        for (unsigned received = 0; received < 2; ++received)
            CHECK(controller.evaluate({received, free, 0}) == ((free & 2) != 0 && received == 1 ? bit(1) : 0));
    }
}

TEST_CASE("bits are read and written where each end typed them, others are left alone") {
    Scenario s = tests::polled_link();
    s.controller.bits[1].place = {3, 7};
    s.device.bits[1].place = {2, 0};
    std::array<std::uint8_t, 8> payload{};
    payload.fill(0xAA);
    const Application controller(s, End::controller), device(s, End::device);
    controller.write(bit(1), payload);
    CHECK(payload == std::array<std::uint8_t, 8>{0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA});
    controller.write(0, payload);
    CHECK(payload[3] == 0x2A);
    CHECK(device.read(payload) == 0);
    payload[2] = 0x01;
    CHECK(device.read(payload) == bit(1));
}

TEST_CASE("64 signals of 64 safeguards, each on its own") {
    Scenario s = tests::polled_link();
    s.safeguards.clear();
    s.signals.clear();
    s.controller.bits.clear();
    for (unsigned i = 0; i < 64; ++i) {
        s.safeguards.push_back({"guard_" + std::to_string(i), End::controller, {}, {}, {}});
        s.signals.push_back({"signal_" + std::to_string(i), Direction::to_device, {"guard_" + std::to_string(i)}, {}});
        s.controller.bits.push_back({"signal_" + std::to_string(i), {i / 8, i % 8}, {}});
    }
    s.device.bits = s.controller.bits;
    const Application controller(s, End::controller), device(s, End::device);
    for (unsigned i = 0; i < 64; ++i) {
        const std::uint64_t sent = controller.evaluate({0, ~bit(i), 0});
        CHECK(sent == ~bit(i));
        std::array<std::uint8_t, 8> payload{};
        controller.write(sent, payload);
        CHECK(device.read(payload) == sent);
        CHECK(sim::signals_depending_on(s, i) == bit(i));
    }
}

TEST_CASE("a demand falls through a chain of signals to its end and to nothing beside it") {
    Scenario s = tests::polled_link();
    CHECK(sim::signals_depending_on(s, 0) == (bit(0) | bit(1)));
    CHECK(sim::signals_depending_on(s, 1) == bit(1));
    // written from the far end of the chain to its begin
    s.signals = {{"third", Direction::to_controller, {"second"}, {}},
                 {"second", Direction::to_device, {"first"}, {}},
                 {"first", Direction::to_controller, {"table_curtain"}, {}},
                 {"apart", Direction::to_device, {"rope_pull"}, {}}};
    CHECK(sim::signals_depending_on(s, 0) == (bit(0) | bit(1) | bit(2)));
}

}  // namespace
