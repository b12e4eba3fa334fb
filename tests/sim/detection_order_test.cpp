// Rows of the detection table about the order of telegrams: repetition, incorrect sequence and loss.
#include <vector>

#include <doctest/doctest.h>

#include "sim/drive/rehearsal.hpp"
#include "tests/support/detection_table.hpp"

namespace {

using tests::detection::all;
using tests::detection::At;
using tests::detection::cable;
using tests::detection::check;
using tests::detection::held;
using tests::detection::In;
using tests::detection::number_carried;
using tests::detection::number_implied;
using tests::detection::patient_controller;
using tests::detection::patient_device;
using tests::detection::Reaction;
using tests::detection::repeated;
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
using tests::on;
using tests::times;
using tests::Ways;

const std::vector<Row> repetition_rows = {
    {.name = "current number again",
     .in = In::polled,
     .carries = all,
     .fault = fault_of(FaultWay::current_again),
     .outcome = no_effect},
    {.name = "current number again",
     .in = In::streaming,
     .carries = number_carried,
     .fault = fault_of(FaultWay::current_again),
     .outcome = safe_state,
     .by = {sequence},
     .at = At::device},
    {.name = "previous answer beside",
     .in = In::polled,
     .carries = all,
     .fault = on(repeated(FaultWay::beside, 1), Ways::back),
     .outcome = no_effect},
    {.name = "previous answer beside",
     .in = In::streaming,
     .carries = number_carried,
     .fault = on(repeated(FaultWay::beside, 1), Ways::back),
     .outcome = safe_state,
     .by = {sequence},
     .at = At::controller},
    {.name = "three back, beside",
     .carries = number_carried,
     .fault = repeated(FaultWay::beside, 3),
     .outcome = safe_state,
     .by = {sequence},
     .at = At::device},
    {.name = "three back, beside an answer",
     .carries = number_carried,
     .fault = on(repeated(FaultWay::beside, 3), Ways::back),
     .outcome = safe_state,
     .by = {sequence, feedback},
     .at = At::controller},
    {.name = "three back, beside, number implied",
     .carries = number_implied,
     .fault = repeated(FaultWay::beside, 3),
     .outcome = safe_state,
     .by = {integrity},
     .owing_to = sequence,
     .at = At::device},
    {.name = "three back, beside, under discard",
     .carries = number_carried,
     .reaction = Reaction::discard,
     .fault = repeated(FaultWay::beside, 3),
     .outcome = tolerated,
     .by = {sequence},
     .at = At::device},
    {.name = "three back, in place",
     .carries = number_carried,
     .fault = repeated(FaultWay::instead, 3),
     .outcome = safe_state,
     .by = {sequence},
     .at = At::device},
    {.name = "three back, in place twice, under discard",
     .carries = number_carried,
     .reaction = Reaction::discard,
     .fault = times(repeated(FaultWay::instead, 3), 2),
     .outcome = safe_state,
     .by = {sequence},
     .at = At::device},
    {.name = "three back, in place once, under discard",
     .in = In::polled,
     .carries = number_carried,
     .reaction = Reaction::discard,
     .fault = repeated(FaultWay::instead, 3),
     .outcome = tolerated,
     .by = {sequence},
     .at = At::device},
    {.name = "three back, in place once, under discard",
     .in = In::streaming,
     .carries = number_carried,
     .reaction = Reaction::discard,
     .fault = repeated(FaultWay::instead, 3),
     .change = three_missing,
     .outcome = tolerated,
     .by = {sequence},
     .at = At::device},
    {.name = "three back, in place for long, errors never add up",
     .carries = number_carried,
     .reaction = Reaction::discard_for_ever,
     .fault = lasting(repeated(FaultWay::instead, 3), milliseconds(300)),
     .outcome = safe_state,
     .by = {sequence},
     .at = At::device},
    {.name = "old parameter telegram to the device",
     .carries = all,
     .fault = fault_of(FaultWay::old_parameters),
     .outcome = safe_state,
     .by = {feedback},
     .at = At::controller,
     .within = Within::two_scans},
    {.name = "old parameter telegram to the controller",
     .carries = all,
     .fault = on(fault_of(FaultWay::old_parameters), Ways::back),
     .outcome = safe_state,
     .by = {feedback},
     .at = At::controller},
};

TEST_CASE("detection: repetition") { check(repetition_rows); }

const std::vector<Row> incorrect_sequence_rows = {
    {.name = "overtaken by a repeat", .in = In::polled, .carries = all, .fault = held(11), .outcome = no_effect},
    {.name = "held past advances",
     .in = In::polled,
     .carries = number_carried,
     .fault = held(60),
     .outcome = safe_state,
     .by = {sequence},
     .at = At::device},
    {.name = "held past advances, number implied",
     .in = In::polled,
     .carries = number_implied,
     .fault = held(60),
     .outcome = safe_state,
     .by = {integrity},
     .owing_to = sequence,
     .at = At::device},
    {.name = "held past advances, under discard",
     .in = In::polled,
     .carries = number_carried,
     .reaction = Reaction::discard,
     .fault = held(60),
     .outcome = tolerated,
     .by = {sequence},
     .at = At::device},
    {.name = "answer held past one advance",
     .in = In::polled,
     .carries = number_carried,
     .fault = on(held(15), Ways::back),
     .outcome = no_effect},
    {.name = "answer held past two advances",
     .in = In::polled,
     .carries = number_carried,
     .fault = on(held(60), Ways::back),
     .outcome = safe_state,
     .by = {sequence, feedback},
     .at = At::controller},
    {.name = "held, no gap permitted",
     .in = In::streaming,
     .carries = number_carried,
     .fault = held(15),
     .outcome = safe_state,
     .by = {sequence},
     .at = At::device,
     .within = Within::next},
    {.name = "held, gap permitted",
     .in = In::streaming,
     .carries = number_carried,
     .fault = held(25),
     .change = three_missing,
     .outcome = safe_state,
     .by = {sequence},
     .at = At::device},
    {.name = "held, gap permitted, number implied",
     .in = In::streaming,
     .carries = number_implied,
     .fault = held(25),
     .change = three_missing,
     .outcome = safe_state,
     .by = {integrity},
     .owing_to = sequence,
     .at = At::device},
    {.name = "held, gap permitted, under discard",
     .in = In::streaming,
     .carries = number_carried,
     .reaction = Reaction::discard,
     .fault = held(25),
     .change = three_missing,
     .outcome = tolerated,
     .by = {sequence},
     .at = At::device},
};

TEST_CASE("detection: incorrect sequence") { check(incorrect_sequence_rows); }

const std::vector<Row> loss_rows = {
    {.name = "one lost", .in = In::polled, .carries = all, .fault = fault_of(FaultWay::drop), .outcome = tolerated},
    {.name = "one answer lost",
     .in = In::polled,
     .carries = all,
     .fault = on(fault_of(FaultWay::drop), Ways::back),
     .outcome = tolerated},
    {.name = "three lost of three permitted",
     .in = In::streaming,
     .carries = all,
     .fault = times(fault_of(FaultWay::drop), 3),
     .change = three_missing,
     .outcome = tolerated,
     .within = Within::any},
    {.name = "one lost of none permitted",
     .in = In::streaming,
     .carries = number_carried,
     .fault = fault_of(FaultWay::drop),
     .outcome = safe_state,
     .by = {sequence},
     .at = At::device,
     .within = Within::next},
    {.name = "one lost of none permitted, number implied",
     .in = In::streaming,
     .carries = number_implied,
     .fault = fault_of(FaultWay::drop),
     .outcome = safe_state,
     .by = {integrity},
     .owing_to = sequence,
     .at = At::device,
     .within = Within::next},
    {.name = "cable",
     .carries = all,
     .fault = on(cable(), Ways::both),
     .outcome = safe_state,
     .by = {time_expectation},
     .within = Within::watchdog},
    {.name = "cable, the device's deadline first",
     .carries = all,
     .fault = on(cable(), Ways::both),
     .change = patient_controller,
     .outcome = safe_state,
     .by = {time_expectation},
     .at = At::device,
     .within = Within::watchdog},
    {.name = "cable, the controller's deadline first",
     .carries = all,
     .fault = on(cable(), Ways::both),
     .change = patient_device,
     .outcome = safe_state,
     .by = {time_expectation},
     .at = At::controller,
     .within = Within::watchdog},
    // one-way: in a stream the receiver alone misses something; polled both do
    {.name = "cable out",
     .in = In::polled,
     .carries = all,
     .fault = cable(),
     .outcome = safe_state,
     .by = {time_expectation},
     .within = Within::watchdog},
    {.name = "cable out",
     .in = In::streaming,
     .carries = all,
     .fault = cable(),
     .outcome = safe_state,
     .by = {time_expectation},
     .at = At::device,
     .within = Within::watchdog},
    {.name = "cable back",
     .in = In::polled,
     .carries = all,
     .fault = on(cable(), Ways::back),
     .outcome = safe_state,
     .by = {time_expectation},
     .within = Within::watchdog},
    {.name = "cable back",
     .in = In::streaming,
     .carries = all,
     .fault = on(cable(), Ways::back),
     .outcome = safe_state,
     .by = {time_expectation},
     .at = At::controller,
     .within = Within::watchdog},
    // the device hears the same number for ever: repeats must not re-arm it
    {.name = "answers cut, the device must stop",
     .in = In::polled,
     .carries = all,
     .fault = on(cable(), Ways::back),
     .change = patient_controller,
     .outcome = safe_state,
     .by = {time_expectation},
     .at = At::device,
     .within = Within::watchdog},
};

TEST_CASE("detection: loss") { check(loss_rows); }

TEST_CASE("an answer that does not fit fails by its number and by what it feeds back") {
    sim::Scenario s = tests::polled_link();
    s.faults = {on(repeated(FaultWay::beside, 3), Ways::back)};
    const InjectionResult seen = sim::rehearse(s, 1).injections.front();
    proto::MeasureSet both = seen.also_by;
    REQUIRE(seen.detected_by);
    both.add(*seen.detected_by);
    CHECK(both.has(proto::Measure::sequence));
    CHECK(both.has(proto::Measure::feedback));
}

}  // namespace
