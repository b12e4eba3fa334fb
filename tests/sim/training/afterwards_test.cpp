// What a debrief explains is what the ends really had to go by: held against each drill's own record.
#include <doctest/doctest.h>

#include <algorithm>
#include <bit>
#include <string>

#include "sim/reading/read_drill.hpp"
#include "sim/training/afterwards.hpp"
#include "sim/training/drill_check.hpp"
#include "tests/support/drills.hpp"

namespace {

using tests::drill;
std::unique_ptr<sim::Bench> bench(unsigned number) { return sim::bench_of(drill(number), drill(number).scenario.seed); }

constexpr unsigned all_drills = 23;  // of one link

}  // namespace

TEST_CASE(
    "an end that stopped for want of good telegrams had none in its watchdog time, and one that rejected had one") {
    for (unsigned number = 1; number <= all_drills; ++number) {
        CAPTURE(number);
        const auto at = bench(number);
        for (const sim::End end : {sim::End::controller, sim::End::device}) {
            const sim::Reasoning r = sim::reasoning_of(*at, end);
            CHECK(r.window == at->panel(end).watchdog);
            CHECK(r.stopped == at->first_stop(end));
            if (!r.stopped) continue;
            REQUIRE(r.cause);
            if (*r.cause == proto::Cause::time_expectation) {
                CHECK(r.fresh == 0);
                if (r.last_good) CHECK(*r.last_good >= r.window);
            }
            if (*r.cause == proto::Cause::rejected_telegram) {
                CHECK(r.rejected >= 1);
                const auto examined = sim::first_rejected(*at);
                REQUIRE(examined);
                CHECK(examined->telegram.verdict->failed.has(*r.measure));
            }
        }
    }
}

TEST_CASE("who is deaf: nothing reached the controller, and the I/O heard the same number again and again") {
    const auto at = bench(2);
    const sim::Reasoning controller = sim::reasoning_of(*at, sim::End::controller);
    CHECK(controller.fresh + controller.repeats + controller.rejected + controller.ignored == 0);
    const sim::Reasoning io = sim::reasoning_of(*at, sim::End::device);
    CHECK(io.repeats >= 2);
    CHECK(io.first_number == io.last_number);
    CHECK_FALSE(sim::first_rejected(*at));
}

TEST_CASE("a telegram with changed bits: the fields that differ from what was sent hold all of them") {
    const auto at = bench(7);
    const auto examined = sim::first_rejected(*at);
    REQUIRE(examined);
    CHECK(examined->telegram.end == sim::End::device);
    CHECK(examined->telegram.bits_changed == 3);
    unsigned differing = 0, fields = 0;
    for (std::size_t i = 0; i < examined->fields.size(); ++i) {
        const std::string &is = examined->fields[i].bytes, &was = examined->sent[i];
        if (is.empty() || was.empty() || is == was) continue;
        ++fields;
        for (std::size_t c = 0; c + 1 < is.size(); c += 3)
            differing += static_cast<unsigned>(std::popcount(static_cast<unsigned>(
                std::stoul(is.substr(c, 2), nullptr, 16) ^ std::stoul(was.substr(c, 2), nullptr, 16))));
    }
    CHECK(fields >= 1);
    CHECK(differing == 3);
    const auto crc = std::find_if(examined->fields.begin(), examined->fields.end(),
                                  [](const sim::ExplainedField& field) { return field.name == "CRC"; });
    REQUIRE(crc != examined->fields.end());
    CHECK(crc->differs());
}

TEST_CASE("a late telegram is explained with the number that was accepted before it") {
    const auto at = bench(11);
    const auto examined = sim::first_rejected(*at);
    REQUIRE(examined);
    CHECK(examined->telegram.verdict->failed.has(proto::Measure::sequence));
    REQUIRE(examined->accepted_before);
    REQUIRE(examined->telegram.number);
    CHECK(*examined->telegram.number < *examined->accepted_before);
}

TEST_CASE("an echo: the number that was rejected stands beside what was expected, and differs") {
    const auto at = bench(12);
    const auto examined = sim::first_rejected(*at);
    REQUIRE(examined);
    const auto number = std::find_if(examined->fields.begin(), examined->fields.end(),
                                     [](const sim::ExplainedField& field) { return field.name == "number"; });
    REQUIRE(number != examined->fields.end());
    CHECK(number->differs());
    CHECK(number->expected == "one after " + std::to_string(*examined->accepted_before));
    CHECK(number->found == std::to_string(*examined->telegram.number));
}

TEST_CASE("the strip around the stop is kept, and the machine ran on no longer than its model allows") {
    unsigned ran_on = 0;
    for (unsigned number = 1; number <= all_drills; ++number) {
        CAPTURE(number);
        const auto at = bench(number);
        const auto stopped = [&] {
            const auto c = at->first_stop(sim::End::controller), d = at->first_stop(sim::End::device);
            return c && d ? std::min(*c, *d) : c ? *c : d ? *d : sim::Instant{-1};
        }();
        const auto& strip = at->record().around_stop.samples();
        if (stopped.ns < 0) {
            CHECK(strip.empty());
            continue;
        }
        REQUIRE(strip.size() > 2);
        CHECK(strip.front().at <= stopped);
        CHECK(strip.front().at + sim::Bench::strip_before >= stopped);
        CHECK(strip.back().at > stopped);
        CHECK(strip.back().at <= stopped + sim::Bench::strip_after);
        if (!at->ran_on()) continue;
        // the end with the drive may stop later than the first, by one response of the link at most
        CHECK(at->ran_on()->to_command >= sim::Duration{});
        CHECK(at->ran_on()->to_command <=
              at->panel(sim::End::device).watchdog * 2 + at->panel(sim::End::controller).watchdog * 2);
        REQUIRE(at->stopping_time());
        CHECK(at->ran_on()->to_standstill > sim::Duration{});
        CHECK(at->ran_on()->to_standstill <= *at->stopping_time());
        ++ran_on;
    }
    CHECK(ran_on >= 12);
}
