// What a rejected telegram leads to: stop at once, or run on unless it is the second within the error interval.
#include <doctest/doctest.h>

#include "tests/support/bench.hpp"

namespace {

using proto::Cause;
using proto::Duration;
using proto::End;
using proto::Measure;
using proto::milliseconds;
using proto::State;
using tests::Bench;
using tests::Telegram;

tests::Pair discarding(Duration interval, tests::Pair pair = tests::polled_pair()) {
    return pair.both([interval](proto::LinkSettings& s) {
        s.reaction = proto::Reaction::discard;
        s.error_interval = interval;
    });
}

/// One telegram too short arrives at `end` in its next scan.
void spoil(Bench& bench, End end) {
    bench.inject(end, tests::Bytes(9, 0x5A));
    bench.run_for(milliseconds(10));
}

}  // namespace

TEST_CASE("R-70 reaction trip: the first rejected telegram stops the end in that scan") {
    for (const End end : {End::controller, End::device}) {
        Bench bench(tests::polled_pair());
        bench.bring_up();
        bench.run_for(milliseconds(50));
        spoil(bench, end);
        const auto stopped = bench.heard_by(end).last_change(State::safe_state);
        REQUIRE(stopped);
        CHECK(stopped->transition.cause == Cause::rejected_telegram);
        CHECK(stopped->transition.measure == Measure::integrity);
        bool in_that_scan = false;
        for (const auto& c : bench.heard_by(end).verdicts)
            in_that_scan = in_that_scan || (c.verdict.kind == proto::Verdict::Kind::rejected && c.at == stopped->at);
        CHECK(in_that_scan);
    }
}

TEST_CASE("R-71 reaction discard: one error is survived, a second inside the interval stops in that scan") {
    for (const End end : {End::controller, End::device}) {
        Bench bench(discarding(proto::seconds(1)));
        bench.bring_up();
        spoil(bench, end);
        bench.run_for(milliseconds(900));
        CHECK(bench.both_running());
        spoil(bench, end);
        CHECK(bench.at(end).state() == State::safe_state);
        CHECK(bench.heard_by(end).last_change(State::safe_state)->transition.cause == Cause::rejected_telegram);
    }
}

TEST_CASE("R-71 two errors in one scan are two errors") {
    Bench bench(discarding(proto::seconds(1)));
    bench.bring_up();
    bench.inject(End::device, tests::Bytes(9, 0x5A));
    spoil(bench, End::device);
    CHECK(bench.device.state() == State::safe_state);
}

TEST_CASE("R-71 errors further apart than the interval never stop, and each end counts for itself") {
    Bench bench(discarding(milliseconds(500)));
    bench.bring_up();
    for (int i = 0; i < 6; ++i) {
        spoil(bench, End::device);
        spoil(bench, End::controller);
        bench.run_for(milliseconds(480));
        CHECK(bench.both_running());
    }
    // Exactly the interval: 500 ms after the last one is no longer inside.
    CHECK(bench.device.counters().rejected[static_cast<unsigned>(Measure::integrity)] == 6);
}

TEST_CASE("R-72 the interval runs from the last counted error, and an acknowledgement does not begin it anew") {
    Bench bench(discarding(proto::seconds(1)));
    bench.bring_up();
    spoil(bench, End::device);
    bench.run_for(milliseconds(790));
    spoil(bench, End::device);  // 800 ms after the first: stops
    REQUIRE(bench.device.state() == State::safe_state);
    REQUIRE(bench.recover());
    // 1500 ms after the first and inside 1 s of the second: stops again, though it was acknowledged between.
    while (bench.now() < proto::Instant{} + milliseconds(1500)) bench.run_for(milliseconds(10));
    REQUIRE(bench.both_running());
    spoil(bench, End::device);
    CHECK(bench.device.state() == State::safe_state);
}

TEST_CASE("R-72 the interval also survives a new handshake") {
    Bench bench(discarding(proto::seconds(5)));
    bench.bring_up();
    spoil(bench, End::controller);
    bench.channel = [](Telegram& t) { t.drop(); };
    bench.run_for(milliseconds(100));
    bench.channel = nullptr;
    REQUIRE(bench.recover());
    REQUIRE(bench.controller.connections() == 2);
    spoil(bench, End::controller);
    CHECK(bench.controller.state() == State::safe_state);
}

TEST_CASE("R-73 repeats and time-outs are not counted as errors") {
    for (const End end : {End::controller, End::device}) {
        Bench bench(discarding(proto::seconds(100)));
        bench.bring_up();
        // Two repeats at each end.
        unsigned lost = 2;
        bench.channel = [&](Telegram& t) {
            if (t.to_device()) t.again_after(milliseconds(2));
            if (!t.to_device() && lost != 0) --lost, t.drop();
        };
        bench.run_for(milliseconds(50));
        CHECK(bench.device.counters().repeats >= 2);
        // A time-out at both.
        bench.channel = [](Telegram& t) { t.drop(); };
        bench.run_for(milliseconds(100));
        bench.channel = nullptr;
        REQUIRE(bench.recover());
        spoil(bench, end);
        bench.run_for(milliseconds(50));
        CHECK(bench.both_running());  // the first counted one
        spoil(bench, end);
        CHECK_FALSE(bench.both_running());
    }
}

TEST_CASE("R-73 length, CRC, address and number errors all count") {
    const auto first_of = [](Bench& bench, const tests::Bytes& bytes) {
        bench.inject(End::device, bytes, {}, 77);
        bench.run_for(milliseconds(10));
        const auto verdict = bench.at_device.about(77);
        REQUIRE(verdict);
        return verdict->failed.first();
    };
    for (int kind = 0; kind < 4; ++kind) {
        CAPTURE(kind);
        Bench bench(discarding(proto::seconds(100)));
        bench.bring_up();
        bench.run_for(milliseconds(100));
        tests::Bytes bytes = bench.last_sent(End::controller, proto::Transmission::Kind::fresh)->bytes;
        Measure expected = Measure::integrity;
        if (kind == 0) bytes.pop_back();
        if (kind == 1) bytes.back() ^= 1;
        if (kind == 2) {
            bytes = bench.last_sent(End::device, proto::Transmission::Kind::fresh)->bytes;  // its own
            expected = Measure::authentication;
        }
        if (kind == 3) {
            for (const Telegram& t : bench.log)
                if (t.to_device() && t.process()) {
                    bytes = t.bytes;  // the oldest one
                    break;
                }
            expected = Measure::sequence;
        }
        CHECK(first_of(bench, bytes) == expected);
        CHECK(bench.device.state() == State::running);
        spoil(bench, End::device);
        CHECK(bench.device.state() == State::safe_state);
    }
}
