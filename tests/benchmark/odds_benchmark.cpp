// One point of a sweep near 1e-10 stops per exchange, beside the time that counting stops in the full simulation would
// take for a standard error of 10 % (a hundred stops).
#include <benchmark/benchmark.h>

#include <chrono>
#include <cstdlib>
#include <vector>

#include "proto/crc_catalogue.hpp"
#include "sim/channel/delay_shapes.hpp"
#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "sim/numeric/random.hpp"
#include "sim/odds/block_chain.hpp"
#include "sim/odds/polled_chain.hpp"
#include "sim/odds/splitting.hpp"
#include "tests/benchmark/exchange_link.hpp"

namespace {

using proto::milliseconds;

/// One end of a slower link, whose device scans five times in a cycle.
proto::LinkSettings end_settings(proto::End end, proto::Duration watchdog) {
    proto::LinkSettings s = benchmarks::end_settings(end);
    s.payload_sent = s.payload_received = 8;
    s.cycle = milliseconds(10);
    s.scan = end == proto::End::controller ? s.cycle : milliseconds(2);
    s.watchdog = s.peer_watchdog = watchdog;
    return s;
}

sim::Scenario scenario(proto::Duration watchdog) {
    sim::Scenario s;
    s.file = "benchmark";
    s.controller.link = end_settings(proto::End::controller, watchdog);
    s.device.link = end_settings(proto::End::device, watchdog);
    s.device_phase = proto::microseconds(700);
    s.safeguards = {{"rope", proto::End::controller, {}, {}, {}}};
    s.signals = {{"free", sim::Direction::to_device, {"rope"}, {}}};
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->bits = {{"free", {0, 0}, {}}};
    return s;
}

/// Seconds of the full simulation until a hundred stops were seen at that rate per cycle.
double brute_force(const sim::Scenario& s, double per_cycle) {
    constexpr std::int64_t cycles = 100'000;
    const sim::ScenarioLimits limits = sim::limits_of(s);
    sim::JudgedRun run(s, 1, sim::Faults::none, limits.limits);
    const auto begin = std::chrono::steady_clock::now();
    run.cell.run_until(proto::Instant{} + s.controller.link.cycle * cycles);
    const double spent = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    constexpr double stops = 100.0;
    return spent / static_cast<double>(cycles) * stops / per_cycle;
}

sim::Scenario losses() {
    sim::Scenario s = scenario(milliseconds(55));
    s.to_device.loss = s.to_controller.loss = 0.005;
    return s;
}

/// Delays of up to two cycles each way and losses.
sim::Scenario delays() {
    sim::Scenario s = scenario(milliseconds(85));
    s.to_device.delay = {sim::DelayShape::Kind::uniform, milliseconds(1), milliseconds(17), {}};
    s.to_controller.delay = s.to_device.delay;
    s.to_device.loss = s.to_controller.loss = 0.003;
    return s;
}

/// Constant delays and scans that meet every 30 ms only: how they stand to each other mixes by losses alone.
sim::Scenario slow_mixing() {
    sim::Scenario s = scenario(proto::microseconds(51'700));
    s.device.link.scan = milliseconds(6);
    s.device_phase = milliseconds(1);
    s.to_device.delay.low = s.to_device.delay.high = proto::microseconds(12'437);
    s.to_controller.delay.low = s.to_controller.delay.high = proto::microseconds(10'466);
    s.to_device.loss = s.to_controller.loss = 1e-5;
    return s;
}

/// A formula with its tail, both ways: late telegrams stop the link, lost ones hardly do.
sim::Scenario tails() {
    sim::Scenario s = scenario(milliseconds(125));
    s.device.link.scan = milliseconds(10);
    s.to_device.delay = s.to_controller.delay =
        histogram_of(sim::LognormalDelay{.offset = milliseconds(4), .median = proto::microseconds(2200), .sigma = 0.5});
    return s;
}

sim::Scenario bursts() {
    sim::Scenario s = scenario(milliseconds(405));
    s.to_device.bursts = sim::BurstLoss{0.01, 0.3, 0.001, 0.9};
    return s;
}

sim::Scenario other_traffic() {
    sim::Scenario s = scenario(milliseconds(145));
    s.to_device.queue = s.to_controller.queue = sim::BackgroundTraffic{
        sim::BackgroundTraffic::Kind::bursts, proto::microseconds(200), 0.7, 20, milliseconds(200), 0.7, {}, {}};
    return s;
}

/// 5 000 round trips about 8 ms, of which some that are late come together.
std::vector<proto::Duration> round_trips() {
    const sim::Random draws(8, sim::Concern::trial);
    std::vector<proto::Duration> trips;
    constexpr std::uint64_t count = 5000;
    for (std::uint64_t i = 0; i < count; ++i)
        trips.push_back(milliseconds(6) + proto::microseconds(static_cast<std::int64_t>(draws.below(i, 5000))));
    for (std::uint64_t spike = 0; spike < 12; ++spike) {
        const std::uint64_t at = draws.below(count + spike, count - 8);
        for (std::uint64_t i = 0; i < 5; ++i) trips[at + i] = milliseconds(25 + static_cast<std::int64_t>(spike));
    }
    return trips;
}

/// Measured, each round trip drawn as one.
sim::Scenario pairs() {
    sim::Scenario s = scenario(milliseconds(105));
    s.to_device.delay = s.to_controller.delay =
        histogram_of_round_trips(round_trips(), sim::Direction::to_device, "trips.csv");
    share_round_trips(s.to_device.delay, s.to_controller.delay);
    s.to_device.loss = s.to_controller.loss = 0.003;
    return s;
}

/// The same times in the order of their measuring.
sim::Scenario blocks() {
    sim::Scenario s = pairs();
    s.to_device.delay.block = 20;
    return s;
}

void chain_point(benchmark::State& state, sim::Scenario (*make)()) {
    const sim::Scenario s = make();
    const sim::LinkModel link = sim::model_of(s);
    const bool in_blocks = block_chain_suits(link);
    sim::ChainOdds odds;
    for (auto _ : state) odds = in_blocks ? sim::block_chain(link) : sim::polled_chain(link);
    if (!odds.fits) std::abort();
    state.counters["per_exchange"] = odds.total() / odds.exchanges;
    state.counters["bracket"] = odds.spread + odds.undecided / odds.total();
    state.counters["states"] = static_cast<double>(odds.states);
    state.counters["cycles"] = static_cast<double>(odds.cycles);
    state.counters["brute_force_s"] = brute_force(s, odds.total());
}

void splitting_point(benchmark::State& state, sim::Scenario (*make)()) {
    const sim::Scenario s = make();
    const sim::LinkModel link = sim::model_of(s);
    sim::SplittingOdds odds;
    for (auto _ : state) odds = sim::split(link, {});
    state.counters["per_cycle"] = odds.stops;
    state.counters["standard_error"] = odds.standard_error / odds.stops;
    state.counters["brute_force_s"] = brute_force(s, odds.stops);
}

BENCHMARK_CAPTURE(chain_point, losses, losses)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(chain_point, delays_of_two_cycles, delays)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(chain_point, slow_mixing, slow_mixing)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(chain_point, tails, tails)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(chain_point, pairs, pairs)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(chain_point, bursts, bursts)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(splitting_point, bursts, bursts)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(chain_point, blocks, blocks)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(splitting_point, other_traffic, other_traffic)->Unit(benchmark::kMillisecond);

}  // namespace
