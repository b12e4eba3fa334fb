// The neighbour link really runs, and leaves the link under rehearsal alone until a fault brings them together.
#include <doctest/doctest.h>

#include "sim/drive/rehearsal.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::milliseconds;
using sim::FaultWay;
using sim::Scenario;
using tests::fault_of;

TEST_CASE("a neighbour that nothing brings near changes nothing") {
    for (Scenario s : {tests::polled_link(), tests::streaming_link()}) {
        s.to_device.delay = {sim::DelayShape::Kind::uniform, milliseconds(1), milliseconds(3), {}};
        const auto alone = sim::rehearse(s, 5);
        s.faults = {fault_of(FaultWay::neighbour, proto::seconds(3))};  // after the end
        const auto beside = sim::rehearse(s, 5);
        CHECK(beside.digest == alone.digest);
        CHECK(beside.injections.front().outcome == sim::Outcome::not_fired);
        CHECK(beside.verdict == sim::RunVerdict::fail);
    }
}

TEST_CASE("without a neighbour there is nothing to insert, and a swapped telegram is only lost") {
    Scenario s = tests::polled_link();
    s.neighbour.reset();
    s.faults = {fault_of(FaultWay::neighbour)};
    CHECK(sim::rehearse(s, 1).injections.front().outcome == sim::Outcome::not_fired);
    s.faults = {fault_of(FaultWay::swap)};
    const auto swapped = sim::rehearse(s, 1).injections.front();
    CHECK(swapped.outcome == sim::Outcome::no_effect);
    CHECK_FALSE(swapped.detected_by);
}

TEST_CASE("what goes to the neighbour alone is missing here, and the neighbour's telegrams stay its own") {
    Scenario s = tests::polled_link();
    s.faults = {fault_of(FaultWay::misdeliver, milliseconds(500)),
                tests::lasting(fault_of(FaultWay::misdeliver, milliseconds(1000)), milliseconds(200))};
    const auto result = sim::rehearse(s, 1);
    CHECK(result.injections[0].telegrams == 1);
    CHECK(result.injections[0].outcome == sim::Outcome::no_effect);  // asked again
    CHECK(result.injections[1].outcome == sim::Outcome::safe_state);
    CHECK(result.injections[1].detected_by == proto::Measure::time_expectation);
    CHECK(result.device.counters.rejected[static_cast<unsigned>(proto::Measure::authentication)] == 0);
    CHECK(result.twin.recovered);
}

TEST_CASE("a swap touches a telegram of each link, and both links come back") {
    Scenario s = tests::polled_link();
    s.faults = {fault_of(FaultWay::swap, milliseconds(500)), fault_of(FaultWay::swap, milliseconds(1300)),
                fault_of(FaultWay::neighbour, milliseconds(1800))};
    const auto result = sim::rehearse(s, 1);
    CHECK(result.injections[0].telegrams == 2);
    CHECK(result.injections[1].telegrams == 2);  // the neighbour was acknowledged by its own operator
    // and it is there to be inserted again
    CHECK(result.injections[2].detected_by == proto::Measure::authentication);
    CHECK(result.acknowledgements >= 2);
}

}  // namespace
