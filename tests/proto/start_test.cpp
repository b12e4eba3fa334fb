// How a connection begins, ends and begins again.
#include <doctest/doctest.h>

#include <array>
#include <set>

#include "proto/parameters.hpp"
#include "tests/support/bench.hpp"

namespace {

using proto::Cause;
using proto::End;
using proto::Measure;
using proto::milliseconds;
using proto::ParameterTelegram;
using proto::State;
using proto::Transmission;
using proto::Verdict;
using tests::Bench;
using tests::Telegram;

std::optional<ParameterTelegram> parameters_in(const Telegram& t) {
    return t.parameter() ? proto::decode_parameters(t.bytes) : std::nullopt;
}

/// The bytes of every parameter telegram of that step in the log.
std::vector<tests::Bytes> sent_steps(const Bench& bench, ParameterTelegram::Step step) {
    std::vector<tests::Bytes> found;
    for (const Telegram& t : bench.log)
        if (const auto p = parameters_in(t); p && p->step == step) found.push_back(t.bytes);
    return found;
}

std::uint64_t rejected_in_all(const proto::Endpoint& end) {
    std::uint64_t sum = 0;
    for (const auto count : end.counters().rejected) sum += count;
    return sum;
}

const std::vector<tests::Pair>& both_exchanges() {
    static const std::vector<tests::Pair> pairs{tests::polled_pair(), tests::streaming_pair()};
    return pairs;
}

}  // namespace

TEST_CASE("R-40 R-51 the handshake: two random numbers, each fed back, and the start numbers carried") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        std::vector<ParameterTelegram> said;
        for (const Telegram& t : bench.log)
            if (const auto p = parameters_in(t)) said.push_back(*p);
        REQUIRE(said.size() >= 4);
        const ParameterTelegram &offer = said[0], &ready = said.back();
        CHECK(offer.step == ParameterTelegram::Step::offer);
        CHECK(offer.device_number == 0);
        CHECK(ready.step == ParameterTelegram::Step::ready);
        CHECK(ready.controller_number == offer.controller_number);
        CHECK(ready.device_number != 0);
        for (const ParameterTelegram& t : said) {
            if (t.step == ParameterTelegram::Step::answer) CHECK(t.device_number == ready.device_number);
            if (t.step == ParameterTelegram::Step::confirm) CHECK(t.device_number == ready.device_number);
        }
        for (const Telegram& t : bench.log) {
            if (t.what.kind != Transmission::Kind::fresh || !t.to_device()) continue;
            CHECK(t.what.number == (offer.start_number & 0xFFFF));
            break;
        }
    }
}

TEST_CASE("R-50 in start-up all but parameter telegrams is ignored and not counted as rejected") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(100));
        const auto old = bench.last_sent(End::controller, Transmission::Kind::fresh)->bytes;
        bench.stop(End::device);
        bench.start(End::device, milliseconds(1));
        bench.at_device.clear();
        bench.inject(End::device, tests::Bytes(40, 0x33));
        bench.inject(End::device, old);
        bench.run_for(milliseconds(30));
        CHECK(bench.device.state() == State::start_up);
        CHECK(bench.device.counters().ignored >= 3);
        CHECK(bench.at_device.count(Verdict::Kind::ignored) == bench.at_device.verdicts.size());
        CHECK(rejected_in_all(bench.device) == 0);
    }
}

TEST_CASE("R-51 a replayed start-up of the controller moves no device") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(100));
        const std::vector<Telegram> recorded = bench.log;
        bench.stop(End::controller);
        bench.stop(End::device);
        bench.start(End::device, milliseconds(1));
        bench.at_device.clear();
        bench.log.clear();
        // Everything that the controller ever said comes again, at its own pace.
        for (const Telegram& t : recorded)
            if (t.to_device()) bench.inject(End::device, t.bytes, t.sent - proto::Instant{} + milliseconds(5));
        bench.run_for(milliseconds(500));
        CHECK(bench.device.connections() == 0);
        CHECK(bench.device.state() == State::start_up);
        CHECK_FALSE(bench.at_device.last_change(State::running));
        CHECK_FALSE(sent_steps(bench, ParameterTelegram::Step::answer).empty());
        CHECK(sent_steps(bench, ParameterTelegram::Step::ready).empty());
        REQUIRE(bench.at_device.last_rejection());
        CHECK(bench.at_device.last_rejection()->failed.first() == Measure::feedback);
    }
}

TEST_CASE("R-51 a replayed start-up of the device moves no controller") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(100));
        const std::vector<Telegram> recorded = bench.log;
        bench.stop(End::controller);
        bench.stop(End::device);
        bench.start(End::controller, milliseconds(1));
        bench.at_controller.clear();
        for (const Telegram& t : recorded)
            if (!t.to_device()) bench.inject(End::controller, t.bytes, t.sent - proto::Instant{} + milliseconds(5));
        bench.run_for(milliseconds(500));
        CHECK(bench.controller.connections() == 0);
        CHECK_FALSE(bench.at_controller.last_change(State::running));
        REQUIRE(bench.at_controller.last_rejection());
        CHECK(bench.at_controller.last_rejection()->failed.first() == Measure::feedback);
    }
}

TEST_CASE("R-51 a replayed offer stops a running device, and a replayed confirmation does not start it again") {
    Bench bench(tests::polled_pair());
    bench.bring_up();
    const auto offer = sent_steps(bench, ParameterTelegram::Step::offer).front();
    const auto confirm = sent_steps(bench, ParameterTelegram::Step::confirm).front();
    bench.stop(End::controller);
    bench.start(End::controller);
    REQUIRE(bench.recover());
    // Both from the connection before.
    bench.inject(End::device, offer);
    bench.inject(End::device, confirm, milliseconds(12), 77);
    bench.at_device.clear();
    bench.run_for(milliseconds(30));
    CHECK(bench.at_device.last_change(State::safe_state)->transition.cause == Cause::peer_restarted);
    CHECK_FALSE(bench.at_device.last_change(State::running));
    REQUIRE(bench.at_device.about(77));
    CHECK(bench.at_device.about(77)->failed.first() == Measure::feedback);
    CHECK(bench.recover());
}

TEST_CASE("R-51 late copies of the connection's own handshake disturb nothing") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        for (const auto step : {ParameterTelegram::Step::offer, ParameterTelegram::Step::confirm})
            bench.inject(End::device, sent_steps(bench, step).front());
        for (const auto step : {ParameterTelegram::Step::answer, ParameterTelegram::Step::ready})
            bench.inject(End::controller, sent_steps(bench, step).front());
        bench.run_for(milliseconds(100));
        CHECK(bench.both_running());
        CHECK(bench.device.connections() == 1);
        CHECK(bench.controller.connections() == 1);
    }
}

TEST_CASE("R-46 each end rejects its own parameter telegrams") {
    for (const End end : {End::controller, End::device}) {
        Bench bench(tests::polled_pair());
        bench.bring_up();
        for (const Telegram& t : bench.log)
            if (t.sender == end && t.parameter()) bench.inject(end, t.bytes, {}, 77);
        bench.run_for(milliseconds(10));
        REQUIRE(bench.heard_by(end).about(77));
        CHECK(bench.heard_by(end).about(77)->failed.first() == Measure::authentication);
    }
}

TEST_CASE("R-46 a neighbour's offer is rejected by a device that is at work") {
    auto other = tests::polled_pair();
    other.controller.own_address = other.device.peer_address = 0x999;
    Bench neighbour(other), bench(tests::polled_pair());
    neighbour.bring_up();
    bench.bring_up();
    bench.inject(End::device, sent_steps(neighbour, ParameterTelegram::Step::offer).front(), {}, 77);
    bench.run_for(milliseconds(10));
    REQUIRE(bench.at_device.about(77));
    CHECK(bench.at_device.about(77)->failed.first() == Measure::authentication);
}

TEST_CASE("R-53 a controller that restarts faster than the watchdog still stops the device") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(100));
        bench.stop(End::controller);
        bench.start(End::controller, milliseconds(1));
        bench.at_device.clear();
        const auto restarted = bench.now();
        REQUIRE(bench.run_until([&] { return bench.device.state() == State::safe_state; }));
        const auto stopped = bench.at_device.last_change(State::safe_state);
        CHECK(stopped->transition.cause == Cause::peer_restarted);
        CHECK(stopped->at < restarted + milliseconds(25));
        // Without an acknowledgement it stays so, and the controller does not run either.
        bench.run_for(proto::seconds(1));
        CHECK(bench.device.state() == State::awaiting_acknowledgement);
        CHECK(bench.controller.state() == State::awaiting_acknowledgement);
        CHECK(bench.recover());
    }
}

TEST_CASE("R-57 an end with one address for itself and the other end agrees with nobody") {
    using proto::Refusal;
    for (const auto& pair : both_exchanges()) {
        for (const End wrong : {End::controller, End::device}) {
            tests::Pair alike = pair;
            proto::LinkSettings& link = wrong == End::controller ? alike.controller : alike.device;
            link.own_address = link.peer_address;
            Bench bench(alike);
            bench.start_both();
            bench.run_for(proto::seconds(1));
            // both own the device's address, or both the controller's
            const Refusal named = wrong == End::controller ? Refusal::controller_address : Refusal::device_address;
            CHECK(bench.controller.state() == State::start_up);
            CHECK(bench.device.state() == State::start_up);
            CHECK(bench.controller.refusal() == named);
            CHECK(bench.device.refusal() == named);
        }
        // both ends alike in all: the parameters are the same, and still nobody agrees
        tests::Pair all = pair;
        all.controller.peer_address = all.device.own_address = all.device.peer_address = all.controller.own_address;
        Bench bench(all);
        bench.start_both();
        bench.run_for(proto::seconds(1));
        CHECK(bench.device.state() == State::start_up);
        CHECK(bench.device.refusal() == Refusal::device_address);
        CHECK(bench.controller.refusal() == Refusal::device_address);
        CHECK(bench.device.counters().accepted == 0);
    }
}

TEST_CASE("R-56 a device that restarts holds substitute values until the controller's stop is acknowledged") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        bench.run_for(milliseconds(100));
        bench.stop(End::device);
        bench.start(End::device, milliseconds(1));
        bench.at_device.clear();
        bench.run_for(proto::seconds(1));
        CHECK(bench.controller.state() == State::awaiting_acknowledgement);
        CHECK(bench.device.state() == State::awaiting_acknowledgement);
        CHECK_FALSE(bench.at_device.last_change(State::running));
        CHECK(bench.at_device.last_change(State::safe_state)->transition.cause == Cause::told_by_peer);
        CHECK(bench.recover());
    }
}

TEST_CASE("R-54 after each start the number begins elsewhere") {
    std::set<std::uint32_t> firsts;
    Bench bench(tests::polled_pair());
    for (int i = 0; i < 16; ++i) {
        bench.start_both();
        bench.log.clear();
        REQUIRE(bench.run_until([&] { return bench.both_running(); }));
        for (const Telegram& t : bench.log) {
            if (t.parameter()) continue;
            firsts.insert(t.what.number);
            break;
        }
    }
    CHECK(firsts.size() >= 14);
}

TEST_CASE("R-55 after its own stop the controller goes back to the parameter telegram") {
    for (const auto& pair : both_exchanges()) {
        Bench bench(pair);
        bench.bring_up();
        bench.inject(End::controller, tests::Bytes(9, 0x5A));
        REQUIRE(bench.run_until([&] { return bench.controller.state() == State::safe_state; }));
        bench.log.clear();
        bench.run_for(milliseconds(10));
        REQUIRE_FALSE(bench.log.empty());
        CHECK(bench.controller.connections() == 1);
        for (const Telegram& t : bench.log)
            if (t.to_device()) CHECK(t.parameter());
        CHECK(bench.recover());
        CHECK(bench.controller.connections() == 2);
    }
}

TEST_CASE("R-40 a lost \"ready\" is said again, and the link comes up at once") {
    for (auto pair : both_exchanges()) {
        for (const unsigned lost : {1U, 2U, 3U}) {
            for (const unsigned stamps : {0U, 16U}) {
                CAPTURE(lost);
                CAPTURE(stamps);
                pair.both([&](proto::LinkSettings& s) {
                    s.profile.time_stamp_bits = stamps;
                    s.max_age = stamps != 0 ? milliseconds(25) : proto::Duration{};
                });
                Bench bench(pair);
                unsigned left = lost;
                bench.channel = [&](Telegram& t) {
                    const auto p = parameters_in(t);
                    if (left == 0 || !p || p->step != ParameterTelegram::Step::ready) return;
                    --left;
                    t.drop();
                };
                bench.start_both();
                bench.run_for(milliseconds(120));
                CHECK(bench.both_running());
                CHECK(bench.controller.connections() == 1);
                CHECK(bench.device.connections() == 1);
                CHECK(rejected_in_all(bench.controller) + rejected_in_all(bench.device) == 0);
            }
        }
    }
}

TEST_CASE("any single telegram of a start may be lost in either direction: the link still comes up") {
    for (const auto& pair : both_exchanges()) {
        for (std::uint64_t lost = 1; lost <= 8; ++lost) {
            for (const End sender : {End::controller, End::device}) {
                Bench bench(pair);
                bench.channel = [&](Telegram& t) {
                    if (t.sender == sender && t.ordinal == lost) t.drop();
                };
                bench.start_both();
                bench.run_for(proto::seconds(1));
                // What is lost after the start of a stream without allowed gaps is an error that is acknowledged.
                CHECK((bench.both_running() || bench.recover()));
            }
        }
    }
}

TEST_CASE("a start that found no partner goes on offering") {
    Bench bench(tests::polled_pair());
    bench.start(End::controller);
    bench.run_for(proto::seconds(1));
    CHECK(bench.controller.state() == State::start_up);
    bench.start(End::device);
    CHECK(bench.run_until([&] { return bench.both_running(); }, milliseconds(100)));
}

TEST_CASE("a task that woke late runs one scan, not a burst") {
    Bench bench(tests::polled_pair());
    bench.bring_up();
    const proto::Instant late = bench.now() + milliseconds(95);
    bench.device.on_deadline(late);
    CHECK(bench.device.next_deadline() > late);
    CHECK(bench.device.next_deadline() <= late + milliseconds(10));
    CHECK(bench.device.state() == State::safe_state);
}
