// What goes wrong at an end: restart, stall, frozen data, a clock that drifts, settings that differ, a stuck button.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/link/failing_end.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::End;
using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using proto::State;
using sim::FaultWay;
using sim::Outcome;
using sim::RunResult;
using sim::RunVerdict;
using sim::Scenario;

Instant at(std::int64_t ms) { return Instant{} + milliseconds(ms); }

sim::Fault end_fault(FaultWay way, End end, Duration at, std::optional<Duration> lasting = {}) {
    sim::Fault fault = tests::fault_of(way, at);
    fault.at_end = end;
    fault.lasting = lasting;
    fault.to_device = end == End::controller;
    fault.to_controller = !fault.to_device;
    return fault;
}

bool says(const RunResult& result, const std::string& words) {
    return std::any_of(result.dangerous.begin(), result.dangerous.end(),
                       [&](const sim::DangerousEvent& event) { return event.why.find(words) != std::string::npos; });
}

/// The tilting table with one fault.
Scenario with(const sim::Fault& fault) {
    Scenario s = tests::polled_link();
    s.duration = seconds(3);
    s.faults = {fault};
    return s;
}

/// A run of `s` that has run until `ms`.
struct Watched {
    explicit Watched(Scenario s) : scenario(std::move(s)) {}
    void until(std::int64_t ms) { run.cell.run_until(at(ms)); }
    [[nodiscard]] State state(End end) const { return run.cell.link().end(end).endpoint().state(); }
    Scenario scenario;
    sim::JudgedRun run{scenario, 1, sim::Faults::all, sim::limits_of(scenario).limits};
};

TEST_CASE("R-53: an end that restarts faster than the watchdog takes its peer to the safe state all the same") {
    for (const End end : {End::controller, End::device}) {
        for (const std::int64_t off : {1, 5, 20, 44, 100, 400}) {
            CAPTURE(off);
            const Scenario s = with(end_fault(FaultWay::restart, end, seconds(1), milliseconds(off)));
            const RunResult result = sim::rehearse(s, 1);
            REQUIRE(result.injections.size() == 1);
            CHECK(result.injections[0].outcome == Outcome::safe_state);
            CHECK(result.injections[0].within_limit);
            CHECK(result.acknowledgements == 1);  // the link came back by a person's act only
            CHECK(result.twin.recovered);
            CHECK(result.verdict == RunVerdict::pass);

            Scenario alone = s;
            alone.operator_acts.erase(alone.operator_acts.begin());  // nobody acknowledges
            Watched watched(alone);
            watched.until(3000);
            const End peer = proto::other(end);
            CHECK(watched.state(peer) != State::running);
            CHECK(watched.state(end) != State::running);
        }
    }
}

TEST_CASE("R-54: a restarted end counts from 0 again, and its number starts at random") {
    for (const End end : {End::controller, End::device}) {
        std::vector<std::uint32_t> first_numbers;
        for (const std::int64_t begin : {1000, 1001, 1003}) {
            Watched watched(with(end_fault(FaultWay::restart, end, milliseconds(begin), milliseconds(30))));
            watched.until(begin);
            const proto::Counters before = watched.run.cell.link().end(end).endpoint().counters();
            CHECK(before.received > 80);
            CHECK(before.sent > 80);
            watched.until(begin + 1);
            const proto::Counters after = watched.run.cell.link().end(end).endpoint().counters();
            CHECK(after.received == 0);
            CHECK(after.accepted == 0);
            CHECK(after.sent == 0);
            CHECK(after.ignored == 0);
            watched.until(2900);
            CHECK(watched.state(End::controller) == State::running);
            CHECK(watched.state(End::device) == State::running);
            first_numbers.push_back(watched.run.cell.link().end(End::controller).endpoint().counters().number_sent);
            // ordinary process telegrams that a starting end ignores are no errors of sequence
            for (const std::uint64_t rejected : watched.run.cell.link().end(end).endpoint().counters().rejected)
                CHECK(rejected == 0);
        }
        // the three runs differ by no more than one telegram, their numbers by far more
        for (std::size_t i = 1; i < first_numbers.size(); ++i) {
            const auto apart = static_cast<std::uint16_t>(first_numbers[i] - first_numbers[0]);
            CHECK(std::min<unsigned>(apart, 65536U - apart) > 20);
        }
    }
}

TEST_CASE("an end without power neither sends nor hears, and its outputs are off at once") {
    Watched watched(with(end_fault(FaultWay::restart, End::device, seconds(1), milliseconds(400))));
    watched.until(1399);
    CHECK(watched.run.cell.link().end(End::device).endpoint().counters().received == 0);
    CHECK(watched.run.cell.link().end(End::device).endpoint().counters().sent == 0);
    const RunResult result =
        sim::rehearse(with(end_fault(FaultWay::restart, End::device, seconds(1), milliseconds(400))), 1);
    CHECK(result.injections[0].safe_state_device == Duration{});
    // 10 ms until the drive reacts, 0.25 m/s over 2.0 m/s2 along the ramp
    CHECK(result.injections[0].standstill == milliseconds(10 + 125));
}

TEST_CASE("R-84: a demand at an output that is off has reached it, one at an output that only stands still has not") {
    for (const FaultWay way : {FaultWay::restart, FaultWay::stall}) {
        Scenario s = with(end_fault(way, End::device, seconds(1), milliseconds(900)));
        s.machine->output_watchdog.reset();
        // longer than the demand may take before anything scans again
        s.demands = {tests::demand_of("rope_pull", milliseconds(1100))};
        const RunResult result = sim::rehearse(s, 1);
        REQUIRE(result.demands.size() == 1);
        CHECK(says(result, "had not reached the output") == (way == FaultWay::stall));
        if (way == FaultWay::restart) {
            CHECK(result.verdict != RunVerdict::dangerous);
            CHECK(result.demands[0].response == Duration{});
        }
    }
}

TEST_CASE("a stalled producer is noticed by the consumer's watchdog, a short stall by nobody") {
    const RunResult short_one =
        sim::rehearse(with(end_fault(FaultWay::stall, End::controller, seconds(1), milliseconds(20))), 1);
    CHECK(short_one.injections[0].outcome == Outcome::no_effect);
    CHECK(short_one.stops == 0);
    const RunResult long_one =
        sim::rehearse(with(end_fault(FaultWay::stall, End::controller, seconds(1), milliseconds(150))), 1);
    CHECK(long_one.injections[0].outcome == Outcome::safe_state);
    CHECK(long_one.injections[0].detected_by == proto::Measure::time_expectation);
    CHECK(long_one.injections[0].detected_end == End::device);
    // the device trips in the scan after 45 ms without a telegram: 10 ms scans
    REQUIRE(long_one.injections[0].safe_state_device);
    CHECK(*long_one.injections[0].safe_state_device <= milliseconds(45 + 20));
    CHECK(long_one.verdict == RunVerdict::pass);
}

TEST_CASE("a stalled consumer cannot trip itself, an independent output watchdog can") {
    Scenario s = with(end_fault(FaultWay::stall, End::device, seconds(1), milliseconds(500)));
    const RunResult held = sim::rehearse(s, 1);
    CHECK(held.verdict == RunVerdict::dangerous);
    CHECK(held.injections[0].outcome == Outcome::dangerous);
    CHECK(says(held, "used a value that was"));

    s.machine->output_watchdog = milliseconds(60);
    const RunResult guarded = sim::rehearse(s, 1);
    CHECK(guarded.verdict == RunVerdict::pass);
    CHECK(guarded.injections[0].outcome == Outcome::safe_state);
    REQUIRE(guarded.injections[0].safe_state_device);
    // 60 ms count from the last scan, which was less than 10 ms before the stall
    CHECK(*guarded.injections[0].safe_state_device <= milliseconds(60));
    CHECK(*guarded.injections[0].safe_state_device > milliseconds(50));

    s.machine->output_watchdog = milliseconds(250);  // longer than the 200 ms required
    CHECK(sim::rehearse(s, 1).verdict == RunVerdict::dangerous);
    s.faults[0].lasting = milliseconds(100);  // over before anything is too old, and nobody notices
    CHECK(sim::rehearse(s, 1).dangerous.empty());
}

TEST_CASE("R-85: frozen data is dangerous once a demand comes, and no measure sees it") {
    for (const End end : {End::controller, End::device}) {
        Scenario s = with(end_fault(FaultWay::frozen_data, end, seconds(1), milliseconds(800)));
        const RunResult unseen = sim::rehearse(s, 1);
        CHECK(unseen.verdict == RunVerdict::pass);
        CHECK(unseen.injections[0].outcome == Outcome::no_effect);
        CHECK(unseen.injections[0].latent);

        s.demands = {tests::demand_of(end == End::controller ? "rope_pull" : "table_curtain", milliseconds(1200))};
        s.demands[0].lasting = milliseconds(1000);
        const RunResult demanded = sim::rehearse(s, 1);
        CHECK(demanded.verdict == RunVerdict::dangerous);
        CHECK(demanded.injections[0].outcome == Outcome::dangerous);
        CHECK_FALSE(demanded.injections[0].detected_by);
        CHECK(says(demanded, "does not mean what it means at its source"));
        CHECK(demanded.stops == 0);  // the link ran green all the time
    }
}

TEST_CASE("a drifting clock never jumps and is right in both directions") {
    for (const std::int64_t ppm : {-500'000, -20'000, -1, 1, 20'000, 500'000}) {
        sim::DriftingClock clock;
        clock.set_pace(ppm, at(100));
        CHECK(clock.local(at(100)) == at(100));
        // a second of true time is a second and so many microseconds of its own
        CHECK(clock.local(at(1100)) == at(1100) + proto::microseconds(ppm));
        for (std::int64_t ns = 0; ns < 2000; ns += 7) {
            const Instant own = at(150) + Duration{ns};
            const Instant when = clock.true_of(own);
            CHECK(clock.local(when) >= own);
            CHECK(clock.local(when - Duration{1}) < own);
        }
        clock.set_pace(0, at(1100));
        CHECK(clock.local(at(1200)) - clock.local(at(1100)) == milliseconds(100));
    }
    CHECK(sim::DriftingClock{}.true_of(proto::never) == proto::never);
}

/// From the pulling of the cable at 1.5 s to the device's substitute values.
Duration cable_pulled(std::int64_t ppm) {
    Scenario s = with(end_fault(FaultWay::clock_drift, End::device, milliseconds(200)));
    s.faults[0].drift_ppm = ppm;
    s.faults.push_back(tests::lasting(tests::on(tests::fault_of(FaultWay::drop, milliseconds(1500)), tests::Ways::both),
                                      milliseconds(800)));
    const RunResult result = sim::rehearse(s, 1);
    REQUIRE(result.injections[1].safe_state_device);
    return *result.injections[1].safe_state_device;
}

TEST_CASE("the watchdog runs by the end's own clock") {
    // 45 ms of a clock that is half as fast are 90 ms, of one half as fast again 30 ms; each is noticed within a scan
    // of that clock, and the last telegram came up to a cycle and a scan before the cable was pulled
    CHECK(cable_pulled(-500'000) > milliseconds(90 - 20));
    CHECK(cable_pulled(-500'000) <= milliseconds(90 + 20));
    CHECK(cable_pulled(500'000) > milliseconds(30 - 17));
    CHECK(cable_pulled(500'000) <= milliseconds(30 + 7));
}

TEST_CASE("R-87: bounds hold with clocks that drift, late telegrams and then silence") {
    for (const std::int64_t ppm : {-100'000, -20'000, 20'000, 100'000}) {
        for (const End end : {End::controller, End::device}) {
            for (std::int64_t phase = 0; phase < 10; phase += 3) {
                Scenario s = with(end_fault(FaultWay::clock_drift, end, milliseconds(200)));
                s.faults[0].drift_ppm = ppm;
                s.device_phase = milliseconds(phase);
                s.faults.push_back(
                    tests::lasting(tests::fault_of(FaultWay::step, milliseconds(1500)), milliseconds(35)));
                s.faults.back().extra = milliseconds(32);
                s.faults.push_back(
                    tests::lasting(tests::on(tests::fault_of(FaultWay::drop, milliseconds(1535)), tests::Ways::both),
                                   milliseconds(500)));
                const RunResult result = sim::rehearse(s, 1);
                REQUIRE(result.worst_seen);
                REQUIRE(result.bound);
                // 2 * WD + T by the consumer's own clock: slower by ppm, that is longer in true time
                const std::int64_t slow = end == End::device ? std::max<std::int64_t>(0, -ppm) : 0;
                CHECK(result.worst_seen->ns <= result.bound->ns * 1'000'000 / (1'000'000 - slow) + 1);
                CHECK(result.dangerous.empty());
                CHECK(std::none_of(result.remarks.begin(), result.remarks.end(), [](const std::string& remark) {
                    return remark.find("please report") != std::string::npos;
                }));
            }
        }
    }
}

TEST_CASE("a slow clock or a short stall is no broken bound: the bound is by the clock that keeps it") {
    Scenario s = with(end_fault(FaultWay::clock_drift, End::device, milliseconds(200)));
    s.faults[0].drift_ppm = -500'000;
    s.required.to_device = s.required.to_controller = milliseconds(400);
    s.faults.push_back(tests::lasting(tests::on(tests::fault_of(FaultWay::drop, milliseconds(1500)), tests::Ways::both),
                                      milliseconds(800)));
    s.faults.insert(s.faults.begin() + 1,
                    tests::lasting(tests::fault_of(FaultWay::step, milliseconds(1440)), milliseconds(60)));
    s.faults[1].extra = milliseconds(40);
    const RunResult result = sim::rehearse(s, 1);
    REQUIRE(result.worst_seen);
    REQUIRE(result.bound);
    CHECK(*result.worst_seen > *result.bound);
    CHECK(result.verdict == RunVerdict::pass);
    CHECK(sim::worst_with_end_faults(s, *result.bound) == *result.bound * 2);
}

TEST_CASE("mis-set ends: each setting under the signature keeps the link from starting and is named") {
    using proto::Refusal;
    struct Case {
        Refusal named;
        void (*mistype)(Scenario&);
    };
    const Case cases[] = {
        {Refusal::watchdog_device, [](Scenario& s) { s.device.link.watchdog = milliseconds(60); }},
        {Refusal::watchdog_controller, [](Scenario& s) { s.controller.link.watchdog = milliseconds(60); }},
        {Refusal::byte_order, [](Scenario& s) { s.device.link.byte_order = proto::ByteOrder::low_first; }},
        {Refusal::claimed_level, [](Scenario& s) { s.device.link.claimed_level = 3; }},
        {Refusal::device_address, [](Scenario& s) { s.device.link.own_address = 0x203; }},
        {Refusal::controller_address, [](Scenario& s) { s.device.link.peer_address = 0x102; }},
        {Refusal::payload_to_device, [](Scenario& s) { s.device.link.payload_received = 7; }},
        {Refusal::bits_to_device,
         [](Scenario& s) {
             s.device.bits[1].place = {0, 5};
             tests::use_typed_bits(s);
         }},
    };
    for (const Case& one : cases) {
        CAPTURE(proto::name_of(one.named));
        Scenario s = tests::polled_link();
        one.mistype(s);
        const RunResult result = sim::rehearse(s, 1);
        CHECK_FALSE(result.link_started);
        CHECK(result.verdict == RunVerdict::fail);
        CHECK(result.dangerous.empty());
        CHECK(result.controller.state == State::start_up);
        CHECK(result.device.state == State::start_up);
        CHECK(result.device.refusal == one.named);
        CHECK(result.controller.refusal == one.named);
    }
}

TEST_CASE("R-61: a stuck acknowledgement button gives no edge, so nothing resumes") {
    Scenario s = with(tests::lasting(tests::on(tests::fault_of(FaultWay::drop), tests::Ways::both), milliseconds(200)));
    // it was pressed long before anything asked for it, and nobody lets go
    s.operator_acts[0] = {
        sim::OperatorAct::Event::time, sim::OperatorAct::Act::hold_acknowledge, milliseconds(500), {}};
    Watched watched(s);
    watched.until(3000);
    CHECK(watched.state(End::controller) == State::awaiting_acknowledgement);
    CHECK(watched.state(End::device) != State::running);
    CHECK(watched.run.cell.link().end(End::controller).endpoint().acknowledgement_requested());
    const RunResult stuck = sim::rehearse(s, 1);
    CHECK(stuck.acknowledgements == 0);
    CHECK(stuck.verdict == RunVerdict::pass);

    s.operator_acts[0] = {sim::OperatorAct::Event::acknowledgement_requested,
                          sim::OperatorAct::Act::hold_acknowledge,
                          milliseconds(100),
                          {}};
    const RunResult held = sim::rehearse(s, 1);
    CHECK(held.acknowledgements == 1);  // one edge came after the request
    CHECK(held.controller.state == State::running);
    // kept pressed, it acknowledges nothing a second time
    s.faults.push_back(
        tests::lasting(tests::on(tests::fault_of(FaultWay::drop, seconds(2)), tests::Ways::both), milliseconds(200)));
    const RunResult twice = sim::rehearse(s, 1);
    CHECK(twice.acknowledgements == 1);
    CHECK(twice.controller.state == State::awaiting_acknowledgement);
}

}  // namespace
