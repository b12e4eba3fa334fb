// What a correct pair of endpoints makes of each communication error, row by row: polled and streaming, at each way of
// carrying the fields, over several phases. The last tests build the cases in which an error must go unseen.
#include <doctest/doctest.h>

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include "proto/crc_catalogue.hpp"
#include "sim/drive/rehearsal.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::End;
using proto::Exchange;
using proto::Measure;
using proto::milliseconds;
using sim::Fault;
using sim::FaultWay;
using sim::InjectionResult;
using sim::Outcome;
using sim::Scenario;
using tests::Carries;
using tests::fault_of;
using tests::lasting;
using tests::on;
using tests::times;
using tests::Ways;

/// When the error must have been detected, counted from the injection.
enum class Within {
    any,        ///< nothing is detected, or no time is stated
    a_scan,     ///< the way of the telegram and one scan of its receiver
    two_scans,  ///< the same there and back
    next,       ///< by the telegram after it: one cycle more
    watchdog,   ///< watchdog time, the way and one scan
};

/// What is done about a rejected telegram.
enum class Reaction { trip, discard, discard_for_ever };

struct Row {
    std::string name;
    Exchange exchange;
    std::vector<Carries> carries;
    Reaction reaction;
    Fault fault;
    Outcome outcome;
    std::vector<std::optional<Measure>> by;  ///< any of these
    std::optional<Measure> owing_to;
    std::optional<End> at;
    Within within = Within::a_scan;
    void (*change)(Scenario&) = nullptr;  ///< further settings
};

constexpr auto P = Exchange::polled;
constexpr auto S = Exchange::streaming;
constexpr auto safe = Outcome::safe_state;
constexpr auto tolerated = Outcome::tolerated;
constexpr auto no_effect = Outcome::no_effect;
constexpr auto trip = Reaction::trip;
constexpr auto discard = Reaction::discard;
constexpr std::nullopt_t nobody = std::nullopt;

const std::vector<Carries> plain{Carries::everything};
const std::vector<Carries> two{Carries::two_copies};
const std::vector<Carries> addresses{Carries::implied_addresses};
const std::vector<Carries> number{Carries::implied_number};
const std::vector<Carries> one_copy{Carries::everything, Carries::implied_addresses, Carries::implied_number};
const std::vector<Carries> all{Carries::everything, Carries::implied_addresses, Carries::implied_number,
                               Carries::two_copies};
const std::vector<Carries> with_number{Carries::everything, Carries::implied_addresses, Carries::two_copies};
const std::vector<Carries> with_addresses{Carries::everything, Carries::implied_number, Carries::two_copies};

Fault random_bits(unsigned count) {
    Fault fault = fault_of(FaultWay::random_bits);
    fault.count = count;
    return fault;
}
Fault burst(unsigned length, sim::TelegramField field) {
    Fault fault = fault_of(FaultWay::burst);
    fault.length = length;
    fault.field = field;
    return fault;
}
Fault one_in(sim::TelegramField field) {
    Fault fault = random_bits(1);
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

void three_missing(Scenario& s) {
    tests::both_ends(s, [](proto::LinkSettings& link) { link.missing_allowed = 3; });
}
/// So that the device's watchdog ends first.
void patient(Scenario& s, std::int64_t controller, std::int64_t device) {
    tests::set_watchdogs(s, milliseconds(controller), milliseconds(device));
    s.required.to_device = s.required.to_controller = milliseconds(700);  // else the long one is dangerous, and rightly
}
void patient_controller(Scenario& s) { patient(s, 300, 45); }
void patient_device(Scenario& s) { patient(s, 45, 300); }

std::vector<Row> rows() {
    using sim::TelegramField;
    using enum Measure;
    const auto dev = End::device;
    const auto con = End::controller;
    std::vector<Row> r;
    for (const Exchange x : {P, S}) {
        const bool polled = x == P;
        // ---- corruption
        r.push_back({"three bits", x, one_copy, trip, random_bits(3), safe, {integrity}, {}, dev});
        r.push_back({"three bits, two copies", x, two, trip, random_bits(3), safe, {cross_check}, {}, dev});
        r.push_back(
            {"burst in the payload", x, one_copy, trip, burst(16, TelegramField::payload), safe, {integrity}, {}, dev});
        r.push_back(
            {"one bit of the status", x, one_copy, trip, one_in(TelegramField::status), safe, {integrity}, {}, dev});
        r.push_back(
            {"one bit of an address", x, plain, trip, one_in(TelegramField::address), safe, {integrity}, {}, dev});
        r.push_back(
            {"one bit of the number", x, plain, trip, one_in(TelegramField::sequence), safe, {integrity}, {}, dev});
        r.push_back({"one bit of the CRC", x, one_copy, trip, one_in(TelegramField::crc), safe, {integrity}, {}, dev});
        // the length is looked at before the copies
        r.push_back({"two bytes cut off", x, all, trip, truncated(2), safe, {integrity}, {}, dev});
        r.push_back(
            {"three bits of an answer", x, one_copy, trip, on(random_bits(3), Ways::back), safe, {integrity}, {}, con});
        if (polled)
            r.push_back({"first corruption under discard",
                         x,
                         one_copy,
                         discard,
                         random_bits(3),
                         tolerated,
                         {integrity},
                         {},
                         dev});
        else
            r.push_back({"first corruption under discard, gap permitted",
                         x,
                         one_copy,
                         discard,
                         random_bits(3),
                         tolerated,
                         {integrity},
                         {},
                         dev,
                         Within::a_scan,
                         three_missing});
        r.push_back({"second corruption under discard",
                     x,
                     one_copy,
                     discard,
                     times(random_bits(3), 2),
                     safe,
                     {integrity},
                     {},
                     dev});
        // ---- repetition
        r.push_back(
            {"current number again",
             x,
             polled ? all : with_number,
             trip,
             fault_of(FaultWay::current_again),
             polled ? no_effect : safe,
             polled ? std::vector<std::optional<Measure>>{nobody} : std::vector<std::optional<Measure>>{sequence},
             {},
             polled ? std::nullopt : std::optional(dev)});
        r.push_back(
            {"previous answer beside",
             x,
             polled ? all : with_number,
             trip,
             on(repeated(FaultWay::beside, 1), Ways::back),
             polled ? no_effect : safe,
             polled ? std::vector<std::optional<Measure>>{nobody} : std::vector<std::optional<Measure>>{sequence},
             {},
             polled ? std::nullopt : std::optional(con)});
        r.push_back(
            {"three back, beside", x, with_number, trip, repeated(FaultWay::beside, 3), safe, {sequence}, {}, dev});
        r.push_back({"three back, beside an answer",
                     x,
                     with_number,
                     trip,
                     on(repeated(FaultWay::beside, 3), Ways::back),
                     safe,
                     {sequence, feedback},
                     {},
                     con});
        r.push_back({"three back, beside, number implied",
                     x,
                     number,
                     trip,
                     repeated(FaultWay::beside, 3),
                     safe,
                     {integrity},
                     sequence,
                     dev});
        r.push_back({"three back, beside, under discard",
                     x,
                     with_number,
                     discard,
                     repeated(FaultWay::beside, 3),
                     tolerated,
                     {sequence},
                     {},
                     dev});
        r.push_back(
            {"three back, in place", x, with_number, trip, repeated(FaultWay::instead, 3), safe, {sequence}, {}, dev});
        r.push_back({"three back, in place twice, under discard",
                     x,
                     with_number,
                     discard,
                     times(repeated(FaultWay::instead, 3), 2),
                     safe,
                     {sequence},
                     {},
                     dev});
        r.push_back({"three back, in place once, under discard",
                     x,
                     with_number,
                     discard,
                     repeated(FaultWay::instead, 3),
                     tolerated,
                     {sequence},
                     {},
                     dev,
                     Within::a_scan,
                     polled ? nullptr : three_missing});
        r.push_back({"three back, in place for long, errors never add up",
                     x,
                     with_number,
                     Reaction::discard_for_ever,
                     lasting(repeated(FaultWay::instead, 3), milliseconds(300)),
                     safe,
                     {sequence},
                     {},
                     dev});
        r.push_back({"old parameter telegram to the device",
                     x,
                     all,
                     trip,
                     fault_of(FaultWay::old_parameters),
                     safe,
                     {feedback},
                     {},
                     con,
                     Within::two_scans});
        r.push_back({"old parameter telegram to the controller",
                     x,
                     all,
                     trip,
                     on(fault_of(FaultWay::old_parameters), Ways::back),
                     safe,
                     {feedback},
                     {},
                     con});
        // ---- incorrect sequence
        if (polled) {
            r.push_back({"overtaken by a repeat", x, all, trip, held(11), no_effect, {nobody}, {}, {}});
            r.push_back({"held past advances", x, with_number, trip, held(60), safe, {sequence}, {}, dev});
            r.push_back(
                {"held past advances, number implied", x, number, trip, held(60), safe, {integrity}, sequence, dev});
            r.push_back({"held past advances, under discard",
                         x,
                         with_number,
                         discard,
                         held(60),
                         tolerated,
                         {sequence},
                         {},
                         dev});
            r.push_back({"answer held past one advance",
                         x,
                         with_number,
                         trip,
                         on(held(15), Ways::back),
                         no_effect,
                         {nobody},
                         {},
                         {}});
            r.push_back({"answer held past two advances",
                         x,
                         with_number,
                         trip,
                         on(held(60), Ways::back),
                         safe,
                         {sequence, feedback},
                         {},
                         con});
        } else {
            r.push_back(
                {"held, no gap permitted", x, with_number, trip, held(15), safe, {sequence}, {}, dev, Within::next});
            r.push_back({"held, gap permitted",
                         x,
                         with_number,
                         trip,
                         held(25),
                         safe,
                         {sequence},
                         {},
                         dev,
                         Within::a_scan,
                         three_missing});
            r.push_back({"held, gap permitted, number implied",
                         x,
                         number,
                         trip,
                         held(25),
                         safe,
                         {integrity},
                         sequence,
                         dev,
                         Within::a_scan,
                         three_missing});
            r.push_back({"held, gap permitted, under discard",
                         x,
                         with_number,
                         discard,
                         held(25),
                         tolerated,
                         {sequence},
                         {},
                         dev,
                         Within::a_scan,
                         three_missing});
        }
        // ---- loss
        if (polled) {
            r.push_back({"one lost", x, all, trip, fault_of(FaultWay::drop), tolerated, {nobody}, {}, {}});
            r.push_back({"one answer lost",
                         x,
                         all,
                         trip,
                         on(fault_of(FaultWay::drop), Ways::back),
                         tolerated,
                         {nobody},
                         {},
                         {}});
        } else {
            r.push_back({"three lost of three permitted",
                         x,
                         all,
                         trip,
                         times(fault_of(FaultWay::drop), 3),
                         tolerated,
                         {nobody},
                         {},
                         {},
                         Within::any,
                         three_missing});
            r.push_back({"one lost of none permitted",
                         x,
                         with_number,
                         trip,
                         fault_of(FaultWay::drop),
                         safe,
                         {sequence},
                         {},
                         dev,
                         Within::next});
            r.push_back({"one lost of none permitted, number implied",
                         x,
                         number,
                         trip,
                         fault_of(FaultWay::drop),
                         safe,
                         {integrity},
                         sequence,
                         dev,
                         Within::next});
        }
        const Fault cable = lasting(fault_of(FaultWay::drop), milliseconds(300));
        r.push_back({"cable", x, all, trip, on(cable, Ways::both), safe, {time_expectation}, {}, {}, Within::watchdog});
        r.push_back({"cable, the device's deadline first",
                     x,
                     all,
                     trip,
                     on(cable, Ways::both),
                     safe,
                     {time_expectation},
                     {},
                     dev,
                     Within::watchdog,
                     patient_controller});
        r.push_back({"cable, the controller's deadline first",
                     x,
                     all,
                     trip,
                     on(cable, Ways::both),
                     safe,
                     {time_expectation},
                     {},
                     con,
                     Within::watchdog,
                     patient_device});
        // one-way: in a stream the receiver alone misses something; polled both do
        r.push_back({"cable out",
                     x,
                     all,
                     trip,
                     cable,
                     safe,
                     {time_expectation},
                     {},
                     polled ? std::nullopt : std::optional(dev),
                     Within::watchdog});
        r.push_back({"cable back",
                     x,
                     all,
                     trip,
                     on(cable, Ways::back),
                     safe,
                     {time_expectation},
                     {},
                     polled ? std::nullopt : std::optional(con),
                     Within::watchdog});
        if (polled)  // the device hears the same number for ever: repeats must not re-arm it
            r.push_back({"answers cut, the device must stop",
                         x,
                         all,
                         trip,
                         on(cable, Ways::back),
                         safe,
                         {time_expectation},
                         {},
                         dev,
                         Within::watchdog,
                         patient_controller});
        // ---- delay
        r.push_back(
            {"one late, within the watchdog", x, all, trip, late(FaultWay::step, 15), no_effect, {nobody}, {}, {}});
        r.push_back({"one late, outside",
                     x,
                     all,
                     trip,
                     late(FaultWay::step, 120),
                     safe,
                     {time_expectation},
                     {},
                     {},
                     Within::watchdog});
        r.push_back({"small step",
                     x,
                     all,
                     trip,
                     lasting(on(late(FaultWay::step, 8), Ways::both), milliseconds(500)),
                     no_effect,
                     {nobody},
                     {},
                     {}});
        r.push_back({"large step",
                     x,
                     all,
                     trip,
                     lasting(on(late(FaultWay::step, 120), Ways::both), milliseconds(500)),
                     safe,
                     {time_expectation},
                     {},
                     {},
                     Within::watchdog});
        if (polled) {
            r.push_back({"creeping",
                         x,
                         all,
                         trip,
                         lasting(on(late(FaultWay::creeping, 100), Ways::both), milliseconds(900)),
                         safe,
                         {time_expectation},
                         {},
                         {},
                         Within::any});
        } else {
            r.push_back({"creeping, nothing sees it",
                         x,
                         all,
                         trip,
                         lasting(late(FaultWay::creeping, 400), milliseconds(900)),
                         Outcome::dangerous,
                         {nobody},
                         {},
                         {}});
            r.push_back({"creeping, lag sees it",
                         x,
                         {Carries::feedback},
                         trip,
                         lasting(late(FaultWay::creeping, 400), milliseconds(900)),
                         safe,
                         {feedback},
                         {},
                         {},
                         Within::any});
            r.push_back({"creeping, stamp sees it",
                         x,
                         {Carries::time_stamp},
                         trip,
                         lasting(late(FaultWay::creeping, 400), milliseconds(900)),
                         safe,
                         {time_stamp},
                         {},
                         {},
                         Within::any});
            r.push_back({"step below the watchdog, lag sees it",
                         x,
                         {Carries::feedback},
                         trip,
                         lasting(on(late(FaultWay::step, 30), Ways::both), milliseconds(500)),
                         safe,
                         {feedback},
                         {},
                         {},
                         Within::any});
            r.push_back({"step below the watchdog, stamp sees it",
                         x,
                         {Carries::time_stamp},
                         trip,
                         lasting(on(late(FaultWay::step, 30), Ways::both), milliseconds(500)),
                         safe,
                         {time_stamp},
                         {},
                         {},
                         Within::any});
        }
        // ---- insertion
        for (const Ways way : {Ways::out, Ways::back}) {
            const End end = way == Ways::out ? dev : con;
            const std::string to = way == Ways::out ? ", to the device" : ", to the controller";
            r.push_back({"neighbour" + to,
                         x,
                         {Carries::everything, Carries::two_copies},
                         trip,
                         on(fault_of(FaultWay::neighbour), way),
                         safe,
                         {authentication},
                         {},
                         end});
            r.push_back({"neighbour, addresses implied" + to,
                         x,
                         addresses,
                         trip,
                         on(fault_of(FaultWay::neighbour), way),
                         safe,
                         {integrity},
                         authentication,
                         end});
            r.push_back({"neighbour, one under discard" + to,
                         x,
                         addresses,
                         discard,
                         on(fault_of(FaultWay::neighbour), way),
                         tolerated,
                         {integrity},
                         authentication,
                         end});
            r.push_back({"neighbour, a stream of them under discard" + to,
                         x,
                         plain,
                         discard,
                         lasting(on(fault_of(FaultWay::neighbour), way), milliseconds(200)),
                         safe,
                         {authentication},
                         {},
                         end});
            r.push_back({"stray" + to,
                         x,
                         with_number,
                         trip,
                         on(fault_of(FaultWay::stray), way),
                         safe,
                         {sequence, feedback},
                         {},
                         end});
            r.push_back({"stray, number implied" + to,
                         x,
                         number,
                         trip,
                         on(fault_of(FaultWay::stray), way),
                         safe,
                         {integrity},
                         sequence,
                         end});
            // ---- masquerade
            r.push_back({"no CRC" + to, x, all, trip, on(fault_of(FaultWay::no_crc), way), safe, {integrity}, {}, end});
            r.push_back(
                {"another CRC" + to, x, all, trip, on(fault_of(FaultWay::other_crc), way), safe, {integrity}, {}, end});
            // of two zero copies neither is the inverse of the other
            r.push_back({"all zero" + to,
                         x,
                         all,
                         trip,
                         on(fault_of(FaultWay::all_zero), way),
                         safe,
                         {integrity, cross_check},
                         {},
                         end});
            r.push_back({"another CRC, under discard" + to,
                         x,
                         all,
                         discard,
                         on(fault_of(FaultWay::other_crc), way),
                         tolerated,
                         {integrity},
                         {},
                         end});
            // ---- addressing
            r.push_back({"swap" + to,
                         x,
                         {Carries::everything, Carries::two_copies},
                         trip,
                         on(fault_of(FaultWay::swap), way),
                         safe,
                         polled ? std::vector<std::optional<Measure>>{authentication}
                                : std::vector<std::optional<Measure>>{authentication, sequence},
                         {},
                         end,
                         Within::next});
            r.push_back({"swap, addresses implied" + to, x, addresses, trip, on(fault_of(FaultWay::swap), way), safe,
                         polled ? std::vector<std::optional<Measure>>{integrity}
                                : std::vector<std::optional<Measure>>{integrity, sequence},
                         authentication, end, Within::next});
            r.push_back({"one swap, under discard" + to,
                         x,
                         plain,
                         discard,
                         on(fault_of(FaultWay::swap), way),
                         tolerated,
                         {authentication},
                         {},
                         end,
                         Within::next,
                         polled ? nullptr : three_missing});
            const End sender = way == Ways::out ? con : dev;
            r.push_back({"loop-back" + to,
                         x,
                         {Carries::everything, Carries::two_copies},
                         trip,
                         on(fault_of(FaultWay::loop_back), way),
                         safe,
                         {authentication},
                         {},
                         sender});
            r.push_back({"loop-back, addresses implied" + to,
                         x,
                         addresses,
                         trip,
                         on(fault_of(FaultWay::loop_back), way),
                         safe,
                         {integrity},
                         authentication,
                         sender});
            r.push_back({"loop-back, one under discard" + to,
                         x,
                         plain,
                         discard,
                         on(fault_of(FaultWay::loop_back), way),
                         tolerated,
                         {authentication},
                         {},
                         sender});
        }
    }
    // ---- the way back of a polled link alone, and errors that do not add up: repeats keep the device waiting
    r.push_back({"answers corrupted for long",
                 P,
                 one_copy,
                 Reaction::discard_for_ever,
                 lasting(on(random_bits(3), Ways::back), milliseconds(300)),
                 safe,
                 {integrity},
                 {},
                 con,
                 Within::a_scan,
                 patient_controller});
    return r;
}

Scenario scenario_of(const Row& row, Carries carries) {
    Scenario s = row.exchange == P ? tests::polled_link(carries) : tests::streaming_link(carries);
    tests::both_ends(s, [&](proto::LinkSettings& link) {
        link.reaction = row.reaction == Reaction::trip ? proto::Reaction::trip : proto::Reaction::discard;
        if (row.reaction == Reaction::discard_for_ever) link.error_interval = {};
    });
    if (row.change != nullptr) row.change(s);
    s.faults = {row.fault};
    return s;
}

Duration limit_of(const Row& row, const Scenario& s) {
    const Duration way = milliseconds(1), scan = milliseconds(10);
    const Duration here = row.fault.hold + way + scan;
    switch (row.within) {
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

TEST_CASE("each row of the detection table, polled and streaming, at each way of carrying the fields") {
    for (const Row& row : rows()) {
        for (const Carries carries : row.carries) {
            for (int phase = 0; phase < 10; phase += 3) {
                // at phase 0 an exchange takes two cycles, and what is sent beside a repeated answer is one older
                if (phase == 0 && row.name == "previous answer beside") continue;
                Scenario s = scenario_of(row, carries);
                s.device_phase = milliseconds(phase);
                INFO(row.name, ", ", std::string(row.exchange == P ? "polled" : "streaming"), ", ",
                     tests::name_of(carries), ", phase ", phase);
                const sim::RunResult result = sim::rehearse(s, 11 + static_cast<std::uint64_t>(phase));
                REQUIRE(result.link_started);
                const InjectionResult& seen = result.injections.front();
                CHECK_MESSAGE(seen.outcome == row.outcome, "outcome ", sim::name_of(seen.outcome), ", by ",
                              shown(seen.detected_by), " ", seen.why);
                const bool named = std::find(row.by.begin(), row.by.end(), seen.detected_by) != row.by.end();
                CHECK_MESSAGE(named, "detected by ", shown(seen.detected_by));
                // a swapped stream may show its gap before the stranger comes: then no implied field did the work
                const bool by_gap = row.owing_to && row.by.size() > 1 && seen.detected_by == Measure::sequence;
                CHECK_MESSAGE((by_gap || seen.owing_to == row.owing_to), "owing to ", shown(seen.owing_to));
                if (row.at) CHECK(seen.detected_end == row.at);
                if (seen.detect) {
                    const auto limit = limit_of(row, s);
                    CHECK_MESSAGE(*seen.detect <= limit, "after ", seen.detect->ns, " ns");
                }
                if (seen.outcome == Outcome::safe_state) {
                    CHECK(seen.within_limit);
                    // one end's stop takes the other along
                    CHECK(seen.safe_state_controller.has_value());
                    CHECK(seen.safe_state_device.has_value());
                }
                const bool delay = row.fault.way == FaultWay::step || row.fault.way == FaultWay::creeping;
                CHECK(seen.latent == (delay && seen.outcome == Outcome::no_effect));
                CHECK((result.verdict == sim::RunVerdict::dangerous) == (row.outcome == Outcome::dangerous));
                CHECK(result.spurious_trips == 0);
                CHECK(result.twin.spurious_trips == 0);
                CHECK(result.twin.recovered);
            }
        }
    }
}

TEST_CASE("no net change of bits is no injection") {
    Scenario s = tests::polled_link();
    Fault fault = fault_of(FaultWay::flip_bits);
    fault.bits = {5, 5};
    s.faults = {fault};
    const auto result = sim::rehearse(s, 1);
    CHECK(result.injections.front().outcome == Outcome::not_fired);
    CHECK_FALSE(result.injections.front().as_expected);
}

TEST_CASE("answers corrupted for long: the controller rejects, the device hears repeats and its watchdog ends") {
    Scenario s = tests::polled_link();
    tests::both_ends(s, [](proto::LinkSettings& link) {
        link.reaction = proto::Reaction::discard;
        link.error_interval = {};
    });
    patient_controller(s);
    s.faults = {lasting(on(random_bits(3), Ways::back), milliseconds(250))};
    const auto result = sim::rehearse(s, 1);
    const InjectionResult& seen = result.injections.front();
    CHECK(seen.detected_by == Measure::integrity);
    CHECK(seen.also_by.has(Measure::time_expectation));
    REQUIRE(seen.safe_state_device);
    CHECK(*seen.safe_state_device <= milliseconds(45 + 10 + 1));
}

TEST_CASE("a second error under discard stops the end about one cycle after the first") {
    Scenario s = tests::polled_link();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.reaction = proto::Reaction::discard; });
    s.faults = {lasting(fault_of(FaultWay::neighbour), milliseconds(200))};
    const InjectionResult seen = sim::rehearse(s, 1).injections.front();
    REQUIRE(seen.detect);
    REQUIRE(seen.safe_state_device);
    CHECK(*seen.safe_state_device - *seen.detect == milliseconds(10));
}

TEST_CASE("an answer that does not fit fails by its number and by what it feeds back") {
    Scenario s = tests::polled_link();
    s.faults = {on(repeated(FaultWay::beside, 3), Ways::back)};
    const InjectionResult seen = sim::rehearse(s, 1).injections.front();
    proto::MeasureSet both = seen.also_by;
    REQUIRE(seen.detected_by);
    both.add(*seen.detected_by);
    CHECK(both.has(Measure::sequence));
    CHECK(both.has(Measure::feedback));
}

// ---- Dangerous when: what the exchange cannot see by its settings

/// How often the fault was dangerous, over the phases.
unsigned dangerous_phases(Scenario s) {
    unsigned count = 0;
    for (int phase = 0; phase < 10; ++phase) {
        s.device_phase = milliseconds(phase);
        const auto result = sim::rehearse(s, 3);
        const bool dangerous = result.injections.front().outcome == Outcome::dangerous;
        CHECK(dangerous == (result.verdict == sim::RunVerdict::dangerous));
        count += dangerous ? 1 : 0;
    }
    return count;
}

TEST_CASE("dangerous: a pattern that is a codeword of the CRC passes unseen") {
    // The pattern comes from the engine: one bit of the payload and what it does to the CRC.
    for (const proto::Exchange exchange : {P, S}) {
        Scenario s = exchange == P ? tests::polled_link() : tests::streaming_link();
        const proto::Profile& profile = s.controller.link.profile;
        const auto layout = proto::layout_of(profile, 8).value();
        const auto engine = proto::CrcEngine::make(*profile.crc).value();
        const unsigned covered = layout.header_bytes + layout.payload_bytes;
        const unsigned bit = covered * 8 - 3;
        std::vector<std::uint8_t> zeros(covered), one(covered);
        one[bit / 8] = static_cast<std::uint8_t>(0x80U >> bit % 8);
        const std::uint64_t syndrome = engine.over(one) ^ engine.over(zeros);
        Fault fault = fault_of(FaultWay::flip_bits);
        fault.bits = {bit};
        for (unsigned i = 0; i < 32; ++i)
            if ((syndrome >> (31 - i) & 1) != 0) fault.bits.push_back(covered * 8 + i);
        s.faults = {fault};
        CHECK(dangerous_phases(s) == 10);
        fault.bits.pop_back();  // one flip less, and the CRC sees it
        s.faults = {fault};
        CHECK(dangerous_phases(s) == 0);
    }
}

TEST_CASE("dangerous: an old telegram whose number fits again because the number is narrow") {
    Scenario s = tests::polled_link();
    tests::both_ends(s, [](proto::LinkSettings& link) { link.profile.sequence.bits = 2; });
    s.faults = {repeated(FaultWay::beside, 3)};  // n - 3 = n + 1 modulo 4
    CHECK(dangerous_phases(s) == 10);
    s.faults = {repeated(FaultWay::beside, 2)};
    CHECK(dangerous_phases(s) == 0);

    Scenario stream = tests::streaming_link();
    tests::both_ends(stream, [](proto::LinkSettings& link) {
        link.profile.sequence.bits = 4;
        link.missing_allowed = 2;
    });
    for (const unsigned back : {13U, 14U, 15U}) {  // n + 3, n + 2, n + 1 modulo 16
        stream.faults = {repeated(FaultWay::beside, back)};
        CHECK(dangerous_phases(stream) == 10);
    }
    stream.faults = {repeated(FaultWay::beside, 12)};
    CHECK(dangerous_phases(stream) == 0);
}

TEST_CASE("dangerous: a held telegram whose number has come round") {
    Scenario s = tests::polled_link();
    s.faults = {held(46)};
    CHECK(dangerous_phases(s) == 0);
    tests::both_ends(s, [](proto::LinkSettings& link) { link.profile.sequence.bits = 2; });
    CHECK(dangerous_phases(s) > 0);
}

TEST_CASE("dangerous: a neighbour whose implied addresses give the same CRC, or no address at all") {
    for (const bool alias : {true, false}) {
        Scenario s = tests::polled_link();
        tests::both_ends(s, [](proto::LinkSettings& link) {
            link.profile.sequence.bits = 2;
            link.profile.crc = proto::find_crc("CRC-16/IBM-3740")->spec;  // polynomial 0x1021
            link.profile.zero_as_one = false;
            link.profile.address = {proto::Presence::implied, 32};
            link.reaction = proto::Reaction::discard;
            link.error_interval = {};
        });
        s.controller.link.own_address = s.device.link.peer_address = 0x1;
        s.device.link.own_address = s.controller.link.peer_address = 0x2;
        // a difference of 0x11021 is the polynomial itself
        s.neighbour->controller_address = alias ? 0x11020 : 0x11024;
        s.neighbour->device_address = alias ? 0x11023 : 0x11027;
        s.faults = {lasting(fault_of(FaultWay::neighbour), milliseconds(300))};
        // both links count on at one pace, so the number of a start fits always or never: by lot, about one in four
        const auto dangerous_starts = [&] {
            unsigned count = 0;
            for (std::uint64_t seed = 0; seed < 24; ++seed)
                if (sim::rehearse(s, seed).verdict == sim::RunVerdict::dangerous) ++count;
            return count;
        };
        if (alias)
            CHECK(dangerous_starts() > 1);
        else
            CHECK(dangerous_starts() == 0);
        if (!alias) continue;
        tests::both_ends(s, [](proto::LinkSettings& link) { link.profile.address = {}; });
        CHECK(dangerous_starts() > 1);
    }
}

TEST_CASE("a profile that cannot tell its own direction is refused") {
    proto::LinkSettings link = tests::polled_link(Carries::no_addresses).controller.link;
    CHECK_FALSE(proto::fault_in(link).has_value());
    link.profile.direction = proto::Presence::absent;
    const auto refused = proto::fault_in(link);
    REQUIRE(refused);
    CHECK(refused->fault == proto::SettingsFault::loop_back_unseen);
}

}  // namespace
