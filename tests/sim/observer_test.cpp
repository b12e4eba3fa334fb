// What is dangerous, precisely: each kind with a case that shows it and one, hardly different, that does not.
#include "sim/judge/observer.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "sim/drive/limits.hpp"
#include "sim/drive/rehearsal.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Instant;
using proto::milliseconds;
using sim::Direction;
using sim::End;
using sim::FaultWay;
using sim::Observer;
using sim::RunResult;
using sim::RunVerdict;
using sim::Scenario;
using sim::Tag;
using tests::fault_of;
using tests::lasting;
using tests::on;
using tests::Ways;

Instant at(std::int64_t ms) { return Instant{} + milliseconds(ms); }

bool says(const RunResult& result, const std::string& words) {
    return std::any_of(result.dangerous.begin(), result.dangerous.end(),
                       [&](const sim::DangerousEvent& event) { return event.why.find(words) != std::string::npos; });
}

/// An observer told by hand: the device runs and accepts whatever it is given.
struct ByHand {
    Scenario scenario = tests::polled_link();
    Observer observer{scenario, sim::limits_of(scenario).limits};

    ByHand() {
        for (const std::int64_t ms : {10, 20}) observer.hear(sim::Produced{Direction::to_device, 2, at(ms)});
        for (const End end : {End::controller, End::device})
            observer.hear(sim::Changed{
                end, {proto::State::start_up, proto::State::running, proto::Cause::first_value, {}}, at(5)});
    }
    void accept(const Tag& tag, std::int64_t ms) {
        proto::Verdict fresh;
        fresh.kind = proto::Verdict::Kind::fresh;
        observer.hear(sim::Concluded{End::device, tag.token(), fresh, at(ms)});
        observer.hear(sim::InUse{End::device, 2, at(ms)});
    }
    RunResult finish(std::int64_t ms) {
        RunResult result;
        observer.finish(result, at(ms));
        return result;
    }
};

TEST_CASE("R-82: accepting another telegram than the one due is dangerous, also if its value is equal") {
    const Tag good = Tag::genuine(2, 0, Direction::to_device, false);
    {
        ByHand right;
        right.accept(Tag::genuine(1, 0, Direction::to_device, false), 12);
        right.accept(good, 22);
        CHECK(right.finish(30).dangerous.empty());
    }
    Tag altered = good, forged = good, stray = good, parameter = good, neighbour = good, back = good;
    altered.altered = true;
    forged.forged = true;
    stray.stray = true;
    parameter.parameter = true;
    neighbour.link = 1;
    back.direction = Direction::to_controller;
    for (const Tag& wrong : {altered, forged, stray, parameter, neighbour, back}) {
        ByHand hand;
        hand.accept(Tag::genuine(1, 0, Direction::to_device, false), 12);
        hand.accept(wrong, 22);  // the same two bits of value
        CHECK(hand.finish(30).dangerous.size() == 1);
    }
    ByHand older;
    older.accept(good, 22);
    older.accept(Tag::genuine(1, 0, Direction::to_device, false), 23);
    CHECK(says(older.finish(30), "an old telegram"));
    ByHand other_connection;
    other_connection.observer.hear(sim::Connected{Direction::to_device, at(21)});
    other_connection.accept(good, 22);
    CHECK(other_connection.finish(30).dangerous.size() == 1);
}

/// A cable pulled for 0.4 s with a watchdog typed ten times too long, and one as it should be.
RunResult pulled(std::int64_t watchdog_ms, std::optional<proto::Duration> required) {
    Scenario s = tests::polled_link();
    tests::set_watchdogs(s, milliseconds(watchdog_ms), milliseconds(watchdog_ms));
    s.required.to_device = s.required.to_controller = required;
    s.faults = {lasting(on(fault_of(FaultWay::drop), Ways::both), milliseconds(400))};
    return sim::rehearse(s, 1);
}

TEST_CASE("R-83, R-86: a value held for longer than required is dangerous, whatever bound the watchdog gives itself") {
    const RunResult mistyped = pulled(450, milliseconds(120));
    CHECK(mistyped.verdict == RunVerdict::dangerous);
    CHECK(says(mistyped, "ms old; 120.000 ms are required"));
    REQUIRE(mistyped.bound);
    REQUIRE(mistyped.worst_seen);
    CHECK(*mistyped.worst_seen <= *mistyped.bound);  // the settings keep their own promise
    CHECK(mistyped.required == milliseconds(120));

    CHECK(pulled(45, milliseconds(120)).verdict == RunVerdict::pass);

    // nothing stated: the bound of the mistyped watchdog excuses itself, and the report says so
    const RunResult unstated = pulled(450, {});
    CHECK(unstated.verdict == RunVerdict::pass);
    CHECK(std::any_of(unstated.remarks.begin(), unstated.remarks.end(), [](const std::string& remark) {
        return remark.find("states no required") != std::string::npos;
    }));
}

TEST_CASE("R-84: a demand that vanishes between two telegrams is dangerous, one that is held long enough arrives") {
    // Held for 55 ms, watchdog and scan of the device; the receiver runs on without 12 telegrams, 120 ms.
    Scenario s = tests::streaming_link();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.missing_allowed = 12; });
    tests::set_watchdogs(s, milliseconds(160), milliseconds(45));
    s.required.to_device = s.required.to_controller = milliseconds(450);
    s.faults = {tests::times(on(fault_of(FaultWay::drop), Ways::back), 10)};
    s.demands = {tests::demand_of("table_curtain", milliseconds(1015))};
    s.safeguards[0].minimum_hold = milliseconds(55);
    const RunResult vanished = sim::rehearse(s, 1);
    CHECK(vanished.verdict == RunVerdict::dangerous);
    CHECK(says(vanished, "the demand of table_curtain"));

    s.safeguards[0].minimum_hold = {};  // 13 cycles and a scan
    CHECK(sim::rehearse(s, 1).verdict == RunVerdict::pass);
    s.faults.clear();
    CHECK(sim::rehearse(s, 1).verdict == RunVerdict::pass);
}

TEST_CASE("R-81: a demand of one millisecond is held until it must have arrived") {
    for (Scenario s : {tests::polled_link(), tests::streaming_link()}) {
        for (const char* const safeguard : {"table_curtain", "rope_pull"}) {
            for (std::int64_t t = 0; t < 10; ++t) {
                s.demands = {tests::demand_of(safeguard, milliseconds(1000 + t))};
                const RunResult result = sim::rehearse(s, 1);
                CHECK(result.verdict == RunVerdict::pass);
            }
        }
    }
}

TEST_CASE("R-84: a demand after which the link is cut arrives by the watchdog, in time or not as required") {
    Scenario s = tests::polled_link();
    s.demands = {tests::demand_of("rope_pull", milliseconds(1000))};
    s.demands.front().lasting = milliseconds(500);
    s.faults = {lasting(on(fault_of(FaultWay::drop, milliseconds(999)), Ways::both), milliseconds(300))};
    const RunResult in_time = sim::rehearse(s, 1);
    CHECK(in_time.verdict == RunVerdict::pass);
    s.required.to_device = milliseconds(30);
    s.required.to_controller = milliseconds(200);
    const RunResult late = sim::rehearse(s, 1);
    CHECK(late.verdict == RunVerdict::dangerous);
    CHECK(says(late, "had not reached the output after 30.000 ms"));
}

/// Two signals on two bits; the device's may be exchanged.
Scenario two_signals(bool exchanged) {
    Scenario s = tests::polled_link();
    s.signals.push_back({"clamping_allowed", Direction::to_device, {"curtain_free"}, {}});
    s.signals[1].all_of = {"rope_pull"};
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->bits.push_back({"clamping_allowed", {0, 2}, {}});
    if (exchanged) std::swap(s.device.bits[1].place, s.device.bits[2].place);
    tests::use_typed_bits(s);
    return s;
}

TEST_CASE("R-85: exchanged bits run green until a demand comes, and then mean something else") {
    Scenario s = two_signals(true);
    const RunResult green = sim::rehearse(s, 1);
    CHECK(green.link_started);  // the parameters agree: the same bits are in use
    CHECK(green.verdict == RunVerdict::pass);
    s.demands = {tests::demand_of("rope_pull", proto::seconds(1))};
    const RunResult demanded = sim::rehearse(s, 1);
    CHECK(demanded.verdict == RunVerdict::dangerous);
    CHECK(says(demanded, "does not mean what it means at its source"));

    Scenario right = two_signals(false);
    right.demands = s.demands;
    CHECK(sim::rehearse(right, 1).verdict == RunVerdict::pass);
}

TEST_CASE("R-83: an old stop is not dangerous, an old permission is") {
    Scenario s = tests::streaming_link();
    s.faults = {lasting(tests::fault_of(FaultWay::creeping), milliseconds(900))};
    s.faults.front().extra = milliseconds(400);
    const RunResult permission = sim::rehearse(s, 1);
    CHECK(permission.verdict == RunVerdict::dangerous);
    CHECK(says(permission, "used a value that was"));
    s.demands = {tests::demand_of("rope_pull", milliseconds(500))};
    s.demands.front().lasting = proto::seconds(2);
    const RunResult stop = sim::rehearse(s, 1);
    CHECK(stop.dangerous.empty());
    CHECK(stop.injections.front().outcome == sim::Outcome::no_effect);
    CHECK(stop.injections.front().latent);
}

TEST_CASE("an expected dangerous outcome stays dangerous and is as expected") {
    Scenario s = tests::streaming_link();
    s.faults = {lasting(tests::fault_of(FaultWay::creeping), milliseconds(900))};
    s.faults.front().extra = milliseconds(400);
    CHECK_FALSE(sim::rehearse(s, 1).as_expected);
    s.faults.front().expect_outcome = "dangerous";
    s.expect_verdict = "dangerous";
    const RunResult result = sim::rehearse(s, 1);
    CHECK(result.verdict == RunVerdict::dangerous);
    CHECK(result.as_expected);
}

}  // namespace
