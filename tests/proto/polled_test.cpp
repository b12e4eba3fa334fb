// The polled exchange between two endpoints: what is new, what is a repeat, and what the watchdog makes of it.
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
using proto::Transmission;
using proto::Verdict;
using tests::Bench;
using tests::Telegram;

/// A controller that waits so long that only the device's watchdog matters.
tests::Pair patient_controller() {
    auto pair = tests::polled_pair();
    pair.controller.watchdog = pair.device.peer_watchdog = proto::seconds(1);
    return pair;
}

/// The last fresh telegram of `sender` and, before it, the one `back` numbers earlier.
const Telegram& fresh_of(const Bench& bench, End sender, unsigned back) {
    for (auto t = bench.log.rbegin(); t != bench.log.rend(); ++t)
        if (t->sender == sender && t->what.kind == Transmission::Kind::fresh && back-- == 0) return *t;
    proto::contract_broken("no such telegram", __FILE__, __LINE__);
}

/// Runs until just after a scan in which the device accepted something: nothing is on its way to it.
void until_accepted(Bench& bench) {
    REQUIRE(bench.run_until([&] { return bench.device.last_sign_of_life() == bench.now(); }));
}

}  // namespace

TEST_CASE("polled: the link comes up, values flow both ways, nothing is rejected or repeated") {
    Bench bench(tests::polled_pair());
    bench.bring_up();
    CHECK(bench.now() < proto::Instant{milliseconds(60).ns});
    bench.at_device.clear();
    const auto accepted_before = bench.device.counters().accepted;
    bench.run_for(proto::seconds(1));
    CHECK(bench.both_running());
    CHECK(bench.at_device.count(Verdict::Kind::fresh) == 100);
    CHECK(bench.at_device.verdicts.size() == 100);
    CHECK_FALSE(bench.at_controller.last_rejection());
    REQUIRE(bench.age_of_value_at(End::device));
    CHECK(*bench.age_of_value_at(End::device) < milliseconds(20));
    CHECK(*bench.age_of_value_at(End::controller) < milliseconds(20));
    CHECK(bench.device.counters().accepted == bench.at_device.count(Verdict::Kind::fresh) + accepted_before);
}

TEST_CASE("R-01 the watchdog is looked at before the queue: a good telegram that waits comes too late") {
    Bench bench(patient_controller());
    bench.bring_up();
    bench.run_for(milliseconds(100));
    until_accepted(bench);
    const auto last = bench.device.last_sign_of_life();
    REQUIRE(last);
    // Nothing until 52 ms after the last acceptance, then the repeat arrives before the scan at 60 ms.
    bench.channel = [&](Telegram& t) {
        if (t.to_device() && t.sent < *last + milliseconds(52)) t.drop();
    };
    bench.at_device.clear();
    REQUIRE(bench.run_until([&] { return bench.device.state() == State::safe_state; }, milliseconds(100)));
    const auto stopped = bench.at_device.last_change(State::safe_state);
    CHECK(stopped->at == *last + milliseconds(60));
    CHECK(stopped->transition.cause == Cause::time_expectation);
    // and the telegram was looked at in that scan, after the stop
    REQUIRE(bench.at_device.verdicts.size() == 1);
    CHECK(bench.at_device.verdicts[0].at == stopped->at);
    CHECK(bench.at_device.verdicts[0].verdict.kind == Verdict::Kind::fresh);
}

TEST_CASE("R-01 exactly the watchdog time is still in time") {
    Bench bench(patient_controller());
    bench.bring_up();
    bench.run_for(milliseconds(100));
    until_accepted(bench);
    const auto last = *bench.device.last_sign_of_life();
    bench.channel = [&](Telegram& t) {
        if (t.to_device() && t.sent < last + milliseconds(42)) t.drop();
    };
    bench.run_for(milliseconds(200));
    CHECK(bench.both_running());
}

TEST_CASE("R-02 all telegrams in the queue are looked at in one scan, oldest first") {
    Bench bench(tests::polled_pair());
    bench.bring_up();
    bench.at_device.clear();
    const auto bytes = fresh_of(bench, End::controller, 0).bytes;
    for (const std::uint64_t token : {71U, 72U, 73U, 74U, 75U}) bench.inject(End::device, bytes, {}, token);
    bench.run_until([&] { return !bench.at_device.verdicts.empty(); });
    std::vector<std::uint64_t> seen;
    for (const auto& c : bench.at_device.verdicts) {
        CHECK(c.at == bench.at_device.verdicts[0].at);
        if (c.token.value >= 71 && c.token.value <= 75) seen.push_back(c.token.value);
    }
    CHECK(seen == std::vector<std::uint64_t>{71, 72, 73, 74, 75});
}

TEST_CASE("R-02 more than the queue holds is lost and counted, and does no harm") {
    Bench bench(tests::polled_pair());
    bench.bring_up();
    const auto bytes = fresh_of(bench, End::controller, 0).bytes;
    for (int i = 0; i < 100; ++i) bench.inject(End::device, bytes);
    bench.run_for(milliseconds(100));
    CHECK(bench.device.counters().queue_full >= 36);
    CHECK(bench.both_running());
}

TEST_CASE("R-03 the first check that fails detected it, and what else would have failed is told") {
    auto pair = tests::polled_pair(tests::two_copies_crc16());
    Bench bench(pair);
    bench.bring_up();
    bool done = false;
    bench.channel = [&](Telegram& t) {
        if (!done && t.to_device()) {
            t.flip(7);      // direction
            t.flip(8 + 5);  // number
            done = true;
        }
    };
    bench.run_for(milliseconds(20));
    const auto verdict = bench.at_device.last_rejection();
    REQUIRE(verdict);
    CHECK(verdict->failed.first() == Measure::cross_check);
    for (const Measure also : {Measure::integrity, Measure::authentication, Measure::sequence})
        CHECK(verdict->failed.has(also));
    CHECK_FALSE(verdict->failed.has(Measure::time_expectation));
    CHECK(bench.device.counters().rejected[static_cast<unsigned>(Measure::cross_check)] == 1);
    CHECK(bench.device.counters().rejected[static_cast<unsigned>(Measure::integrity)] == 0);
}

TEST_CASE("R-04 R-05 telegrams of any length may arrive: a wrong one is reported as integrity") {
    for (const std::size_t length : {0U, 1U, 20U, 79U, 80U, 81U, 299U, 300U, 301U, 5000U}) {
        CAPTURE(length);
        Bench bench(tests::polled_pair());
        bench.bring_up();
        bench.inject(End::device, tests::Bytes(length, 0xA5), {}, 77);
        bench.inject(End::controller, tests::Bytes(length, 0xA5), {}, 77);
        bench.run_for(milliseconds(20));
        for (const End end : {End::controller, End::device}) {
            const auto verdict = bench.heard_by(end).about(77);
            REQUIRE(verdict);
            CHECK(verdict->kind == Verdict::Kind::rejected);
            CHECK(verdict->failed.first() == Measure::integrity);
        }
    }
}

TEST_CASE("R-04 an empty telegram that points nowhere is a telegram of length 0") {
    Bench bench(tests::polled_pair());
    bench.bring_up();
    bench.device.receive({}, {77});
    bench.run_for(milliseconds(20));
    REQUIRE(bench.at_device.about(77));
    CHECK(bench.at_device.about(77)->failed.first() == Measure::integrity);
}

TEST_CASE("R-20 the controller sends in every cycle, and the device answers once for each telegram received") {
    Bench bench(patient_controller());
    bench.bring_up();
    const auto sent_before = bench.controller.counters().sent;
    bench.channel = [](Telegram& t) {
        if (!t.to_device()) t.drop();
    };
    bench.run_for(milliseconds(40));
    CHECK(bench.controller.counters().sent == sent_before + 4);
    CHECK(bench.device.counters().sent == bench.device.counters().received);

    // Asked three times in one scan it answers three times, asked never it keeps silent.
    const auto bytes = fresh_of(bench, End::controller, 0).bytes;
    bench.channel = [](Telegram& t) { t.drop(); };
    bench.run_for(milliseconds(10));
    auto device_sent = bench.device.counters().sent;
    for (int i = 0; i < 3; ++i) bench.inject(End::device, bytes);
    bench.run_for(milliseconds(10));
    CHECK(bench.device.counters().sent == device_sent + 3);
    device_sent += 3;
    bench.run_for(milliseconds(100));
    CHECK(bench.device.counters().sent == device_sent);
}

TEST_CASE("R-20 a rejected telegram gets no answer") {
    Bench bench(patient_controller());
    bench.bring_up();
    until_accepted(bench);
    bench.channel = [](Telegram& t) { t.drop(); };
    const auto sent = bench.device.counters().sent;
    bench.inject(End::device, tests::Bytes(23, 0x11), {}, 77);
    bench.run_for(milliseconds(20));
    CHECK(bench.at_device.about(77)->kind == Verdict::Kind::rejected);
    CHECK(bench.device.counters().sent == sent);
}

TEST_CASE("R-21 repeats are the same bytes, whatever the application has written meanwhile") {
    Bench bench(patient_controller());
    bench.bring_up();
    until_accepted(bench);
    bench.log.clear();
    bench.channel = [](Telegram& t) {
        if (!t.to_device()) t.drop();
    };
    bench.run_for(milliseconds(48));
    unsigned repeats = 0;
    for (const End end : {End::controller, End::device}) {
        const Telegram* fresh = nullptr;
        for (const Telegram& t : bench.log) {
            if (t.sender != end) continue;
            if (t.what.kind == Transmission::Kind::fresh) {
                fresh = &t;
            } else if (fresh != nullptr) {
                CHECK(t.bytes == fresh->bytes);
                CHECK(t.what.number == fresh->what.number);
                ++repeats;
            }
        }
    }
    CHECK(repeats >= 4);
}

TEST_CASE("R-21 an overtaken copy never brings back an older value") {
    Bench bench(patient_controller());
    bench.bring_up();
    bench.run_for(milliseconds(50));
    until_accepted(bench);
    // The first copy of a number is held up, the repeat overtakes it.
    bool held = false;
    std::uint64_t token = 0;
    bench.channel = [&](Telegram& t) {
        if (held || !t.to_device()) return;
        held = true;
        token = t.ordinal;
        t.delay(milliseconds(12));
    };
    proto::Instant newest{};
    bench.after_scan = [&](End end) {
        if (end != End::device) return;
        const auto sampled = tests::time_in(bench.device.input());
        REQUIRE(sampled);
        CHECK(*sampled >= newest);
        newest = *sampled;
    };
    bench.run_for(milliseconds(100));
    CHECK(bench.at_device.about(token)->kind != Verdict::Kind::fresh);
}

TEST_CASE("R-22 R-26 repeats re-arm nothing: with the answers cut alone the device trips too") {
    Bench bench(patient_controller());
    bench.bring_up();
    bench.run_for(milliseconds(50));
    bench.channel = [](Telegram& t) {
        if (!t.to_device()) t.drop();
    };
    bench.at_device.clear();
    bench.run_for(milliseconds(80));
    REQUIRE(bench.at_device.last_change(State::safe_state));
    CHECK(bench.at_device.last_change(State::safe_state)->transition.cause == Cause::time_expectation);
    CHECK(bench.at_device.count(Verdict::Kind::repeat) >= 5);
    CHECK(bench.at_device.count(Verdict::Kind::fresh) <= 1);
}

TEST_CASE("R-22 a repeat is answered again and not used") {
    Bench bench(patient_controller());
    bench.bring_up();
    bench.run_for(milliseconds(50));
    bench.channel = [](Telegram& t) {
        if (!t.to_device()) t.drop();
    };
    bench.run_for(milliseconds(15));
    const auto revision = bench.device.input_revision();
    const auto sent = bench.device.counters().sent;
    bench.run_for(milliseconds(20));
    CHECK(bench.device.input_revision() == revision);
    CHECK(bench.device.counters().sent == sent + 2);
    CHECK(bench.last_sent(End::device, Transmission::Kind::again) != nullptr);
}

TEST_CASE("R-23 R-28 a number of two bits is enough, and 0 is an ordinary one") {
    for (const unsigned bits : {2U, 3U}) {
        Bench bench(tests::polled_pair(tests::plain_profile(bits)));
        bench.bring_up();
        bench.run_for(proto::seconds(2));
        CHECK(bench.both_running());
        for (const End end : {End::controller, End::device}) {
            CHECK_FALSE(bench.heard_by(end).last_rejection());
            CHECK(bench.heard_by(end).count(Verdict::Kind::repeat) == 0);
        }
        const auto zeros = std::count_if(bench.at_device.verdicts.begin(), bench.at_device.verdicts.end(),
                                         [](const auto& c) { return c.verdict.number == 0; });
        CHECK(zeros >= (200 >> bits) - 2);
    }
}

TEST_CASE("R-24 at the device the current number again is a repeat, an older one is a sequence error") {
    for (const unsigned back : {0U, 1U, 2U, 7U}) {
        CAPTURE(back);
        Bench bench(tests::polled_pair());
        bench.bring_up();
        bench.run_for(milliseconds(200));
        until_accepted(bench);
        bench.inject(End::device, fresh_of(bench, End::controller, back).bytes, {}, 77);
        bench.channel = [](Telegram& t) { t.drop(); };
        bench.run_for(milliseconds(10));
        const auto verdict = bench.at_device.about(77);
        REQUIRE(verdict);
        if (back == 0) {
            CHECK(verdict->kind == Verdict::Kind::repeat);
            continue;
        }
        CHECK(verdict->kind == Verdict::Kind::rejected);
        CHECK(verdict->failed.first() == Measure::sequence);
        CHECK(bench.device.state() == State::safe_state);
    }
}

TEST_CASE("R-24 before the first telegram of a connection no number is a repeat") {
    Bench bench(tests::polled_pair());
    // The number before the first one comes under the right CRC: taken from a link with the same settings.
    const proto::CrcEngine crc = proto::CrcEngine::make(*tests::plain_profile().crc).value();
    const proto::Codec codec(tests::plain_profile(), &crc, End::controller, 0x101, 0x202, 8);
    bench.channel = [&](Telegram& t) {
        if (!t.to_device() || t.parameter() || t.what.kind != Transmission::Kind::fresh) return;
        std::array<std::uint8_t, proto::telegram_bytes_max> out{};
        codec.encode({.number = t.what.number - 1}, tests::Bytes(8, 1), out);
        t.arrivals[0].bytes.assign(out.begin(), out.begin() + codec.layout().total_bytes);
        bench.channel = [](Telegram& other) { other.drop(); };
    };
    bench.start_both();
    bench.run_for(milliseconds(60));
    const auto verdict = bench.at_device.last_rejection();
    REQUIRE(verdict);
    CHECK(verdict->failed.first() == Measure::sequence);
    CHECK(bench.at_device.count(Verdict::Kind::repeat) == 0);
}

TEST_CASE("R-25 at the controller the previous answer is quiet, an older one is an error") {
    for (const unsigned back : {0U, 1U, 2U, 7U}) {
        CAPTURE(back);
        Bench bench(tests::polled_pair());
        bench.bring_up();
        bench.run_for(milliseconds(205));
        // Just after a scan of the device: its last answer is on its way, to the number now out.
        bench.inject(End::controller, fresh_of(bench, End::device, back).bytes, milliseconds(2), 77);
        bench.run_for(milliseconds(10));
        const auto verdict = bench.at_controller.about(77);
        REQUIRE(verdict);
        if (back <= 1) {
            CHECK(verdict->kind == Verdict::Kind::repeat);
            CHECK(bench.both_running());
            continue;
        }
        CHECK(verdict->kind == Verdict::Kind::rejected);
        CHECK(verdict->failed.has(Measure::sequence));
        CHECK(verdict->failed.first() == Measure::feedback);
        CHECK(bench.controller.state() == State::safe_state);
    }
}

TEST_CASE("R-27 the device's watchdog is armed at the handshake: a first value that comes late is not used") {
    Bench bench(patient_controller());
    bool first = true;
    bench.channel = [&](Telegram& t) {
        if (!t.to_device() || t.parameter()) return;
        if (first)
            t.delay(milliseconds(200));
        else
            t.drop();
        first = false;
    };
    bench.start_both();
    REQUIRE(bench.run_until([&] { return bench.device.connections() == 1; }));
    const proto::Instant handshake = bench.now();
    bench.run_for(milliseconds(300));
    CHECK_FALSE(bench.at_device.last_change(State::running));
    const auto back = bench.at_device.last_change(State::start_up);
    REQUIRE(back);
    CHECK(back->transition.cause == Cause::start_failed);
    CHECK(back->at == handshake + milliseconds(60));
}

TEST_CASE("R-27 the controller's watchdog is armed at the handshake") {
    auto pair = tests::polled_pair();
    pair.device.watchdog = pair.controller.peer_watchdog = proto::seconds(1);
    Bench bench(pair);
    bool first = true;
    bench.channel = [&](Telegram& t) {
        if (t.to_device() || t.parameter()) return;
        if (first)
            t.delay(milliseconds(200));
        else
            t.drop();
        first = false;
    };
    bench.start_both();
    bench.run_for(milliseconds(150));
    CHECK_FALSE(bench.at_controller.last_change(State::running));
    CHECK(bench.at_controller.last_change(State::start_up)->transition.cause == Cause::start_failed);
}

TEST_CASE("R-41 with the number implied a link runs, and only what is allowed now is looked for") {
    Bench bench(tests::polled_pair(tests::reflected_crc32()));
    bench.bring_up();
    bench.run_for(milliseconds(200));
    CHECK_FALSE(bench.at_device.last_rejection());
    CHECK(bench.at_device.count(Verdict::Kind::fresh) > 15);
    until_accepted(bench);
    const auto old = fresh_of(bench, End::controller, 1).bytes;
    bench.channel = [](Telegram& t) { t.drop(); };
    bench.inject(End::device, fresh_of(bench, End::controller, 0).bytes, {}, 70);
    bench.run_for(milliseconds(10));
    CHECK(bench.at_device.about(70)->kind == Verdict::Kind::repeat);
    bench.inject(End::device, old, {}, 71);
    bench.run_for(milliseconds(10));
    const auto verdict = bench.at_device.about(71);
    REQUIRE(verdict);
    CHECK(verdict->kind == Verdict::Kind::rejected);
    CHECK(verdict->failed.first() == Measure::integrity);
    CHECK_FALSE(verdict->failed.has(Measure::sequence));  // it cannot know
}

TEST_CASE("R-46 each end rejects its own telegram by its direction and stops") {
    for (const End end : {End::controller, End::device}) {
        Bench bench(tests::polled_pair());
        bench.bring_up();
        bench.run_for(milliseconds(50));
        bench.inject(end, fresh_of(bench, end, 0).bytes, {}, 77);
        bench.run_for(milliseconds(10));
        const auto verdict = bench.heard_by(end).about(77);
        REQUIRE(verdict);
        CHECK(verdict->failed.first() == Measure::authentication);
        CHECK_FALSE(bench.both_running());
    }
}

TEST_CASE("a value late by just less than the watchdog, then silence: the age in use stays within 2 WD + T") {
    Duration oldest{};
    for (int late_ms = 1; late_ms <= 60; ++late_ms) {
        for (int phase_ms = 0; phase_ms < 10; ++phase_ms) {
            Bench bench(patient_controller());
            bench.start(End::controller);
            bench.start(End::device, milliseconds(phase_ms));
            REQUIRE(bench.run_until([&] { return bench.both_running(); }));
            bench.run_for(milliseconds(50));
            bool first = true;
            bench.channel = [&](Telegram& t) {
                if (!t.to_device()) return;
                if (first && t.what.kind == Transmission::Kind::fresh) {
                    t.delay(milliseconds(late_ms));
                    first = false;
                } else if (!first) {
                    t.drop();
                }
            };
            bench.before_scan = [&](End end) {
                if (end == End::device) oldest = std::max(oldest, bench.age_of_value_at(end).value_or(Duration{}));
            };
            bench.run_for(milliseconds(200));
        }
    }
    // WD 50 ms, T 10 ms; (2 * floor(WD / T) + 1) * T is reached where the phases fit.
    CHECK(oldest <= milliseconds(110));
    CHECK(oldest > milliseconds(90));
}

TEST_CASE("byte order: pairs of payload bytes are exchanged on the wire and put right at the other end") {
    auto pair = tests::polled_pair();
    pair.both([](proto::LinkSettings& s) {
        s.byte_order = proto::ByteOrder::low_first;
        s.payload_sent = s.payload_received = 5;
    });
    Bench bench(pair);
    bench.application = [&](End end) {
        const auto out = bench.at(end).output();
        for (unsigned i = 0; i < 5; ++i) out[i] = static_cast<std::uint8_t>(i + 1);
    };
    bench.bring_up();
    bench.run_for(milliseconds(50));
    const std::vector<std::uint8_t> expected{1, 2, 3, 4, 5}, wire{2, 1, 4, 3, 5};
    CHECK(std::equal(expected.begin(), expected.end(), bench.device.input().begin()));
    const auto& bytes = bench.last_sent(End::controller, Transmission::Kind::fresh)->bytes;
    CHECK(std::equal(wire.begin(), wire.end(), bytes.end() - 9));
}
