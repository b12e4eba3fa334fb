// Response time part by part, stopping time, longest watchdog, and the worst that a search in the simulation sees.
#include "sim/timing/response.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>
#include <vector>

#include "sim/reading/read.hpp"
#include "sim/studies/worst_seen.hpp"
#include "sim/timing/bounds.hpp"
#include "tests/support/close.hpp"
#include "tests/support/effort.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::milliseconds;
using sim::Scenario;
using sim::StopCategory;

double ms(Duration d) { return static_cast<double>(d.ns) / 1e6; }

sim::ResponsePart link_of(const sim::ResponseTime& response) {
    const auto found = std::find_if(response.parts.begin(), response.parts.end(),
                                    [](const sim::ResponsePart& part) { return part.name == "link"; });
    REQUIRE(found != response.parts.end());
    return *found;
}

/// Polled, scans of 10 ms at both ends, delays 0 to 4 ms, nothing required.
Scenario ten_ms(Duration watchdog) {
    Scenario s = tests::polled_link();
    s.required = {};
    s.to_device.delay = s.to_controller.delay = {sim::DelayShape::Kind::uniform, {}, milliseconds(4), {}};
    return sim::with_watchdog(s, watchdog);
}

void guard_at(Scenario& s, const std::string& safeguard, std::int64_t there_um) {
    s.distance = sim::GuardDistance{.safeguard = safeguard,
                                    .how = {.edition = sim::Edition::iso_13855_2010,
                                            .approach = sim::Approach::right_angle,
                                            .resolution_um = 14'000},
                                    .there_um = there_um,
                                    .where = {}};
}

}  // namespace

// IEC 62541-15 (1.05.04), 8.2, worked: request 4, provider 10, response 4, consumer 10 ms need a watchdog of 28 ms, and
// the response is at most 66 ms; to ride through one lost exchange 38 ms, and 86 ms.
TEST_CASE("the link counts two watchdogs and a scan: 28 ms give 66 ms, 38 ms give 86 ms") {
    for (const auto& [watchdog, bound] : {std::pair{28, 66}, {38, 86}, {60, 130}}) {
        Scenario s = ten_ms(milliseconds(watchdog));
        for (const char* guard : {"rope_pull", "table_curtain"}) {
            s.demands = {tests::demand_of(guard, milliseconds(1))};
            const sim::ResponseTime response = sim::response_of(s);
            CHECK(response.safeguard == guard);
            CHECK(link_of(response).with_fault == milliseconds(bound));
            CHECK(*response.response == milliseconds(bound) + response.parts.front().delay);
        }
    }
    // exchange 28 ms, one way 4 ms, scan 10 ms
    Scenario s = ten_ms(milliseconds(60));
    s.demands = {tests::demand_of("rope_pull", milliseconds(1))};
    CHECK(link_of(sim::response_of(s)).delay == milliseconds(28 + 4 + 10));
    s.demands = {tests::demand_of("table_curtain", milliseconds(1))};
    CHECK(link_of(sim::response_of(s)).delay == milliseconds(28) * 2);
}

TEST_CASE("parts add up with one fault at a time, so only the largest excess counts") {
    const std::vector<sim::ResponsePart> links{{"one", milliseconds(20), milliseconds(66), ""},
                                               {"two", milliseconds(30), milliseconds(86), ""}};
    CHECK(sim::added_up(links) == milliseconds(20 + 30 + 56));
    CHECK(sim::added_up({}) == Duration{});
    Scenario s = ten_ms(milliseconds(28));
    const Duration without = *sim::response_of(s).response;
    s.outside_parts = {{.name = "relay",
                        .at = sim::OutsidePart::Place::after_link,
                        .delay = milliseconds(5),
                        .with_fault = milliseconds(6),
                        .source = "data sheet"}};
    CHECK(*sim::response_of(s).response == without + milliseconds(5));
    // one that loses more by a fault than the link does takes the link's place
    s.outside_parts.front().with_fault = milliseconds(500);
    const sim::ResponsePart link = link_of(sim::response_of(s));
    CHECK(*sim::response_of(s).response == without - (link.with_fault - link.delay) + milliseconds(500));
}

TEST_CASE("parts stand in the order of the way, each with its source") {
    Scenario s = ten_ms(milliseconds(60));
    const auto names = [&] {
        std::string all;
        for (const sim::ResponsePart& part : sim::response_of(s).parts) {
            CHECK_FALSE(part.source.empty());
            CHECK(part.with_fault >= part.delay);
            all += part.name + ", ";
        }
        return all;
    };
    s.demands = {tests::demand_of("rope_pull", milliseconds(1))};
    CHECK(names() == "sensor, controller scan, link, device scan, drive, ");
    s.demands = {tests::demand_of("table_curtain", milliseconds(1))};
    CHECK(names() == "sensor, device scan, link, controller scan, drive, ");
}

TEST_CASE("a stream has a response only with its age measured or its delay declared") {
    Scenario s = tests::streaming_link();
    s.demands = {tests::demand_of("rope_pull", milliseconds(1))};
    CHECK_FALSE(sim::response_of(s).response);
    CHECK_FALSE(sim::longest_watchdog(s).longest());
    CHECK(sim::longest_watchdog(s).none);
    CHECK_FALSE(sim::requirements_kept(s, sim::response_of(s)).kept);
    s.declared_delay = milliseconds(3);
    // 2 * 3 - 1 + 3 * 10 + 2 * 45 - 10
    CHECK(link_of(sim::response_of(s)).with_fault == milliseconds(115));
    s.demands = {tests::demand_of("table_curtain", milliseconds(1))};
    CHECK(link_of(sim::response_of(s)).with_fault == milliseconds(115 + 10 + 115));
    CHECK(sim::response_of(tests::streaming_link(tests::Carries::feedback)).response);
    CHECK(sim::response_of(tests::streaming_link(tests::Carries::time_stamp)).response);
}

TEST_CASE("a stop counts only as far as something sees to it") {
    Scenario s = ten_ms(milliseconds(45));
    s.demands = {tests::demand_of("rope_pull", milliseconds(1))};
    sim::Machine machine;
    machine.reaction_delay = milliseconds(10);
    machine.speed_um_s = 200'000;
    machine.reduced_speed_um_s = 50'000;
    machine.braking_um_s2 = 1'000'000;  // 200 ms
    machine.ramp_um_s2 = 2'000'000;     // 100 ms, 75 ms to the reduced speed
    const std::string signal = s.machine->reactions.front().signal;
    const auto stopping = [&](StopCategory stop) {
        s.machine = machine;
        s.machine->reactions = {{.signal = signal, .stop = stop, .where = {}}};
        return sim::response_of(s).stopping;
    };
    CHECK(stopping(StopCategory::category_0) == milliseconds(210));
    // the power goes after drive and ramp, then category 0 from full speed
    CHECK(stopping(StopCategory::category_1) == milliseconds(110 + 210));
    s.stopping.power_off_after = milliseconds(50);
    CHECK(stopping(StopCategory::category_1) == milliseconds(50 + 210));
    CHECK_FALSE(stopping(StopCategory::category_2));
    CHECK_FALSE(stopping(StopCategory::reduced_speed));
    CHECK_FALSE(sim::response_of(s).overall);
    s.stopping.ramp_monitored = true;
    CHECK(stopping(StopCategory::category_1) == milliseconds(110));
    s.stopping.standstill_monitored = s.stopping.reduced_speed_ends_hazard = true;
    CHECK(stopping(StopCategory::category_2) == milliseconds(110));
    CHECK_FALSE(stopping(StopCategory::reduced_speed));  // nothing monitors it, whatever the risk assessment says
    machine.reduced_speed_monitor = sim::SpeedMonitor{10'000, milliseconds(20), StopCategory::category_0};
    CHECK(stopping(StopCategory::reduced_speed) == milliseconds(85));
    s.stopping.reduced_speed_ends_hazard = false;
    CHECK_FALSE(stopping(StopCategory::reduced_speed));
    s.stopping.ramp_monitored = false;
    machine.braking_um_s2 = 0;
    CHECK_FALSE(stopping(StopCategory::category_1));
}

TEST_CASE("an error of the link leads to the most severe reaction, which may take longer than the guard's own") {
    Scenario s = ten_ms(milliseconds(45));
    s.stopping.ramp_monitored = true;
    s.machine->ramp_um_s2 = s.machine->speed_um_s * 100;   // 10 ms
    s.machine->braking_um_s2 = s.machine->speed_um_s * 2;  // 500 ms
    s.safeguards.push_back({.name = "key_switch", .at = sim::End::controller, .where = {}});
    s.signals.push_back(
        {.name = "key_on", .direction = sim::Direction::to_device, .all_of = {"key_switch"}, .where = {}});
    s.demands = {tests::demand_of("key_switch", milliseconds(1))};
    s.machine->reactions.front().stop = StopCategory::category_0;
    s.machine->reactions.push_back({.signal = "key_on", .stop = StopCategory::category_1, .where = {}});
    const sim::ResponseTime response = sim::response_of(s);
    CHECK(response.safeguard == "key_switch");
    CHECK(*response.stopping == s.machine->reaction_delay + milliseconds(500));
    CHECK_FALSE(response.stops.front().by_guard);
    CHECK(response.stops.back().by_guard);
}

TEST_CASE("stopping time of measurements: the larger of maximum and mean + 3 sigma, rounded up") {
    // 118 and 122 ms five times each: mean 120 ms, sigma of the sample sqrt(40 / 9) ms; an independent calculation
    std::vector<Duration> times;
    for (int i = 0; i < 5; ++i) {
        times.push_back(milliseconds(118));
        times.push_back(milliseconds(122));
    }
    const double expected = 120.0 + 3.0 * std::sqrt(40.0 / 9.0);
    const Duration found = sim::stopping_time_of_measurements(times);
    CHECK(ms(found) >= expected - 1e-9);
    CHECK(ms(found) < expected + 2e-6);
    // one far out of many: the maximum
    times.assign(100, milliseconds(100));
    times.push_back(milliseconds(400));
    CHECK(sim::stopping_time_of_measurements(times) == milliseconds(400));
    times.assign(10, milliseconds(100));
    CHECK(sim::stopping_time_of_measurements(times) == milliseconds(100));
    // as large as they may be: nothing overflows
    times.assign(10'000, proto::seconds(3600));
    times.front() = Duration{1};
    const double sigma = 3600e3 * std::sqrt((1.0 / 1e4) * (1.0 - 1.0 / 1e4) * 1e4 / 9999.0);
    CHECK(tests::close_to(ms(sim::stopping_time_of_measurements(times)), 3600e3 * (1 - 1e-4) + 3 * sigma, 1e-9));
}

TEST_CASE("the longest watchdog is exact: it keeps everything, a microsecond more does not") {
    tests::Draws draws(77);
    for (int i = 0; i < 40; ++i) {
        Scenario s = ten_ms(milliseconds(45));
        s.machine->reactions.front().stop = StopCategory::category_0;
        s.machine->braking_um_s2 = s.machine->speed_um_s * draws.between(2, 40);
        const std::string guard = draws.one_in(2) ? "rope_pull" : "table_curtain";
        guard_at(s, guard, draws.between(300'000, 1'500'000));
        if (draws.one_in(2)) s.required.overall = milliseconds(draws.between(50, 900));
        if (draws.one_in(2)) s.required.to_device = milliseconds(draws.between(30, 400));
        const sim::LongestWatchdog longest = sim::longest_watchdog(s);
        const auto kept = [&](Duration watchdog) {
            const Scenario changed = sim::with_watchdog(s, watchdog);
            return sim::requirements_kept(changed, sim::response_of(changed)).kept;
        };
        if (const auto most = longest.longest()) {
            CHECK(kept(*most));
            CHECK_FALSE(kept(*most + proto::microseconds(1)));
        } else {
            CHECK(longest.none);
            CHECK_FALSE(kept(s.controller.link.cycle + proto::microseconds(1)));
        }
    }
    // WD = (time at hand - fixed part) / 2: 520 mm give 325 ms, and sensor, scan and stop are fixed.
    Scenario s = ten_ms(milliseconds(45));
    s.machine->reactions.front().stop = StopCategory::category_0;
    s.machine->braking_um_s2 = s.machine->speed_um_s * 10;
    guard_at(s, "rope_pull", 520'000);
    const sim::ResponseTime response = sim::response_of(s);
    const Duration fixed = response.parts.front().delay + milliseconds(10) + *response.stopping;
    CHECK(sim::longest_watchdog(s).by_distance == proto::microseconds((milliseconds(325) - fixed).ns / 2000));
}

// Own exhaustive search with other code (tests/exhaustive/bounds_test.cpp finds the same): scans of 10 ms, delays of 0
// to 4 ms. Without jitter no more than (2 * floor(WD / T) + 1) * T can be seen.
TEST_CASE("R-87: the search sees 50, 70 and 130 ms at watchdogs of 28, 38 and 60 ms") {
    for (const auto& [watchdog, tight, bound] : {std::tuple{28, 50, 66}, {38, 70, 86}, {60, 130, 130}}) {
        Scenario s = ten_ms(milliseconds(watchdog));
        for (const char* guard : {"rope_pull", "table_curtain"}) {
            s.demands = {tests::demand_of(guard, milliseconds(1))};
            const sim::WorstSeen seen = sim::search_worst(s, {.placings = 4000});
            MESSAGE("watchdog ", watchdog, " ms, ", std::string(guard), ": seen ", ms(seen.link), " of ", bound, " ms");
            CHECK(seen.any());
            CHECK_FALSE(seen.never);
            CHECK(seen.link <= milliseconds(tight));
            CHECK(seen.link > milliseconds(tight - 2));
        }
    }
}

TEST_CASE("R-87: what is seen never exceeds the bound, in any scenario that ships") {
    std::size_t compared = 0;
    for (const std::string& file : tests::shipped_scenarios(LINKDRILL_SOURCE_DIR)) {
        const auto read = sim::read_scenario(file);
        REQUIRE(read.ok());
        const sim::ResponseTime response = sim::response_of(read.value());
        const sim::WorstSeen seen =
            sim::search_worst(read.value(), {.placings = tests::depth_wanted() < 6 ? 300U : 2000U});
        if (!response.response || !seen.any()) continue;
        ++compared;
        INFO(file);
        CHECK_FALSE(seen.never);
        CHECK(seen.link <= link_of(response).with_fault);
        CHECK(seen.link >= Duration{link_of(response).with_fault.ns / 2});
    }
    CHECK(compared >= 10);
}

TEST_CASE("R-87: random links, polled and streaming, are never seen above their bound") {
    tests::Draws draws(4711);
    double closest_polled = 0, closest_streaming = 0;
    for (int i = 0; i < (tests::depth_wanted() < 6 ? 10 : 40); ++i) {
        const bool polled = i % 2 == 0;
        const tests::Carries carries[] = {tests::Carries::everything, tests::Carries::feedback,
                                          tests::Carries::time_stamp};
        Scenario s = polled ? tests::polled_link() : tests::streaming_link(carries[draws.below(3)]);
        s.required = {};
        const Duration cycle = proto::microseconds(draws.between(40, 140) * 100);
        tests::both_ends(s, [&](proto::LinkSettings& link) {
            link.cycle = link.scan = cycle;
            if (!polled) link.missing_allowed = 20;
        });
        s.device.link.scan = proto::microseconds(draws.between(20, 140) * 100);
        const Duration low = proto::microseconds(draws.between(0, 2000));
        s.to_device.delay = s.to_controller.delay = {
            sim::DelayShape::Kind::uniform, low, low + proto::microseconds(draws.between(0, 3000)), {}};
        s.declared_delay = s.to_device.delay.high;
        const Duration least = cycle * 2 + s.device.link.scan + s.to_device.delay.high * 2;
        s = sim::with_watchdog(s, least + proto::microseconds(draws.between(100, 40'000)));
        s.demands = {tests::demand_of(draws.one_in(2) ? "rope_pull" : "table_curtain", milliseconds(1))};
        const sim::WorstSeen seen = sim::search_worst(s, {.placings = 1000});
        if (!seen.any()) continue;
        const Duration bound = link_of(sim::response_of(s)).with_fault;
        const double share = ms(seen.link) / ms(bound);
        if (share > 1.0) FAIL_CHECK("run ", i, ": ", ms(seen.link), " ms, bound ", ms(bound), " ms");
        (polled ? closest_polled : closest_streaming) = std::max(polled ? closest_polled : closest_streaming, share);
    }
    MESSAGE("closest to the bound: polled ", closest_polled, ", streaming ", closest_streaming);
    CHECK(closest_polled > 0.9);
    CHECK(closest_streaming > 0.9);
}

TEST_CASE("the search gives the same whatever the number of threads, and its placing can be repeated") {
    Scenario s = ten_ms(milliseconds(38));
    const sim::WorstSeen one = sim::search_worst(s, {.placings = 1200, .jobs = 1});
    const sim::WorstSeen four = sim::search_worst(s, {.placings = 1200, .jobs = 4});
    CHECK(one.link == four.link);
    CHECK(one.tried == four.tried);
    CHECK(sim::words_of(one.placing) == sim::words_of(four.placing));
    CHECK(sim::seen_with(s, one.placing) == one.link);
}

TEST_CASE("a link that does not start, and bit maps that differ, give nothing to compare") {
    Scenario s = ten_ms(milliseconds(38));
    s.device.link.peer_address = 0x7777;
    CHECK_FALSE(sim::search_worst(s, {.placings = 100}).link_started);
    s = ten_ms(milliseconds(38));
    for (sim::TypedBit& bit : s.device.bits) bit.place.bit = (bit.place.bit + 3) % 8;
    tests::use_typed_bits(s);
    const sim::WorstSeen seen = sim::search_worst(s, {.placings = 100});
    CHECK_FALSE(seen.any());
}

TEST_CASE("a longer chain over both ends counts one watchdog more, and is seen within it") {
    // controller -> device -> controller -> device
    Scenario s = ten_ms(milliseconds(60));
    s.safeguards = {{.name = "rope_pull", .at = sim::End::controller, .where = {}}};
    s.signals = {{.name = "first", .direction = sim::Direction::to_device, .all_of = {"rope_pull"}, .where = {}},
                 {.name = "second", .direction = sim::Direction::to_controller, .all_of = {"first"}, .where = {}},
                 {.name = "third", .direction = sim::Direction::to_device, .all_of = {"second"}, .where = {}}};
    s.machine->reactions = {{.signal = "third", .stop = StopCategory::category_0, .where = {}}};
    s.machine->braking_um_s2 = s.machine->speed_um_s;
    for (sim::TypedEnd* end : {&s.controller, &s.device})
        end->bits = {{"first", {0, 0}, {}}, {"second", {0, 0}, {}}, {"third", {0, 1}, {}}};
    tests::use_typed_bits(s);
    s.demands = {tests::demand_of("rope_pull", milliseconds(1))};
    const Duration bound = link_of(sim::response_of(s)).with_fault;
    CHECK(bound == milliseconds(3 * 60 + 10));
    const sim::WorstSeen seen = sim::search_worst(s, {.placings = 4000});
    MESSAGE("seen ", ms(seen.link), " of ", ms(bound), " ms");
    CHECK(seen.link <= bound);
}
