// Rows of the detection table about what a telegram says: corruption and masquerade.
#include <vector>

#include <doctest/doctest.h>

#include "sim/drive/rehearsal.hpp"
#include "tests/support/detection_table.hpp"

namespace {

using tests::detection::all;
using tests::detection::At;
using tests::detection::burst;
using tests::detection::check;
using tests::detection::In;
using tests::detection::one_bit_in;
using tests::detection::one_copy;
using tests::detection::patient_controller;
using tests::detection::plain;
using tests::detection::random_bits;
using tests::detection::Reaction;
using tests::detection::Row;
using tests::detection::three_missing;
using tests::detection::truncated;
using tests::detection::two_copies;
using enum proto::Measure;
using enum sim::Outcome;
using proto::milliseconds;
using sim::FaultWay;
using sim::InjectionResult;
using sim::TelegramField;
using tests::fault_of;
using tests::lasting;
using tests::on;
using tests::times;
using tests::Ways;

const std::vector<Row> corruption_rows = {
    {.name = "three bits",
     .carries = one_copy,
     .fault = random_bits(3),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::device},
    {.name = "three bits, two copies",
     .carries = two_copies,
     .fault = random_bits(3),
     .outcome = safe_state,
     .by = {cross_check},
     .at = At::device},
    {.name = "burst in the payload",
     .carries = one_copy,
     .fault = burst(16, TelegramField::payload),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::device},
    {.name = "one bit of the status",
     .carries = one_copy,
     .fault = one_bit_in(TelegramField::status),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::device},
    {.name = "one bit of an address",
     .carries = plain,
     .fault = one_bit_in(TelegramField::address),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::device},
    {.name = "one bit of the number",
     .carries = plain,
     .fault = one_bit_in(TelegramField::sequence),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::device},
    {.name = "one bit of the CRC",
     .carries = one_copy,
     .fault = one_bit_in(TelegramField::crc),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::device},
    // the length is looked at before the copies
    {.name = "two bytes cut off",
     .carries = all,
     .fault = truncated(2),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::device},
    {.name = "three bits of an answer",
     .carries = one_copy,
     .fault = on(random_bits(3), Ways::back),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::controller},
    {.name = "first corruption under discard",
     .in = In::polled,
     .carries = one_copy,
     .reaction = Reaction::discard,
     .fault = random_bits(3),
     .outcome = tolerated,
     .by = {integrity},
     .at = At::device},
    {.name = "first corruption under discard, gap permitted",
     .in = In::streaming,
     .carries = one_copy,
     .reaction = Reaction::discard,
     .fault = random_bits(3),
     .change = three_missing,
     .outcome = tolerated,
     .by = {integrity},
     .at = At::device},
    {.name = "second corruption under discard",
     .carries = one_copy,
     .reaction = Reaction::discard,
     .fault = times(random_bits(3), 2),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::device},
};

TEST_CASE("detection: corruption") { check(corruption_rows); }

const std::vector<Row> masquerade_rows = {
    {.name = "no CRC",
     .each_way = true,
     .carries = all,
     .fault = fault_of(FaultWay::no_crc),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::receiver},
    {.name = "another CRC",
     .each_way = true,
     .carries = all,
     .fault = fault_of(FaultWay::other_crc),
     .outcome = safe_state,
     .by = {integrity},
     .at = At::receiver},
    // of two zero copies neither is the inverse of the other
    {.name = "all zero",
     .each_way = true,
     .carries = all,
     .fault = fault_of(FaultWay::all_zero),
     .outcome = safe_state,
     .by = {integrity, cross_check},
     .at = At::receiver},
    {.name = "another CRC, under discard",
     .each_way = true,
     .carries = all,
     .reaction = Reaction::discard,
     .fault = fault_of(FaultWay::other_crc),
     .outcome = tolerated,
     .by = {integrity},
     .at = At::receiver},
};

TEST_CASE("detection: masquerade") { check(masquerade_rows); }

TEST_CASE("detection: answers corrupted for long, and errors that do not add up: repeats keep the device waiting") {
    check({
        {.name = "answers corrupted for long",
         .in = In::polled,
         .carries = one_copy,
         .reaction = Reaction::discard_for_ever,
         .fault = lasting(on(random_bits(3), Ways::back), milliseconds(300)),
         .change = patient_controller,
         .outcome = safe_state,
         .by = {integrity},
         .at = At::controller},
    });
}

TEST_CASE("no net change of bits is no injection") {
    sim::Scenario s = tests::polled_link();
    sim::Fault fault = fault_of(FaultWay::flip_bits);
    fault.bits = {5, 5};
    s.faults = {fault};
    const auto result = sim::rehearse(s, 1);
    CHECK(result.injections.front().outcome == sim::Outcome::not_fired);
    CHECK_FALSE(result.injections.front().as_expected);
}

TEST_CASE("answers corrupted for long: the controller rejects, the device hears repeats and its watchdog ends") {
    sim::Scenario s = tests::polled_link();
    tests::both_ends(s, [](proto::LinkSettings& link) {
        link.reaction = proto::Reaction::discard;
        link.error_interval = {};
    });
    patient_controller(s);
    s.faults = {lasting(on(random_bits(3), Ways::back), milliseconds(250))};
    const auto result = sim::rehearse(s, 1);
    const InjectionResult& seen = result.injections.front();
    CHECK(seen.detected_by == proto::Measure::integrity);
    CHECK(seen.also_by.has(proto::Measure::time_expectation));
    REQUIRE(seen.safe_state_device);
    CHECK(*seen.safe_state_device <= milliseconds(45 + 10 + 1));
}

}  // namespace
