// Virtual exchanges in full detail (two endpoints, channel, application, observer, digest) beside the bare loop of
// floor.cpp. `ratio` alternates the two in one run and reports the median of the ratios taken round by round: the one
// figure that means something on a machine shared with others.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>
#include <vector>

#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "tests/benchmark/exchange_link.hpp"
#include "tests/benchmark/floor.hpp"

namespace {

constexpr std::uint64_t cycles = 200'000;

sim::Scenario scenario() { return benchmarks::exchange_link(cycles); }

struct Seen {
    std::uint64_t exchanges = 0;
    std::uint64_t digest = 0;
};

Seen product(const sim::Scenario& s, const sim::Limits& limits, std::uint64_t seed) {
    sim::JudgedRun run(s, seed, sim::Faults::none, limits);
    run.cell.run_until(proto::Instant{} + s.duration);
    return {run.observer.exchanges(), run.observer.digest()};
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
