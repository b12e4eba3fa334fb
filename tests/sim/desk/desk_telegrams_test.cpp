// Telegrams at a desk: on their way, what became of them, byte by byte; and going on by steps.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "sim/desk/desk_bench.hpp"
#include "sim/desk/usual_fault.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace {

using sim::DeskBench;
using sim::DeskFate;
using sim::DeskTelegram;
using sim::Instant;

sim::Scenario both_directions() {
    auto read = sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/templates/both_directions.toml");
    REQUIRE(read.ok());
    return std::move(read.value());
}

Instant at_ms(std::int64_t ms) { return Instant{} + proto::milliseconds(ms); }

TEST_CASE("each telegram is told with when it is due, and arrives then") {
    DeskBench bench(both_directions(), 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(1000));
    bench.record_telegrams(true);
    std::vector<DeskTelegram> seen;
    for (int i = 0; i < 60; ++i) {
        REQUIRE(bench.step(at_ms(5000)));
        for (const DeskTelegram& telegram : bench.telegrams()) {
            const auto before =
                std::find_if(seen.begin(), seen.end(), [&](const DeskTelegram& one) { return one.id == telegram.id; });
            if (before == seen.end()) {
                seen.push_back(telegram);
                continue;
            }
            // what was told once stays true
            CHECK(before->due == telegram.due);
            CHECK(before->made == telegram.made);
            CHECK(before->number == telegram.number);
            if (telegram.fate == DeskFate::on_the_way) CHECK(bench.now() <= *telegram.due);
            if (telegram.fate == DeskFate::waits) CHECK(telegram.fated == telegram.due);
            *before = telegram;
        }
    }
    REQUIRE(seen.size() > 10);
    CHECK(std::count_if(seen.begin(), seen.end(), [](const DeskTelegram& one) {
              return one.fate == DeskFate::accepted && one.fated >= one.due && one.due > one.made;
          }) > 5);
    CHECK(std::all_of(seen.begin(), seen.end(), [](const DeskTelegram& one) { return one.number.has_value(); }));
}

TEST_CASE("a bent telegram is rejected where it arrives, and explained byte by byte against what was sent") {
    const sim::Scenario scenario = both_directions();
    DeskBench bench(scenario, 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(1000));
    const sim::Fault bent = sim::usual_fault(scenario, sim::FaultWay::random_bits, sim::FaultDirection::to_device);
    CHECK_FALSE(bench.put_in("", bent, {}));
    bench.run_until(at_ms(1500));
    // each is not kept, but what is rejected is
    const std::vector<DeskTelegram> kept = bench.telegrams();
    const auto rejected =
        std::find_if(kept.begin(), kept.end(), [](const DeskTelegram& one) { return one.fate == DeskFate::rejected; });
    REQUIRE(rejected != kept.end());
    CHECK(kept.size() <= 3);
    CHECK(rejected->way == sim::Direction::to_device);
    CHECK(rejected->measure == proto::Measure::integrity);
    CHECK(rejected->reason.find("3 random bits flipped") != std::string::npos);
    CHECK(rejected->bytes.size() == rejected->sent.size());
    CHECK(rejected->bytes != rejected->sent);
    const auto explained = bench.explain(rejected->id);
    REQUIRE(explained);
    CHECK(explained->words.find("rejected by integrity") != std::string::npos);
    CHECK(std::any_of(explained->fields.begin(), explained->fields.end(),
                      [](const sim::DeskField& field) { return !field.sent.empty() && field.sent != field.bytes; }));
    CHECK(std::any_of(explained->fields.begin(), explained->fields.end(),
                      [](const sim::DeskField& field) { return field.expected != field.found; }));
    CHECK_FALSE(bench.explain(rejected->id + 1'000'000));
}

TEST_CASE("what a fault drops is lost with its words, and what one sends besides is told as such") {
    const sim::Scenario scenario = both_directions();
    DeskBench bench(scenario, 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(1000));
    bench.record_telegrams(true);
    CHECK_FALSE(bench.put_in(
        "", sim::usual_fault(scenario, sim::FaultWay::current_again, sim::FaultDirection::to_controller), {}));
    bench.run_until(at_ms(1100));
    CHECK_FALSE(bench.cable("", false));
    bench.run_until(at_ms(1300));
    unsigned lost = 0, beside = 0;
    for (const DeskTelegram& one : bench.telegrams()) {
        if (one.fate == DeskFate::lost) {
            ++lost;
            CHECK_FALSE(one.due);
            CHECK(one.reason.find("dropped by a fault") != std::string::npos);
        }
        if (!one.beside) continue;
        ++beside;
        CHECK(one.way == sim::Direction::to_controller);
        CHECK((one.fate == DeskFate::repeated || one.fate == DeskFate::rejected || one.fate == DeskFate::ignored));
    }
    CHECK(lost > 3);
    CHECK(beside == 1);
}

TEST_CASE("until something changes goes to the nanosecond behind the change, or says that nothing came") {
    DeskBench bench(both_directions(), 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(2000));
    CHECK_FALSE(bench.run_to_change(at_ms(62'000)));
    CHECK(bench.now() == at_ms(62'000));
    CHECK_FALSE(bench.cable("", false));
    REQUIRE(bench.run_to_change(at_ms(70'000)));
    const sim::DeskLink link = bench.shown().links.front();
    const Instant since = std::max(link.controller.since, link.device.since);
    CHECK(bench.now() == since + proto::Duration{1});
    CHECK(since - at_ms(62'000) <= link.controller.watchdog + proto::milliseconds(30));
}

TEST_CASE("going on by steps or at once shows the same") {
    const auto go = [](bool by_steps) {
        DeskBench bench(both_directions(), 3, DeskBench::Begin::as_written);
        if (by_steps)
            while (bench.step(at_ms(4000))) {
            }
        bench.run_until(at_ms(4000));
        const sim::DeskLink link = bench.shown().links.front();
        return std::vector<std::uint64_t>{link.controller.counters.sent, link.device.counters.accepted,
                                          static_cast<std::uint64_t>(link.device.since.ns), bench.log().size()};
    };
    CHECK(go(true) == go(false));
}

}  // namespace
