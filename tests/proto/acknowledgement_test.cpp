// The way out of the safe state, and what holds until then.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "proto/telegram.hpp"
#include "tests/support/bench.hpp"

namespace {

using proto::Cause;
using proto::End;
using proto::Endpoint;
using proto::milliseconds;
using proto::State;
using proto::Transmission;
using proto::Verdict;
using tests::Bench;
using tests::Telegram;

const std::vector<tests::Pair>& both_exchanges() {
    static const std::vector<tests::Pair> pairs{tests::polled_pair(), tests::streaming_pair()};
    return pairs;
}

/// Cuts the line for as long as stops both ends, then mends it.
void pull_the_cable(Bench& bench) {
    bench.channel = [](Telegram& t) { t.drop(); };
    bench.run_for(milliseconds(100));
    bench.channel = nullptr;
}

void until_requested(Bench& bench) {
    REQUIRE(bench.run_until([&] { return bench.controller.acknowledgement_requested(); }));
}

std::uint8_t status_of(const Telegram& t) { return t.bytes[0]; }  // the status byte comes first in every profile

}  // namespace

TEST_CASE("R-60 after a stop both ends wait, and one acknowledgement at the controller serves both") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        pull_the_cable(bench);
        CHECK(bench.controller.state() == State::safe_state);
        CHECK(bench.device.state() == State::safe_state);
        bench.run_for(proto::seconds(2));
        CHECK(bench.controller.state() == State::awaiting_acknowledgement);
        CHECK(bench.device.state() == State::awaiting_acknowledgement);
        CHECK_FALSE(bench.device.acknowledgement_requested());  // it is asked for at the controller
        bench.acknowledge();
        CHECK(bench.run_until([&] { return bench.both_running(); }, milliseconds(60)));
        CHECK(bench.at_controller.acknowledgements == std::vector<bool>{true});
        for (const End end : {End::controller, End::device})
            CHECK(bench.heard_by(end).last_change(State::running)->transition.cause == Cause::acknowledged);
        bench.run_for(proto::seconds(1));
        CHECK(bench.both_running());
    }
}

TEST_CASE("R-60 an acknowledgement at the device has no effect") {
    Bench bench(tests::polled_pair());
    bench.bring_up();
    pull_the_cable(bench);
    until_requested(bench);
    bench.device.set_acknowledge(Endpoint::Contact::closed, bench.now());
    bench.run_for(milliseconds(200));
    CHECK_FALSE(bench.both_running());
    CHECK(bench.at_device.acknowledgements == std::vector<bool>{false});
}

TEST_CASE("R-60 an acknowledgement lost on its way is held until it is confirmed") {
    for (const unsigned lost_there : {0U, 1U, 3U}) {
        for (const unsigned lost_back : {0U, 1U, 2U}) {
            CAPTURE(lost_there);
            CAPTURE(lost_back);
            auto pair = tests::polled_pair();
            pair.both([](proto::LinkSettings& s) { s.watchdog = s.peer_watchdog = milliseconds(100); });
            Bench bench(pair);
            bench.bring_up();
            bench.channel = [](Telegram& t) { t.drop(); };
            bench.run_for(milliseconds(200));
            bench.channel = nullptr;
            until_requested(bench);
            unsigned there = lost_there, back = lost_back;
            bench.channel = [&](Telegram& t) {
                if (t.parameter() || (status_of(t) & proto::status_acknowledge) == 0) return;
                unsigned& left = t.to_device() ? there : back;
                if (left == 0) return;
                --left;
                t.drop();
            };
            bench.acknowledge();
            CHECK(bench.run_until([&] { return bench.both_running(); }, milliseconds(200)));
            CHECK(there + back == 0);
            CHECK(bench.at_controller.acknowledgements == std::vector<bool>{true});
        }
    }
}

TEST_CASE("R-61 a stuck button acknowledges nothing: only an edge after the request counts") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        bench.controller.set_acknowledge(Endpoint::Contact::closed, bench.now());  // taped
        pull_the_cable(bench);
        // The driver tells the level again and again.
        bench.before_scan = [&](End) { bench.controller.set_acknowledge(Endpoint::Contact::closed, bench.now()); };
        until_requested(bench);
        bench.run_for(proto::seconds(1));
        CHECK(bench.controller.state() == State::awaiting_acknowledgement);
        CHECK(bench.at_controller.acknowledgements == std::vector<bool>{false});
        bench.before_scan = nullptr;
        bench.controller.set_acknowledge(Endpoint::Contact::open, bench.now());
        bench.run_for(milliseconds(50));
        CHECK_FALSE(bench.both_running());
        bench.controller.set_acknowledge(Endpoint::Contact::closed, bench.now());
        CHECK(bench.run_until([&] { return bench.both_running(); }));
    }
}

TEST_CASE("R-61 an edge before the request is told as not counted") {
    Bench bench(tests::polled_pair());
    bench.bring_up();
    bench.acknowledge();  // while running
    pull_the_cable(bench);
    bench.acknowledge();  // in the safe state
    bench.run_for(proto::seconds(1));
    CHECK(bench.at_controller.acknowledgements == std::vector<bool>{false, false});
    CHECK(bench.controller.state() == State::awaiting_acknowledgement);
}

TEST_CASE("R-61 an acknowledgement still held does not answer the device's next request") {
    // In a stream with gaps allowed the controller may miss that the device took its request back.
    auto pair = tests::streaming_pair();
    pair.both([](proto::LinkSettings& s) { s.missing_allowed = 5; });
    Bench bench(pair);
    bench.bring_up();
    pull_the_cable(bench);
    until_requested(bench);
    bench.run_for(milliseconds(20));
    // The acknowledgement sets out, an error reaches the device before it, and the device's word of that is lost.
    unsigned lost = 0;
    bench.channel = [&](Telegram& t) {
        if (t.to_device() || lost == 4) return;
        ++lost;
        t.drop();
    };
    bench.acknowledge();
    bench.at_device.clear();
    bench.inject(End::device, tests::Bytes(9, 0x5A));
    bench.run_for(milliseconds(60));
    CHECK(bench.at_device.last_change(State::safe_state)->transition.cause == Cause::errors_again);
    CHECK_FALSE(bench.at_device.last_change(State::running));
    bench.channel = nullptr;
    CHECK(bench.recover());
}

TEST_CASE("R-62 the request comes only after two fresh exchanges, and a rejected telegram between starts anew") {
    for (const auto& pair : both_exchanges()) {
        for (const End end : {End::controller, End::device}) {
            Bench bench(pair);
            bench.bring_up();
            pull_the_cable(bench);
            bench.heard_by(end).clear();
            REQUIRE(bench.run_until([&] { return bench.at(end).state() == State::awaiting_acknowledgement; }));
            CHECK(bench.heard_by(end).count(Verdict::Kind::fresh) >= 2);
        }
    }
    // At the device of a polled link, which stays connected: one fresh, one rejected, and it begins to count again.
    Bench bench(tests::polled_pair());
    bench.bring_up();
    bench.inject(End::device, tests::Bytes(9, 0x5A));
    REQUIRE(bench.run_until([&] { return bench.device.state() == State::safe_state; }));
    for (int i = 0; i < 5; ++i) {
        // Every other telegram is spoilt.
        bench.inject(End::device, tests::Bytes(9, 0x5A), milliseconds(10));
        bench.run_for(milliseconds(10));
        CHECK(bench.device.state() == State::safe_state);
    }
    bench.at_device.clear();
    REQUIRE(bench.run_until([&] { return bench.device.state() == State::awaiting_acknowledgement; }));
    CHECK(bench.at_device.count(Verdict::Kind::fresh) >= 2);
}

TEST_CASE("R-62 an error takes the request back") {
    for (const End end : {End::controller, End::device}) {
        Bench bench(tests::polled_pair());
        bench.bring_up();
        pull_the_cable(bench);
        until_requested(bench);
        bench.inject(end, tests::Bytes(9, 0x5A));
        bench.run_for(milliseconds(25));
        const auto back = bench.heard_by(end).last_change(State::safe_state);
        REQUIRE(back);
        CHECK(back->transition.cause == Cause::errors_again);
        CHECK(bench.recover());
    }
}

TEST_CASE("R-56 R-70 the device stops alone and the controller learns of it by the status") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(50));
        bench.inject(End::device, tests::Bytes(9, 0x5A));
        REQUIRE(bench.run_until([&] { return bench.device.state() == State::safe_state; }));
        bench.at_controller.clear();
        bench.run_for(milliseconds(40));
        const auto told = bench.at_controller.last_change(State::safe_state);
        REQUIRE(told);
        CHECK(told->transition.cause == Cause::told_by_peer);
        const bool said = std::any_of(bench.at_controller.verdicts.begin(), bench.at_controller.verdicts.end(),
                                      [](const auto& c) { return c.verdict.sender_safe; });
        CHECK(said);
        CHECK(bench.recover());
    }
}

TEST_CASE("R-56 the controller stops alone and takes the device along") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(50));
        bench.inject(End::controller, tests::Bytes(9, 0x5A));
        REQUIRE(bench.run_until([&] { return bench.controller.state() == State::safe_state; }));
        CHECK(bench.run_until([&] { return bench.device.state() == State::safe_state; }, milliseconds(20)));
        CHECK(bench.recover());
    }
}

TEST_CASE("R-56 a controller with nothing but a status bit takes a device that starts along") {
    // A device that starts meets a controller in the safe state: it must not run.
    Bench bench(tests::polled_pair());
    bench.bring_up();
    bench.stop(End::device);
    bench.run_for(milliseconds(200));
    CHECK(bench.controller.state() == State::safe_state);
    bench.at_device.clear();
    bench.start(End::device);
    bench.run_for(milliseconds(200));
    CHECK_FALSE(bench.at_device.last_change(State::running));
    CHECK(std::any_of(bench.at_device.changes.begin(), bench.at_device.changes.end(),
                      [](const auto& c) { return c.transition.cause == Cause::told_by_peer; }));
}

TEST_CASE("R-64 outside running only substitute values are in use and sent") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.after_scan = [&](End end) {
            const auto input = bench.at(end).input();
            if (bench.at(end).state() != State::running)
                CHECK(std::all_of(input.begin(), input.end(), [](std::uint8_t b) { return b == 0; }));
        };
        bool values_seen = false;
        bench.channel = [&](Telegram& t) {
            if (t.what.kind != Transmission::Kind::fresh) return;
            const std::vector<std::uint8_t> payload(t.bytes.end() - 12, t.bytes.end() - 4);
            const bool zero = std::all_of(payload.begin(), payload.end(), [](std::uint8_t b) { return b == 0; });
            CHECK(zero == (bench.at(t.sender).state() != State::running));
            if (bench.at(t.sender).state() == State::safe_state ||
                bench.at(t.sender).state() == State::awaiting_acknowledgement)
                CHECK((status_of(t) & proto::status_safe) != 0);
            values_seen = values_seen || !zero;
        };
        bench.bring_up();
        bench.run_for(milliseconds(50));
        bench.inject(End::device, tests::Bytes(9, 0x5A));
        bench.run_for(milliseconds(100));
        CHECK(bench.recover());
        bench.inject(End::controller, tests::Bytes(9, 0x5A));
        bench.run_for(milliseconds(100));
        CHECK(bench.recover());
        CHECK(values_seen);
    }
}
