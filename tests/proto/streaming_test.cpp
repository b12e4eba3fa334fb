// The streaming exchange: the window of numbers, feedback lag, time stamps, and the way back after a stop.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>

#include "proto/telegram.hpp"
#include "tests/support/bench.hpp"

namespace {

using proto::Cause;
using proto::Duration;
using proto::End;
using proto::Measure;
using proto::milliseconds;
using proto::State;
using proto::Verdict;
using tests::Bench;
using tests::Telegram;

tests::Pair with_missing(unsigned missing) {
    return tests::streaming_pair().both([missing](proto::LinkSettings& s) { s.missing_allowed = missing; });
}

/// Drops the next `count` process telegrams to the device.
void lose(Bench& bench, unsigned count) {
    bench.channel = [left = count](Telegram& t) mutable {
        if (left == 0 || !t.to_device() || t.parameter()) return;
        --left;
        t.drop();
    };
}

/// A way to the device that becomes slower and slower: 50 ms for each second.
void creep(Bench& bench) {
    const proto::Instant from = bench.now();
    bench.channel = [from](Telegram& t) {
        if (t.to_device()) t.delay(milliseconds(1) + Duration{(t.sent - from).ns / 20});
    };
}

struct Creeping {
    Duration oldest{};                  ///< age of a value in use at the device
    std::optional<Measure> stopped_by;  ///< at the end that stopped first
    End stopped = End::device;
};

/// Five seconds of creeping delay, or until an end stops.
Creeping watch_creeping(Bench& bench) {
    Creeping seen;
    bench.before_scan = [&](End end) {
        if (end == End::device) seen.oldest = std::max(seen.oldest, bench.age_of_value_at(end).value_or(Duration{}));
    };
    creep(bench);
    bench.run_until([&] { return !bench.both_running(); });
    bench.before_scan = nullptr;
    for (const End end : {End::controller, End::device})
        if (bench.at(end).state() == State::safe_state) {
            seen.stopped = end;
            seen.stopped_by = bench.heard_by(end).last_change(State::safe_state)->transition.measure;
        }
    return seen;
}

tests::Pair with_stamps(tests::Pair pair, Duration max_age) {
    return pair.both([max_age](proto::LinkSettings& s) {
        s.profile.time_stamp_bits = 16;
        s.max_age = max_age;
    });
}

tests::Pair with_lag(std::optional<unsigned> max_lag) {
    return tests::streaming_pair().both([max_lag](proto::LinkSettings& s) {
        s.profile.feedback = true;
        s.max_lag = max_lag;
    });
}

}  // namespace

TEST_CASE("R-30 streaming: each end sends in each cycle under a new number") {
    Bench bench(tests::streaming_pair(tests::plain_profile(4)));
    bench.bring_up();
    bench.log.clear();
    bench.run_for(proto::seconds(1));
    CHECK(bench.both_running());
    for (const End end : {End::controller, End::device}) {
        std::optional<std::uint32_t> last;
        unsigned sent = 0;
        for (const Telegram& t : bench.log) {
            if (t.sender != end) continue;
            CHECK(t.what.kind == proto::Transmission::Kind::fresh);
            if (last) CHECK(t.what.number == ((*last + 1) & 15));
            last = t.what.number;
            ++sent;
        }
        CHECK(sent == 100);
        CHECK_FALSE(bench.heard_by(end).last_rejection());
    }
}

TEST_CASE("R-30 as many telegrams as allowed may be missing, and not one more") {
    for (unsigned missing = 0; missing <= 3; ++missing) {
        for (unsigned lost = 1; lost <= 4; ++lost) {
            CAPTURE(missing);
            CAPTURE(lost);
            auto pair = with_missing(missing);
            pair.both([](proto::LinkSettings& s) { s.watchdog = s.peer_watchdog = milliseconds(200); });
            Bench bench(pair);
            bench.bring_up();
            bench.run_for(milliseconds(100));
            lose(bench, lost);
            bench.run_for(milliseconds(100));
            const auto rejection = bench.at_device.last_rejection();
            CHECK(rejection.has_value() == (lost > missing));
            if (rejection) CHECK(rejection->failed.first() == Measure::sequence);
            CHECK((bench.device.state() == State::running) == (lost <= missing));
        }
    }
}

TEST_CASE("R-30 a repetition of the current number is rejected") {
    Bench bench(with_missing(3));
    bench.bring_up();
    bench.run_for(milliseconds(50));
    bool done = false;
    bench.channel = [&](Telegram& t) {
        if (!done && t.to_device()) t.again_after(milliseconds(1)), done = true;
    };
    bench.run_for(milliseconds(20));
    REQUIRE(bench.at_device.last_rejection());
    CHECK(bench.at_device.last_rejection()->failed.first() == Measure::sequence);
    CHECK(bench.at_device.count(Verdict::Kind::repeat) == 0);
}

TEST_CASE("R-32 a number outside the window is never adopted: only a new handshake helps") {
    auto pair = with_missing(1);
    // The error interval is so short that rejections alone never stop: what stops is the lost place.
    pair.both([](proto::LinkSettings& s) {
        s.reaction = proto::Reaction::discard;
        s.error_interval = {};
    });
    Bench bench(pair);
    bench.bring_up();
    bench.run_for(milliseconds(100));
    lose(bench, 2);
    bench.at_device.clear();
    bench.run_until([&] { return bench.device.state() == State::safe_state; }, milliseconds(200));
    const auto stopped = bench.at_device.last_change(State::safe_state);
    REQUIRE(stopped);
    CHECK(stopped->transition.cause == Cause::time_expectation);
    CHECK(bench.at_device.count(Verdict::Kind::rejected) >= 2);
    CHECK(bench.at_device.count(Verdict::Kind::fresh) <= 1);
    CHECK(bench.device.connections() == 1);
    // Every further process telegram of that connection is ignored.
    bench.at_device.clear();
    bench.run_until([&] { return bench.device.connections() == 2; });
    CHECK(bench.device.connections() == 2);
    CHECK(bench.at_device.count(Verdict::Kind::fresh) == 0);
    CHECK(bench.recover());
}

TEST_CASE("R-32 a device that lost its place says so by its status, and the controller offers anew") {
    Bench bench(tests::streaming_pair());
    bench.bring_up();
    bench.run_for(milliseconds(100));
    lose(bench, 1);
    REQUIRE(bench.run_until([&] { return bench.device.state() == State::safe_state; }));
    bench.log.clear();
    bench.run_for(milliseconds(40));
    CHECK(bench.controller.state() == State::safe_state);
    CHECK(bench.at_controller.last_change(State::safe_state)->transition.cause == Cause::told_by_peer);
    CHECK(bench.last_sent(End::controller, proto::Transmission::Kind::parameter) != nullptr);
    CHECK(bench.recover());
    CHECK(bench.device.connections() == 2);
}

TEST_CASE("R-41 streaming with the number implied: missing telegrams are found, a gap too wide is integrity") {
    for (const unsigned lost : {2U, 3U}) {
        auto pair = tests::streaming_pair(tests::reflected_crc32());
        pair.both([](proto::LinkSettings& s) { s.missing_allowed = 2; });
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(50));
        CHECK_FALSE(bench.at_device.last_rejection());
        lose(bench, lost);
        bench.run_for(milliseconds(45));
        if (lost == 2) {
            CHECK_FALSE(bench.at_device.last_rejection());
        } else {
            REQUIRE(bench.at_device.last_rejection());
            CHECK(bench.at_device.last_rejection()->failed.first() == Measure::integrity);
        }
    }
}

TEST_CASE("R-33 a feedback that lags too far behind is rejected, and without the rule a creeping delay is invisible") {
    Bench guarded(with_lag(8));
    guarded.bring_up();
    guarded.run_for(milliseconds(500));
    CHECK(guarded.both_running());
    const Creeping seen = watch_creeping(guarded);
    CHECK(seen.stopped_by == Measure::feedback);
    CHECK(seen.oldest < milliseconds(8 * 10 + 50 + 10));

    Bench unguarded(with_lag(std::nullopt));
    unguarded.bring_up();
    const Creeping unseen = watch_creeping(unguarded);
    CHECK_FALSE(unseen.stopped_by);
    CHECK(unseen.oldest > milliseconds(200));  // far over 2 WD + T
}

TEST_CASE("R-33 a feedback of a number not yet sent is rejected") {
    // The device's feedback is a number ahead of the controller's own: taken from a codec of the same link.
    Bench bench(with_lag(8));
    bench.bring_up();
    bench.run_for(milliseconds(50));
    proto::Profile profile = with_lag(8).controller.profile;
    const proto::CrcEngine crc = proto::CrcEngine::make(*profile.crc).value();
    const proto::Codec codec(profile, &crc, End::device, 0x202, 0x101, 8);
    bench.channel = [&](Telegram& t) {
        if (t.to_device() || t.parameter()) return;
        std::array<std::uint8_t, proto::telegram_bytes_max> out{};
        codec.encode({.number = t.what.number, .feedback = bench.controller.counters().number_sent + 5},
                     tests::Bytes(8, 1), out);
        t.arrivals[0].bytes.assign(out.begin(), out.begin() + codec.layout().total_bytes);
        bench.channel = nullptr;
    };
    bench.run_for(milliseconds(20));
    REQUIRE(bench.at_controller.last_rejection());
    CHECK(bench.at_controller.last_rejection()->failed.first() == Measure::feedback);
}

TEST_CASE("R-34 an echoed time stamp catches a creeping delay, in a stream and polled") {
    for (const bool stream : {true, false}) {
        CAPTURE(stream);
        auto pair = with_stamps(stream ? tests::streaming_pair() : tests::polled_pair(), milliseconds(60));
        if (!stream) pair.both([](proto::LinkSettings& s) { s.watchdog = s.peer_watchdog = milliseconds(1000); });
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(500));
        CHECK(bench.both_running());
        const Creeping seen = watch_creeping(bench);
        CHECK(seen.stopped_by == Measure::time_stamp);
        // At acceptance max_age at most; then the value is held until the next telegram is rejected.
        CHECK(seen.oldest <= milliseconds(stream ? 60 + 60 : 60 + 90));
    }
}

TEST_CASE("R-34 the stamp's range may wrap") {
    auto pair = with_stamps(tests::streaming_pair(), milliseconds(25));
    pair.both([](proto::LinkSettings& s) { s.profile.time_stamp_bits = 10; });  // 102.4 ms
    Bench bench(pair);
    bench.bring_up();
    bench.run_for(proto::seconds(2));
    CHECK(bench.both_running());
}

TEST_CASE("R-34 no step of delay is so long that the stamp comes round and looks young") {
    for (int step_ms = 30; step_ms <= 200; ++step_ms) {
        CAPTURE(step_ms);
        auto pair = with_stamps(tests::streaming_pair(), milliseconds(25));
        pair.both([](proto::LinkSettings& s) { s.profile.time_stamp_bits = 10; });
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(100));
        bench.channel = [step_ms](Telegram& t) {
            if (t.to_device()) t.delay(milliseconds(step_ms));
        };
        bench.run_for(milliseconds(300));
        CHECK_FALSE(bench.both_running());
    }
    // A range of 25.6 ms under a watchdog of 50 ms is refused: polled, with a way that takes 14 ms more, every exchange
    // takes 30 ms, and the stamps say 4.4 ms.
    auto narrow = with_stamps(tests::polled_pair(), milliseconds(12));
    narrow.controller.profile.time_stamp_bits = 8;
    REQUIRE(proto::fault_in(narrow.controller));
    CHECK(proto::fault_in(narrow.controller)->fault == proto::SettingsFault::max_age);
}

TEST_CASE("R-34 what is echoed is the peer's last accepted stamp, not a reading of the own clock") {
    auto pair = with_stamps(tests::polled_pair(), milliseconds(60));
    const proto::CrcEngine crc = proto::CrcEngine::make(*pair.device.profile.crc).value();
    const proto::Codec codec(pair.device.profile, &crc, End::device, 0x202, 0x101, 8);
    Bench bench(pair);
    bench.bring_up();
    bench.run_for(milliseconds(200));
    std::uint32_t last_from_controller = 0;
    const proto::Codec there(pair.device.profile, &crc, End::controller, 0x101, 0x202, 8);
    unsigned looked_at = 0;
    for (const Telegram& t : bench.log) {
        if (t.parameter()) continue;
        const auto decoded = (t.to_device() ? there : codec).decode(t.bytes, {});
        REQUIRE(decoded.failed.empty());
        CHECK(decoded.header.stamp == static_cast<std::uint32_t>((t.sent - proto::Instant{}).ns / 100'000));
        if (t.to_device()) {
            last_from_controller = decoded.header.stamp;
        } else {
            CHECK(decoded.header.echo == last_from_controller);
            ++looked_at;
        }
    }
    CHECK(looked_at > 15);
}

TEST_CASE("R-35 after a stop for age the way leads through start-up") {
    for (const bool stream : {true, false}) {
        CAPTURE(stream);
        auto pair = with_stamps(stream ? tests::streaming_pair() : tests::polled_pair(), milliseconds(60));
        pair.both([](proto::LinkSettings& s) { s.watchdog = s.peer_watchdog = milliseconds(300); });
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(100));
        // A step of 80 ms on the way to the device for a while: the device's own stamps come back too old.
        bench.channel = [](Telegram& t) {
            if (t.to_device()) t.delay(milliseconds(80));
        };
        REQUIRE(bench.run_until([&] { return bench.device.state() == State::safe_state; }));
        const auto stopped = bench.at_device.last_change(State::safe_state);
        const bool for_age = stopped->transition.measure == Measure::time_stamp;
        bench.channel = nullptr;
        bench.at_device.clear();
        if (for_age) {
            // Whatever still comes of that connection is ignored, though its stamps would be good again.
            bench.run_until([&] { return bench.device.connections() == 2; });
            CHECK(bench.at_device.count(Verdict::Kind::fresh) == 0);
        }
        CHECK(for_age);
        CHECK(bench.recover());
        CHECK(bench.device.connections() == 2);
    }
}

TEST_CASE("R-27 streaming: the first value must come within the watchdog time after the handshake") {
    Bench bench(tests::streaming_pair());
    bench.channel = [](Telegram& t) {
        if (t.to_device() && t.process()) t.delay(milliseconds(200));
    };
    bench.start_both();
    bench.run_for(milliseconds(180));
    CHECK_FALSE(bench.at_device.last_change(State::running));
    CHECK(bench.at_device.last_change(State::start_up)->transition.cause == Cause::start_failed);
}

TEST_CASE("R-02 with clocks that drift the queue never grows: the data stays young for 20 seconds") {
    auto pair = tests::streaming_pair();
    pair.device.scan = proto::microseconds(10'050);  // the device is slow: one telegram more in each two seconds
    pair.both([](proto::LinkSettings& s) { s.watchdog = s.peer_watchdog = milliseconds(100); });
    Bench bench(pair);
    bench.keep_log = false;
    bench.bring_up();
    Duration oldest{};
    bench.after_scan = [&](End end) {
        if (end == End::device) oldest = std::max(oldest, bench.age_of_value_at(end).value_or(proto::seconds(9)));
    };
    bench.run_for(proto::seconds(20));
    CHECK(bench.both_running());
    CHECK(oldest < milliseconds(12));
}

TEST_CASE("streaming: a pulled cable takes both ends to substitute values, and they come back acknowledged") {
    Bench bench(tests::streaming_pair());
    bench.bring_up();
    const proto::Instant pulled = bench.now();
    bench.channel = [](Telegram& t) { t.drop(); };
    bench.run_for(milliseconds(75));
    for (const End end : {End::controller, End::device}) {
        const auto stopped = bench.heard_by(end).last_change(State::safe_state);
        REQUIRE(stopped);
        CHECK(stopped->transition.cause == Cause::time_expectation);
        CHECK(stopped->at - pulled <= milliseconds(50 + 2 * 10 + 1));  // WD + 2 T + D
    }
    bench.channel = nullptr;
    CHECK(bench.recover());
}
