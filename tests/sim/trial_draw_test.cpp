// What a trial draws: every way of an error that the scenario allows, every place, and nothing that the scenario cannot
// have. That a way comes at all is counted; that it comes often enough is a binomial test at 1 in a million.
#include "sim/drive/trial_draw.hpp"

#include <doctest/doctest.h>

#include <boost/math/distributions/binomial.hpp>
#include <map>
#include <set>
#include <vector>

#include "proto/telegram.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using sim::ErrorKind;
using sim::Fault;
using sim::FaultWay;
using sim::Scenario;
using sim::TrialDraw;
using sim::TrialPlan;

constexpr std::uint64_t trials = 6000;

/// The link with one fault of that way.
Scenario with(FaultWay way) {
    Scenario scenario = tests::polled_link();
    Fault fault = tests::fault_of(way);
    fault.error = sim::error_of(way);
    scenario.faults = {fault};
    return scenario;
}

struct Drawn {
    TrialPlan plan;
    Fault fault;
    std::vector<sim::Demand> demands;
};

std::vector<Drawn> draw(const Scenario& scenario, std::uint64_t seed = 3) {
    const TrialDraw draw(scenario);
    Scenario trial = scenario;
    trial.faults.resize(1);
    std::vector<Drawn> all;
    for (std::uint64_t i = 0; i < trials; ++i) {
        const TrialPlan plan = draw.draw(seed, i, trial);
        all.push_back({plan, trial.faults.front(), trial.demands});
    }
    return all;
}

/// So many of the trials have a share of `share`, give or take what chance does once in a million tests.
void expect_share(std::uint64_t seen, double share) {
    const boost::math::binomial_distribution<double> law(static_cast<double>(trials), share);
    CHECK(boost::math::cdf(law, static_cast<double>(seen)) > 1e-6);
    CHECK(boost::math::cdf(boost::math::complement(law, static_cast<double>(seen) - 1.0)) > 1e-6);
}

const std::map<ErrorKind, std::set<FaultWay>>& ways_by_error() {
    static const std::map<ErrorKind, std::set<FaultWay>> all{
        {ErrorKind::corruption,
         {FaultWay::flip_bits, FaultWay::random_bits, FaultWay::burst, FaultWay::bit_rate, FaultWay::truncate}},
        {ErrorKind::repetition,
         {FaultWay::beside, FaultWay::instead, FaultWay::current_again, FaultWay::old_parameters}},
        {ErrorKind::incorrect_sequence, {FaultWay::hold}},
        {ErrorKind::loss, {FaultWay::drop}},
        {ErrorKind::delay, {FaultWay::step, FaultWay::creeping}},
        {ErrorKind::insertion, {FaultWay::neighbour, FaultWay::stray}},
        {ErrorKind::masquerade, {FaultWay::no_crc, FaultWay::other_crc, FaultWay::all_zero}},
        {ErrorKind::addressing, {FaultWay::swap, FaultWay::loop_back}}};
    return all;
}

}  // namespace

TEST_CASE("trial draw: each error comes in every one of its ways, half of them the scenario's") {
    for (const auto& each : ways_by_error()) {
        const ErrorKind error = each.first;  // no structured binding: CAPTURE is a lambda
        const std::set<FaultWay>& ways = each.second;
        const FaultWay written = *ways.begin();
        std::map<FaultWay, std::uint64_t> seen;
        for (const Drawn& drawn : draw(with(written))) {
            CHECK(drawn.fault.error == error);
            ++seen[drawn.fault.way];
        }
        CAPTURE(name_of(error));
        CHECK(seen.size() == ways.size());
        const double others = 0.5 / static_cast<double>(ways.size());
        for (const FaultWay way : ways) {
            CAPTURE(name_of(way));
            expect_share(seen[way], way == written && ways.size() > 1 ? 0.5 + others : ways.size() == 1 ? 1.0 : others);
        }
    }
}

TEST_CASE("trial draw: without a neighbour there is none to come from") {
    for (const FaultWay way : {FaultWay::stray, FaultWay::loop_back}) {
        Scenario scenario = with(way);
        scenario.neighbour.reset();
        for (const Drawn& drawn : draw(scenario)) CHECK(drawn.fault.way == way);
    }
}

TEST_CASE("trial draw: every direction, extent, field and phase comes") {
    std::map<std::pair<bool, bool>, std::uint64_t> directions;
    std::set<sim::TelegramField> fields;
    std::uint64_t lasting = 0, times = 0, starting = 0, demands = 0;
    std::set<std::uint64_t> every;
    std::set<std::int64_t> phases;
    for (const Drawn& drawn : draw(with(FaultWay::random_bits))) {
        ++directions[{drawn.fault.to_device, drawn.fault.to_controller}];
        fields.insert(drawn.fault.field);
        lasting += drawn.fault.lasting ? 1U : 0U;
        times += drawn.fault.times ? 1U : 0U;
        starting += drawn.plan.phase == sim::TrialPhase::starting ? 1U : 0U;
        demands += drawn.plan.demand ? 1U : 0U;
        every.insert(drawn.fault.every);
        phases.insert(drawn.plan.lead.ns % proto::milliseconds(10).ns / proto::microseconds(100).ns);
        CHECK(drawn.demands.size() == (drawn.plan.demand ? 1U : 0U));
        CHECK(drawn.plan.lead.ns % 1000 == 0);
        CHECK_FALSE((drawn.fault.lasting && drawn.fault.times));
    }
    expect_share(directions[{true, false}], 0.5 + 1.0 / 6);
    expect_share(directions[{false, true}], 1.0 / 6);
    expect_share(directions[{true, true}], 1.0 / 6);
    CHECK(fields.size() == 6);
    expect_share(lasting, 0.25);
    expect_share(times, 0.25);
    expect_share(starting, 1.0 / 16);
    expect_share(demands, 0.5);
    CHECK(every == std::set<std::uint64_t>{1, 2, 3, 4});
    CHECK(phases.size() == 100);
}

TEST_CASE("trial draw: what is drawn fits the telegrams and the scenario") {
    for (const auto& [error, ways] : ways_by_error())
        for (const FaultWay written : ways) {
            const Scenario scenario = with(written);
            const proto::LinkSettings& link = scenario.controller.link;
            const unsigned bytes = proto::layout_of(link.profile, link.payload_sent).value().total_bytes;
            const Duration watchdog = std::max(link.watchdog, scenario.device.link.watchdog);
            for (const Drawn& drawn : draw(scenario)) {
                const Fault& fault = drawn.fault;
                for (const unsigned bit : fault.bits) CHECK(bit < bytes * 8);
                CHECK((fault.way != FaultWay::flip_bits || !fault.bits.empty()));
                CHECK(fault.count >= 1);
                CHECK(fault.count <= bytes * 8);
                CHECK(fault.length <= 64);
                CHECK(fault.rate <= 0.5);
                CHECK(fault.back <= 16);
                CHECK(fault.hold <= watchdog * 2);
                CHECK((fault.way != FaultWay::step || fault.lasting));
                CHECK((fault.way != FaultWay::creeping || fault.lasting));
                CHECK((fault.way != FaultWay::old_parameters || (fault.to_device && !fault.to_controller)));
                CHECK((fault.to_device || fault.to_controller));
                CHECK_FALSE(fault.when.any());
                if (fault.lasting) CHECK(*fault.lasting <= std::max(watchdog * 4, link.cycle * 32));
                if (drawn.plan.demand) CHECK(drawn.plan.contact < drawn.plan.acts_for + drawn.plan.latency + watchdog);
            }
        }
}

TEST_CASE("trial draw: a fault of an end keeps its end and lasts at most as long as the scenario has it") {
    for (const FaultWay way : {FaultWay::restart, FaultWay::stall, FaultWay::frozen_data, FaultWay::clock_drift}) {
        Scenario scenario = with(way);
        Fault& written = scenario.faults.front();
        written.at_end = proto::End::controller;
        written.lasting = proto::milliseconds(500);
        written.drift_ppm = way == FaultWay::clock_drift ? -20'000 : 0;
        for (const Drawn& drawn : draw(scenario)) {
            CHECK(drawn.fault.way == way);
            CHECK(drawn.fault.at_end == proto::End::controller);
            REQUIRE(drawn.fault.lasting);
            CHECK(*drawn.fault.lasting > Duration{});
            CHECK(*drawn.fault.lasting <= proto::milliseconds(500));
            CHECK(drawn.fault.drift_ppm <= 0);
            CHECK(drawn.fault.drift_ppm >= -20'000);
            CHECK((drawn.fault.drift_ppm != 0) == (way == FaultWay::clock_drift));
        }
    }
}

TEST_CASE("trial draw: the load of other traffic goes from none to the scenario's highest") {
    Scenario scenario = with(FaultWay::drop);
    sim::BackgroundTraffic queue;
    queue.service = proto::microseconds(100);
    queue.load = 0.25;
    queue.ramp_to = 1.5;
    queue.ramp_lasting = proto::seconds(1);
    queue.room = proto::milliseconds(5);
    scenario.to_device.queue = queue;
    const TrialDraw draw(scenario);
    Scenario trial = scenario;
    std::set<double> loads;
    for (std::uint64_t i = 0; i < trials; ++i) {
        static_cast<void>(draw.draw(3, i, trial));
        loads.insert(trial.to_device.queue->load);
        CHECK(trial.to_device.queue->load == trial.to_device.queue->ramp_to);
    }
    CHECK(loads.size() == 17);
    CHECK(*loads.begin() == 0.0);
    CHECK(*loads.rbegin() == 1.5);
}
