// A simulated year of a link with a cycle of 4 ms on one thread: the chance of 1e-6 that a telegram is lost, and bit
// errors besides. `windows` were simulated in full; `ratio` is the time for one of them over the bare exchange of
// floor.cpp, both taken alternately in one run, the median of the rounds.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>
#include <vector>

#include "sim/drive/endurance.hpp"
#include "sim/scenario/scenario.hpp"
#include "tests/benchmark/exchange_link.hpp"
#include "tests/benchmark/floor.hpp"

namespace {

constexpr std::uint64_t floor_cycles = 200'000;

sim::Scenario lossy_link() {
    sim::Scenario s;
    s.file = "benchmark";
    s.controller.name = "controller";
    s.device.name = "device";
    s.controller.link = benchmarks::end_settings(proto::End::controller);
    s.device.link = benchmarks::end_settings(proto::End::device);
    s.controller.link.reaction = s.device.link.reaction = proto::Reaction::discard;
    s.device_phase = proto::milliseconds(2);
    for (sim::ChannelSettings* way : {&s.to_device, &s.to_controller}) {
        way->delay.kind = sim::DelayShape::Kind::uniform;
        way->delay.low = proto::microseconds(200);
        way->delay.high = proto::microseconds(1500);
        way->loss = 1e-6;
        way->bit_error_rate = 1e-9;
    }
    s.operator_acts = {{sim::OperatorAct::Event::acknowledgement_requested,
                        sim::OperatorAct::Act::acknowledge,
                        proto::milliseconds(300),
                        {}}};
    return s;
}

struct Unwatched final : sim::EnduranceMonitor {
    bool go_on(double) override { return true; }
};

double spent() {
    timespec t{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) * 1e-9;
}

void year(benchmark::State& state) {
    const sim::Scenario s = lossy_link();
    Unwatched nobody;
    std::vector<double> ratios;
    std::uint64_t windows = 0;
    std::uint64_t seed = 0;
    for (auto _ : state) {
        const double t0 = spent();
        if (benchmarks::bare_loop(floor_cycles, 42).exchanges + 2 < floor_cycles) std::abort();
        const double t1 = spent();
        const sim::EnduranceResult result =
            sim::endure({s, ++seed, sim::parts_of_years(1.0), sim::EnduranceMethod::jumps, 1}, nobody);
        const double t2 = spent();
        if (result.cycles < 7'889'000'000 || result.windows < 10'000) std::abort();
        state.SetIterationTime(t2 - t1);
        windows = result.windows;
        ratios.push_back((t2 - t1) / static_cast<double>(result.windows) / ((t1 - t0) / floor_cycles));
    }
    std::sort(ratios.begin(), ratios.end());
    state.counters["windows"] = static_cast<double>(windows);
    state.counters["ratio"] = ratios[ratios.size() / 2];
}

BENCHMARK(year)->Unit(benchmark::kMillisecond)->UseManualTime()->Iterations(9);

}  // namespace
