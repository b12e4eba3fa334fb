// Faults that act only while the ends or the machine are in some state, and that an event ends.
#include <doctest/doctest.h>

#include <algorithm>
#include <vector>

#include "sim/channel/trigger.hpp"
#include "sim/drive/rehearsal.hpp"
#include "tests/sim/fault_fixture.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using fault_test::at_ms;
using fault_test::Bench;
using proto::Duration;
using proto::End;
using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using proto::State;
using sim::Fault;
using sim::FaultCondition;
using sim::FaultWay;
using sim::Outcome;
using Event = FaultCondition::Event;
using Motion = FaultCondition::Motion;
using Numbers = std::vector<std::uint64_t>;

/// Surroundings whose states are set by hand.
struct Set final : sim::Surroundings {
    State controller = State::running, device = State::running;
    bool moves = false;
    std::int64_t position = 0;
    std::uint64_t events = 0;
    [[nodiscard]] State state(End end) const override { return end == End::controller ? controller : device; }
    [[nodiscard]] bool machine_moves(Instant) const override { return moves; }
    [[nodiscard]] std::int64_t machine_position(Instant) const override { return position; }
    [[nodiscard]] std::uint64_t happened(Event, Instant) const override { return events; }
};

struct Tried {
    Set set;
    Bench bench;
    std::uint32_t next = 0;
    explicit Tried(const Fault& fault) {
        bench.context.surroundings = &set;
        bench.add(fault);
    }
    /// Offers so many telegrams to the device, one each 10 ms.
    void offer(unsigned many) {
        for (unsigned i = 0; i < many; ++i, ++next) bench.offer(next, 10 * std::int64_t{next});
    }
    /// Numbers of those that were dropped.
    Numbers dropped() {
        const Numbers arrived = fault_test::instances(bench.drain());
        Numbers gone;
        for (std::uint64_t n = 0; n < next; ++n)
            if (std::find(arrived.begin(), arrived.end(), n) == arrived.end()) gone.push_back(n);
        return gone;
    }
};

Fault drop_at(std::int64_t ms, const FaultCondition& when) {
    Fault fault = fault_test::at(FaultWay::drop, milliseconds(ms));
    fault.when = when;
    return fault;
}

TEST_CASE("a state of one end decides, not the other's") {
    FaultCondition when;
    when.state = State::safe_state;
    when.state_of = End::device;
    Fault fault = drop_at(0, when);
    fault.times = 2;
    Tried tried(fault);
    tried.set.controller = State::safe_state;
    tried.offer(3);
    tried.set.device = State::safe_state;
    tried.offer(1);
    tried.set.device = State::running;
    tried.offer(2);
    tried.set.device = State::safe_state;
    tried.offer(5);
    CHECK(tried.dropped() == Numbers{3, 6});  // two of those for which it was so
}

TEST_CASE("a moving or a still machine decides, and only what it decides for counts for every") {
    FaultCondition when;
    when.machine = Motion::moving;
    Fault fault = drop_at(20, when);
    fault.times = 5;
    fault.every = 2;
    Tried moving(fault);
    moving.offer(5);
    moving.set.moves = true;
    moving.offer(3);
    moving.set.moves = false;
    moving.offer(2);
    moving.set.moves = true;
    moving.offer(5);
    CHECK(moving.dropped() == Numbers{5, 7, 11});  // 5 6 7 and 10 11 are the five
    fault.when.machine = Motion::still;
    fault.times.reset();
    fault.every = 1;
    Tried still(fault);
    still.set.moves = true;
    still.offer(4);
    still.set.moves = false;
    still.offer(3);
    CHECK(still.dropped() == Numbers{4});
}

TEST_CASE("a place of the machine decides, both ends of the span included") {
    FaultCondition when;
    when.position = FaultCondition::Span{100, 200};
    Fault fault = drop_at(0, when);
    fault.lasting = seconds(1);
    Tried tried(fault);
    for (const std::int64_t place : {99, 100, 150, 200, 201, 150}) {
        tried.set.position = place;
        tried.offer(1);
    }
    CHECK(tried.dropped() == Numbers{1, 2, 3, 5});
    // the first telegram touched, not the begin of the time, is when it began to act
    REQUIRE(tried.bench.log.calls.size() == 4);
    for (const auto& call : tried.bench.log.calls) CHECK(call.since == at_ms(10));
}

TEST_CASE("all conditions must hold at once") {
    FaultCondition when;
    when.position = FaultCondition::Span{0, 10};
    when.machine = Motion::moving;
    when.state = State::running;
    Fault fault = drop_at(0, when);
    fault.times = 9;
    Tried tried(fault);
    for (unsigned bits = 0; bits < 8; ++bits) {
        tried.set.moves = (bits & 1) != 0;
        tried.set.position = (bits & 2) != 0 ? 5 : 11;
        tried.set.controller = (bits & 4) != 0 ? State::running : State::start_up;
        tried.offer(1);
    }
    CHECK(tried.dropped() == Numbers{7});
}

TEST_CASE("an event ends a fault for good, and what happened before it began does not count") {
    FaultCondition when;
    when.until = Event::acknowledged;
    Tried tried(drop_at(20, when));
    tried.offer(1);
    tried.set.events = 3;
    tried.offer(4);
    tried.set.events = 4;
    tried.offer(3);
    CHECK(tried.dropped() == Numbers{2, 3, 4});  // all, from its begin to the event
    CHECK(tried.bench.log.calls.front().since == at_ms(20));
}

TEST_CASE("a duration or a number may end a fault before its event, and the event before them") {
    FaultCondition when;
    when.until = Event::safe_state;
    Fault timed = drop_at(0, when);
    timed.lasting = milliseconds(20);
    Tried by_time(timed);
    by_time.offer(5);
    CHECK(by_time.dropped() == Numbers{0, 1});
    Fault counted = drop_at(0, when);
    counted.times = 3;
    Tried by_count(counted);
    by_count.offer(5);
    CHECK(by_count.dropped() == Numbers{0, 1, 2});
    for (const Fault& fault : {timed, counted}) {
        Tried by_event(fault);
        by_event.offer(1);
        by_event.set.events = 1;
        by_event.offer(5);
        CHECK(by_event.dropped() == Numbers{0});
    }
}

TEST_CASE("a fault with a condition promises silence until its begin, and after its end, and not between") {
    FaultCondition when;
    when.machine = Motion::moving;
    when.until = Event::safe_state;
    Set set;
    for (const bool counted : {false, true}) {
        Fault fault = drop_at(100, when);
        if (counted) fault.times = 7;
        sim::Trigger trigger(fault, sim::Trigger::Links::own, &set);
        CHECK(trigger.quiet().covers(1'000'000, at_ms(99)));
        CHECK_FALSE(trigger.quiet().covers(0, at_ms(100)));
        sim::Passage passage;
        passage.sent = at_ms(100);
        set.events = 5;
        CHECK_FALSE(trigger.acts_on(passage));
        CHECK_FALSE(trigger.quiet().covers(0, at_ms(101)));
        set.events = 6;
        CHECK_FALSE(trigger.acts_on(passage));
        CHECK(trigger.quiet().covers(1'000'000, at_ms(1'000'000)));
    }
}

// ---- whole rehearsals ----

/// The tilting table, which moves from about 0.1 s on, stops by the demand at 1 s and is started again at 2 s.
sim::Scenario table() {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(4);
    s.machine->travel_um = 1'000'000;
    s.demands = {tests::demand_of("rope_pull", seconds(1))};
    sim::OperatorAct start;
    start.event = sim::OperatorAct::Event::time;
    start.act = sim::OperatorAct::Act::start_machine;
    start.after = seconds(2);
    s.operator_acts.push_back(start);
    return s;
}

Fault with(Fault fault, const FaultCondition& when) {
    fault.when = when;
    return fault;
}

TEST_CASE("the true machine decides: a fault waits while it stands, and acts when it moves again") {
    sim::Scenario s = table();
    FaultCondition moving, still;
    moving.machine = Motion::moving;
    still.machine = Motion::still;
    // at 1.8 s it stands after the demand; at 0.5 s it moves
    s.faults = {with(tests::fault_of(FaultWay::all_zero, milliseconds(1800)), moving)};
    const auto waited = sim::rehearse(s, 1);
    CHECK(waited.injections[0].at >= seconds(2));
    CHECK(waited.injections[0].at <= milliseconds(2010));
    CHECK(waited.injections[0].outcome == Outcome::safe_state);
    s.faults = {with(tests::fault_of(FaultWay::all_zero, milliseconds(500)), still)};
    const auto stood = sim::rehearse(s, 1);
    CHECK(stood.injections[0].at > seconds(1));
    CHECK(stood.injections[0].at < seconds(2));
    CHECK(sim::rehearse(s, 1).digest == stood.digest);
}

TEST_CASE("the true state of an end decides") {
    sim::Scenario s = table();
    FaultCondition awaiting;
    awaiting.state = State::awaiting_acknowledgement;
    awaiting.state_of = End::controller;
    Fault first = tests::fault_of(FaultWay::all_zero, milliseconds(500));
    s.faults = {first, with(tests::fault_of(FaultWay::drop, Duration{}), awaiting)};
    const auto seen = sim::rehearse(s, 1);
    CHECK(seen.injections[1].at > milliseconds(500));
    CHECK(seen.injections[1].at < milliseconds(700));  // acknowledged 0.1 s after the request
}

TEST_CASE("each event ends a fault in a whole run") {
    // each telegram is repeated while it lasts: an error that changes nothing but is counted
    const auto touched = [](Event until) {
        sim::Scenario s = table();
        FaultCondition when;
        when.until = until;
        s.faults = {with(tests::fault_of(FaultWay::current_again, milliseconds(500)), when),
                    tests::fault_of(FaultWay::all_zero, seconds(3))};
        return sim::rehearse(s, 1).injections[0].telegrams;
    };
    const std::uint64_t still = touched(Event::machine_still), safe = touched(Event::safe_state),
                        acknowledged = touched(Event::acknowledged);
    CHECK(still > 50);  // from 0.5 s to the standstill after the demand at 1 s, one each 10 ms
    CHECK(still < 150);
    CHECK(safe >= 250);  // to the fault at 3 s
    CHECK(safe <= 255);
    CHECK(acknowledged > safe + 8);  // 0.1 s later, in which the link goes on exchanging
    CHECK(acknowledged < safe + 30);
}

TEST_CASE("a fault whose condition never comes changes nothing, and is told as not fired") {
    sim::Scenario s = table();
    const auto plain = sim::rehearse(s, 1);
    FaultCondition beyond, running_not;
    beyond.position = FaultCondition::Span{999'999'998, 999'999'999};
    running_not.state = State::safe_state;
    running_not.until = Event::machine_still;
    for (const FaultCondition& when : {beyond, running_not})
        for (const bool lasting : {false, true}) {
            Fault fault = with(tests::fault_of(FaultWay::drop, Duration{}), when);
            if (lasting) fault.lasting = seconds(9);
            s.faults = {fault};
            const auto seen = sim::rehearse(s, 1);
            CHECK(seen.digest == plain.digest);
            CHECK(seen.injections[0].outcome == Outcome::not_fired);
            CHECK(seen.injections[0].why == "it never came to act: its telegram, time or condition was not reached");
            CHECK_FALSE(seen.as_expected);
        }
}

TEST_CASE("an end fails once the machine moves, and then for as long as it says") {
    for (const FaultWay way : {FaultWay::stall, FaultWay::frozen_data, FaultWay::restart}) {
        CAPTURE(sim::name_of(way));
        sim::Scenario s = table();
        FaultCondition moving;
        moving.machine = Motion::moving;
        Fault fault = with(tests::lasting(tests::fault_of(way, milliseconds(1800)), milliseconds(30)), moving);
        fault.at_end = End::device;
        fault.to_device = false;
        fault.to_controller = true;
        s.faults = {fault};
        CHECK(sim::rehearse(s, 1).injections[0].at == seconds(2));  // with the start, not at 1.8 s
        s.faults[0].at = milliseconds(500);
        CHECK(sim::rehearse(s, 1).injections[0].at == milliseconds(500));  // it moves already
        s.operator_acts.pop_back();
        s.faults[0].at = milliseconds(1800);
        CHECK(sim::rehearse(s, 1).injections[0].outcome == Outcome::not_fired);  // nobody starts it
    }
}

TEST_CASE("a waiting end mends after its time") {
    sim::Scenario s = table();
    FaultCondition moving;
    moving.machine = Motion::moving;
    Fault fault =
        with(tests::lasting(tests::fault_of(FaultWay::frozen_data, milliseconds(1800)), milliseconds(200)), moving);
    fault.at_end = End::device;
    s.faults = {fault};
    s.demands.push_back(tests::demand_of("rope_pull", milliseconds(2050)));
    s.demands.back().lasting = milliseconds(500);
    const auto seen = sim::rehearse(s, 1);
    REQUIRE(seen.demands.size() == 2);
    REQUIRE(seen.demands[1].response.has_value());
    CHECK(*seen.demands[1].response >= milliseconds(150));  // it was frozen until 2.2 s
    CHECK(*seen.demands[1].response <= milliseconds(175));
}

}  // namespace
