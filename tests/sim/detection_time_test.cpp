// Rows of the detection table about time: delay.
#include <vector>

#include <doctest/doctest.h>

#include "tests/support/detection_table.hpp"

namespace {

using tests::detection::all;
using tests::detection::check;
using tests::detection::In;
using tests::detection::late;
using tests::detection::Row;
using tests::detection::Within;
using enum proto::Measure;
using enum sim::Outcome;
using proto::milliseconds;
using sim::FaultWay;
using tests::Carries;
using tests::lasting;
using tests::on;
using tests::Ways;

const std::vector<Row> delay_rows = {
    {.name = "one late, within the watchdog", .carries = all, .fault = late(FaultWay::step, 15), .outcome = no_effect},
    {.name = "one late, outside",
     .carries = all,
     .fault = late(FaultWay::step, 120),
     .outcome = safe_state,
     .by = {time_expectation},
     .within = Within::watchdog},
    {.name = "small step",
     .carries = all,
     .fault = lasting(on(late(FaultWay::step, 8), Ways::both), milliseconds(500)),
     .outcome = no_effect},
    {.name = "large step",
     .carries = all,
     .fault = lasting(on(late(FaultWay::step, 120), Ways::both), milliseconds(500)),
     .outcome = safe_state,
     .by = {time_expectation},
     .within = Within::watchdog},
    {.name = "creeping",
     .in = In::polled,
     .carries = all,
     .fault = lasting(on(late(FaultWay::creeping, 100), Ways::both), milliseconds(900)),
     .outcome = safe_state,
     .by = {time_expectation},
     .within = Within::any},
    {.name = "creeping, nothing sees it",
     .in = In::streaming,
     .carries = all,
     .fault = lasting(late(FaultWay::creeping, 400), milliseconds(900)),
     .outcome = dangerous},
    {.name = "creeping, lag sees it",
     .in = In::streaming,
     .carries = {Carries::feedback},
     .fault = lasting(late(FaultWay::creeping, 400), milliseconds(900)),
     .outcome = safe_state,
     .by = {feedback},
     .within = Within::any},
    {.name = "creeping, stamp sees it",
     .in = In::streaming,
     .carries = {Carries::time_stamp},
     .fault = lasting(late(FaultWay::creeping, 400), milliseconds(900)),
     .outcome = safe_state,
     .by = {time_stamp},
     .within = Within::any},
    {.name = "step below the watchdog, lag sees it",
     .in = In::streaming,
     .carries = {Carries::feedback},
     .fault = lasting(on(late(FaultWay::step, 30), Ways::both), milliseconds(500)),
     .outcome = safe_state,
     .by = {feedback},
     .within = Within::any},
    {.name = "step below the watchdog, stamp sees it",
     .in = In::streaming,
     .carries = {Carries::time_stamp},
     .fault = lasting(on(late(FaultWay::step, 30), Ways::both), milliseconds(500)),
     .outcome = safe_state,
     .by = {time_stamp},
     .within = Within::any},
};

TEST_CASE("detection: delay") { check(delay_rows); }

}  // namespace
