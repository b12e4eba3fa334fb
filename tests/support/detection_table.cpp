#include "tests/support/detection_table.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "sim/drive/rehearsal.hpp"

namespace tests::detection {
namespace {

using proto::Duration;
using proto::End;
using proto::Exchange;
using proto::Measure;
using proto::milliseconds;
using sim::Fault;
using sim::FaultWay;
using sim::Outcome;
using sim::Scenario;

/// A row for one exchange and one way.
struct Case {
    const Row& row;
    std::string name;
    Exchange exchange;
    Fault fault;
    std::optional<End> at;
};

std::optional<End> end_of(At at, bool to_device) {
    switch (at) {
        case At::any: return std::nullopt;
        case At::controller: return End::controller;
        case At::device: return End::device;
        case At::receiver: return to_device ? End::device : End::controller;
        case At::sender: return to_device ? End::controller : End::device;
    }
    return std::nullopt;
}

std::vector<Case> cases_of(const Row& row) {
    std::vector<Case> all;
    for (const Exchange exchange : {Exchange::polled, Exchange::streaming}) {
        if (row.in != In::both && (row.in == In::polled) != (exchange == Exchange::polled)) continue;
        if (!row.each_way) {
            all.push_back({row, row.name, exchange, row.fault, end_of(row.at, row.fault.to_device)});
            continue;
        }
        all.push_back({row, row.name + ", to the device", exchange, on(row.fault, Ways::out), end_of(row.at, true)});
        all.push_back(
            {row, row.name + ", to the controller", exchange, on(row.fault, Ways::back), end_of(row.at, false)});
    }
    return all;
}

Scenario scenario_of(const Case& one, Carries carries) {
    Scenario s = one.exchange == Exchange::polled ? polled_link(carries) : streaming_link(carries);
    both_ends(s, [&](proto::LinkSettings& link) {
        link.reaction = one.row.reaction == Reaction::trip ? proto::Reaction::trip : proto::Reaction::discard;
        if (one.row.reaction == Reaction::discard_for_ever) link.error_interval = {};
    });
    if (one.row.change != nullptr) one.row.change(s);
    s.faults = {one.fault};
    return s;
}

Duration limit_of(const Case& one, const Scenario& s) {
    const Duration way = milliseconds(1), scan = milliseconds(10);
    const Duration here = one.fault.hold + way + scan;
    switch (one.row.within) {
        case Within::a_scan: return here;
        case Within::two_scans: return here + way + scan;
        case Within::next: return here + scan;
        case Within::watchdog: return std::min(s.controller.link.watchdog, s.device.link.watchdog) + way + scan * 2;
        case Within::any: break;
    }
    return proto::seconds(2);
}

std::string shown(const std::optional<Measure>& measure) {
    return measure ? std::string(proto::name_of(*measure)) : "none";
}

void check_injection(const Case& one, const Scenario& s, const sim::InjectionResult& seen) {
    const Row& row = one.row;
    CHECK_MESSAGE(seen.outcome == row.outcome, "outcome ", sim::name_of(seen.outcome), ", by ", shown(seen.detected_by),
                  " ", seen.why);
    const bool named = std::find(row.by.begin(), row.by.end(), seen.detected_by) != row.by.end();
    CHECK_MESSAGE(named, "detected by ", shown(seen.detected_by));
    // a swapped stream may show its gap before the stranger comes: then no implied field did the work
    const bool by_gap = row.owing_to && row.by.size() > 1 && seen.detected_by == Measure::sequence;
    CHECK_MESSAGE((by_gap || seen.owing_to == row.owing_to), "owing to ", shown(seen.owing_to));
    if (one.at) CHECK(seen.detected_end == one.at);
    if (seen.detect) {
        const auto limit = limit_of(one, s);
        CHECK_MESSAGE(*seen.detect <= limit, "after ", seen.detect->ns, " ns");
    }
    if (seen.outcome == Outcome::safe_state) {
        CHECK(seen.within_limit);
        // one end's stop takes the other along
        CHECK(seen.safe_state_controller.has_value());
        CHECK(seen.safe_state_device.has_value());
    }
    const bool delay = one.fault.way == FaultWay::step || one.fault.way == FaultWay::creeping;
    CHECK(seen.latent == (delay && seen.outcome == Outcome::no_effect));
}

void check(const Case& one, Carries carries, int phase) {
    Scenario s = scenario_of(one, carries);
    s.device_phase = milliseconds(phase);
    INFO(one.name, ", ", std::string(one.exchange == Exchange::polled ? "polled" : "streaming"), ", ", name_of(carries),
         ", phase ", phase);
    const sim::RunResult result = sim::rehearse(s, 11 + static_cast<std::uint64_t>(phase));
    REQUIRE(result.link_started);
    check_injection(one, s, result.injections.front());
    CHECK((result.verdict == sim::RunVerdict::dangerous) == (one.row.outcome == Outcome::dangerous));
    CHECK(result.spurious_trips == 0);
    CHECK(result.twin.spurious_trips == 0);
    CHECK(result.twin.recovered);
}

/// So that one watchdog ends well before the other.
void patient(Scenario& s, std::int64_t controller, std::int64_t device) {
    set_watchdogs(s, milliseconds(controller), milliseconds(device));
    s.required.to_device = s.required.to_controller = milliseconds(700);  // else the long one is dangerous, and rightly
}

}  // namespace

void check(const std::vector<Row>& rows) {
    for (const Row& row : rows)
        for (const Case& one : cases_of(row))
            for (const Carries carries : row.carries)
                for (int phase = 0; phase < 10; phase += 3) {
                    // at phase 0 an exchange takes two cycles, and what is sent beside a repeated answer is one older
                    if (phase == 0 && row.name == "previous answer beside") continue;
                    check(one, carries, phase);
                }
}

Fault random_bits(unsigned count) {
    Fault fault = fault_of(FaultWay::random_bits);
    fault.count = count;
    return fault;
}
Fault one_bit_in(sim::TelegramField field) {
    Fault fault = random_bits(1);
    fault.field = field;
    return fault;
}
Fault burst(unsigned length, sim::TelegramField field) {
    Fault fault = fault_of(FaultWay::burst);
    fault.length = length;
    fault.field = field;
    return fault;
}
Fault truncated(unsigned bytes) {
    Fault fault = fault_of(FaultWay::truncate);
    fault.count = bytes;
    return fault;
}
Fault repeated(FaultWay way, unsigned back) {
    Fault fault = fault_of(way);
    fault.back = back;
    return fault;
}
Fault held(std::int64_t ms) {
    Fault fault = fault_of(FaultWay::hold);
    fault.hold = milliseconds(ms);
    return fault;
}
Fault late(FaultWay way, std::int64_t ms) {
    Fault fault = fault_of(way);
    fault.extra = milliseconds(ms);
    return fault;
}
Fault cable() { return lasting(fault_of(FaultWay::drop), milliseconds(300)); }

void three_missing(Scenario& s) {
    both_ends(s, [](proto::LinkSettings& link) { link.missing_allowed = 3; });
}
void patient_controller(Scenario& s) { patient(s, 300, 45); }
void patient_device(Scenario& s) { patient(s, 45, 300); }

}  // namespace tests::detection
