// Rows of the detection table about telegrams that belong elsewhere: insertion and addressing.
#include <vector>

#include <doctest/doctest.h>

#include "sim/drive/rehearsal.hpp"
#include "tests/support/detection_table.hpp"

namespace {

using tests::detection::addresses_carried;
using tests::detection::addresses_implied;
using tests::detection::At;
using tests::detection::check;
using tests::detection::In;
using tests::detection::number_carried;
using tests::detection::number_implied;
using tests::detection::plain;
using tests::detection::Reaction;
using tests::detection::Row;
using tests::detection::three_missing;
using tests::detection::Within;
using enum proto::Measure;
using enum sim::Outcome;
using proto::milliseconds;
using sim::FaultWay;
using sim::InjectionResult;
using tests::fault_of;
using tests::lasting;

const std::vector<Row> insertion_rows = {
    {.name = "neighbour",
     .each_way = true,
     .carries = addresses_carried,
     .fault = fault_of(FaultWay::neighbour),
     .outcome = safe_state,
     .by = {authentication},
     .at = At::receiver},
    {.name = "neighbour, addresses implied",
     .each_way = true,
     .carries = addresses_implied,
     .fault = fault_of(FaultWay::neighbour),
     .outcome = safe_state,
     .by = {integrity},
     .owing_to = authentication,
     .at = At::receiver},
    {.name = "neighbour, one under discard",
     .each_way = true,
     .carries = addresses_implied,
     .reaction = Reaction::discard,
     .fault = fault_of(FaultWay::neighbour),
     .outcome = tolerated,
     .by = {integrity},
     .owing_to = authentication,
     .at = At::receiver},
    {.name = "neighbour, a stream of them under discard",
     .each_way = true,
     .carries = plain,
     .reaction = Reaction::discard,
     .fault = lasting(fault_of(FaultWay::neighbour), milliseconds(200)),
     .outcome = safe_state,
     .by = {authentication},
     .at = At::receiver},
    {.name = "stray",
     .each_way = true,
     .carries = number_carried,
     .fault = fault_of(FaultWay::stray),
     .outcome = safe_state,
     .by = {sequence, feedback},
     .at = At::receiver},
    {.name = "stray, number implied",
     .each_way = true,
     .carries = number_implied,
     .fault = fault_of(FaultWay::stray),
     .outcome = safe_state,
     .by = {integrity},
     .owing_to = sequence,
     .at = At::receiver},
};

TEST_CASE("detection: insertion") { check(insertion_rows); }

const std::vector<Row> addressing_rows = {
    {.name = "swap",
     .in = In::polled,
     .each_way = true,
     .carries = addresses_carried,
     .fault = fault_of(FaultWay::swap),
     .outcome = safe_state,
     .by = {authentication},
     .at = At::receiver,
     .within = Within::next},
    {.name = "swap",
     .in = In::streaming,
     .each_way = true,
     .carries = addresses_carried,
     .fault = fault_of(FaultWay::swap),
     .outcome = safe_state,
     .by = {authentication, sequence},
     .at = At::receiver,
     .within = Within::next},
    {.name = "swap, addresses implied",
     .in = In::polled,
     .each_way = true,
     .carries = addresses_implied,
     .fault = fault_of(FaultWay::swap),
     .outcome = safe_state,
     .by = {integrity},
     .owing_to = authentication,
     .at = At::receiver,
     .within = Within::next},
    {.name = "swap, addresses implied",
     .in = In::streaming,
     .each_way = true,
     .carries = addresses_implied,
     .fault = fault_of(FaultWay::swap),
     .outcome = safe_state,
     .by = {integrity, sequence},
     .owing_to = authentication,
     .at = At::receiver,
     .within = Within::next},
    {.name = "one swap, under discard",
     .in = In::polled,
     .each_way = true,
     .carries = plain,
     .reaction = Reaction::discard,
     .fault = fault_of(FaultWay::swap),
     .outcome = tolerated,
     .by = {authentication},
     .at = At::receiver,
     .within = Within::next},
    {.name = "one swap, under discard",
     .in = In::streaming,
     .each_way = true,
     .carries = plain,
     .reaction = Reaction::discard,
     .fault = fault_of(FaultWay::swap),
     .change = three_missing,
     .outcome = tolerated,
     .by = {authentication},
     .at = At::receiver,
     .within = Within::next},
    {.name = "loop-back",
     .each_way = true,
     .carries = addresses_carried,
     .fault = fault_of(FaultWay::loop_back),
     .outcome = safe_state,
     .by = {authentication},
     .at = At::sender},
    {.name = "loop-back, addresses implied",
     .each_way = true,
     .carries = addresses_implied,
     .fault = fault_of(FaultWay::loop_back),
     .outcome = safe_state,
     .by = {integrity},
     .owing_to = authentication,
     .at = At::sender},
    {.name = "loop-back, one under discard",
     .each_way = true,
     .carries = plain,
     .reaction = Reaction::discard,
     .fault = fault_of(FaultWay::loop_back),
     .outcome = tolerated,
     .by = {authentication},
     .at = At::sender},
};

TEST_CASE("detection: addressing") { check(addressing_rows); }

TEST_CASE("a second error under discard stops the end about one cycle after the first") {
    sim::Scenario s = tests::polled_link();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.reaction = proto::Reaction::discard; });
    s.faults = {lasting(fault_of(FaultWay::neighbour), milliseconds(200))};
    const InjectionResult seen = sim::rehearse(s, 1).injections.front();
    REQUIRE(seen.detect);
    REQUIRE(seen.safe_state_device);
    CHECK(*seen.safe_state_device - *seen.detect == milliseconds(10));
}

}  // namespace
