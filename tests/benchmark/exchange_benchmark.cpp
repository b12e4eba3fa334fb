// Virtual exchanges in full detail (two endpoints, channel, application, observer, digest) beside the bare loop of
// floor.cpp. `ratio` alternates the two in one run and reports the median of the ratios taken round by round: the one
// figure that means something on a machine shared with others.
#include <benchmark/benchmark.h>

#include <time.h>
#include <algorithm>

#include <cstdlib>
#include <vector>

#include "proto/crc_catalogue.hpp"
#include "sim/drive/limits.hpp"
#include "sim/drive/world.hpp"
#include "tests/benchmark/floor.hpp"

namespace {

constexpr std::uint64_t cycles = 200'000;

proto::LinkSettings end_settings(proto::End end) {
    proto::LinkSettings s;
    s.end = end;
    s.profile.address = {proto::Presence::carried, 16};
    s.profile.sequence = {proto::Presence::carried, 16};
    s.profile.crc = proto::CrcSpec{32, 0x04C11DB7, 0xFFFFFFFF, false, false, 0};
    s.own_address = end == proto::End::controller ? 0x12 : 0x34;
    s.peer_address = end == proto::End::controller ? 0x34 : 0x12;
    s.payload_sent = s.payload_received = 13;  // 24 bytes in all
    s.cycle = s.scan = proto::milliseconds(4);
    s.watchdog = s.peer_watchdog = proto::milliseconds(12);
    return s;
}

/// The floor's link: 4 ms cycle, 12 ms watchdog, 64-cell delays, one guard signal each way, a press.
sim::Scenario scenario() {
    sim::Scenario s;
    s.file = "benchmark";
    s.duration = proto::milliseconds(4) * static_cast<std::int64_t>(cycles);
    s.controller.name = "controller";
    s.device.name = "device";
    s.controller.link = end_settings(proto::End::controller);
    s.device.link = end_settings(proto::End::device);
    s.device_phase = proto::milliseconds(2);
    sim::DelayShape delay;
    delay.kind = sim::DelayShape::Kind::histogram;
    for (int i = 0; i < 64; ++i)
        delay.cells.push_back({proto::microseconds(200 + 20 * i), proto::microseconds(220 + 20 * i),
                               static_cast<std::uint64_t>(i < 16 ? 3 * (i + 1) : 64 - i)});
    s.to_device.delay = s.to_controller.delay = delay;
    s.safeguards = {{"curtain", proto::End::controller, {}, {}, {}}};
    s.signals = {{"curtain", sim::Direction::to_device, {"curtain"}, {}},
                 {"ready", sim::Direction::to_controller, {}, {}}};
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->bits = {{"curtain", {0, 0}, {}}, {"ready", {0, 0}, {}}};
    s.machine.emplace();
    s.machine->speed_um_s = 60'000;
    s.machine->braking_um_s2 = 600'000;
    s.machine->reactions = {{"curtain", sim::StopCategory::category_0, {}}};
    return s;
}

struct Seen {
    std::uint64_t exchanges = 0;
    std::uint64_t digest = 0;
};

Seen product(const sim::Scenario& s, const sim::Limits& limits, std::uint64_t seed) {
    sim::World world(s, seed, sim::WithFaults::no, limits);
    world.run_until(proto::Instant{} + s.duration);
    return {world.observer().exchanges(), world.observer().digest()};
}

/// Both sides must have done the exchanges they are timed for.
void insist(bool done) {
    if (!done) std::abort();
}

void floor_loop(benchmark::State& state) {
    for (auto _ : state) insist(benchmarks::bare_loop(cycles, 42).exchanges + 2 >= cycles);
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(cycles));
}

void full_detail(benchmark::State& state) {
    const sim::Scenario s = scenario();
    const sim::Limits limits = sim::limits_of(s).limits;
    for (auto _ : state) insist(product(s, limits, 42).exchanges + 20 >= cycles);
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(cycles));
}

void ratio(benchmark::State& state) {
    const sim::Scenario s = scenario();
    const sim::Limits limits = sim::limits_of(s).limits;
    std::vector<double> ratios;
    // processor time of this thread: what others do on the machine does not count
    const auto spent = [] {
        timespec t{};
        clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
        return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) * 1e-9;
    };
    for (auto _ : state) {
        const double t0 = spent();
        insist(benchmarks::bare_loop(cycles, 42).exchanges + 2 >= cycles);
        const double t1 = spent();
        insist(product(s, limits, 42).exchanges + 20 >= cycles);
        const double t2 = spent();
        ratios.push_back((t2 - t1) / (t1 - t0));
    }
    std::sort(ratios.begin(), ratios.end());
    state.counters["median"] = ratios[ratios.size() / 2];
    state.counters["least"] = ratios.front();
    state.counters["most"] = ratios.back();
}

BENCHMARK(floor_loop)->Unit(benchmark::kMillisecond);
BENCHMARK(full_detail)->Unit(benchmark::kMillisecond);
BENCHMARK(ratio)->Unit(benchmark::kMillisecond)->Iterations(21);

}  // namespace
