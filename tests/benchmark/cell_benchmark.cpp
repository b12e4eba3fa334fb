// Eight links at one controller beside the same eight links, each alone. `ratio` alternates the two in one run and
// reports the median of the ratios taken round by round.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>
#include <string>
#include <vector>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/judged_links.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tests/benchmark/exchange_link.hpp"

namespace {

constexpr std::uint64_t cycles = 60'000;

/// So many times the link that the other benchmarks move, told apart by their numbers; what each brings back is passed
/// on to the next.
sim::WholeCell cell_of(std::size_t links) {
    sim::WholeCell cell;
    for (std::size_t i = 0; i < links; ++i) {
        sim::Scenario alone = benchmarks::exchange_link(cycles);
        cell.duration = alone.duration;
        alone.safeguards.clear();
        alone.demands.clear();
        alone.functions.clear();
        const std::vector<sim::Signal> own = alone.signals;
        alone.signals.clear();
        for (std::size_t j = 0; j < links; ++j)
            for (sim::Signal signal : own) {
                signal.name += " " + std::to_string(j);
                signal.all_of.clear();
                if (signal.direction == sim::Direction::to_device)
                    signal.all_of = {own.back().name + " " + std::to_string((j + 1) % links)};
                signal.elsewhere = i != j;
                alone.signals.push_back(signal);
                if (i == 0) cell.signals.push_back(j);
            }
        for (sim::TypedEnd* end : {&alone.controller, &alone.device})
            for (sim::TypedBit& bit : end->bits) bit.signal += " " + std::to_string(i);
        if (alone.machine)
            for (sim::MachineReaction& reaction : alone.machine->reactions) reaction.signal += " " + std::to_string(i);
        cell.links.push_back({"link " + std::to_string(i), std::move(alone), {}});
    }
    sim::complete_links(cell);
    return cell;
}

double spent() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) * 1e-9;
}

void insist(bool done) {
    if (!done) std::abort();
}

void cell_ratio(benchmark::State& state) {
    const auto links = static_cast<std::size_t>(state.range(0));
    const sim::WholeCell cell = cell_of(links);
    const proto::Instant end = proto::Instant{} + cell.duration;
    std::vector<double> ratios;
    for (auto _ : state) {
        const double t0 = spent();
        for (std::size_t i = 0; i < links; ++i) {
            const sim::Scenario one = sim::in_cell(cell, i);
            sim::JudgedRun run(one, sim::seed_of_link(7, i), sim::Faults::none, sim::limits_of(one).limits);
            run.cell.run_until(end);
            insist(run.observer.exchanges() + 20 >= cycles);
        }
        const double t1 = spent();
        const sim::JudgedLinks together(cell, 7, sim::Faults::none);
        together.joined->run_until(end);
        const double t2 = spent();
        for (std::size_t i = 0; i < links; ++i) insist(together.links[i]->observer.exchanges() + 20 >= cycles);
        ratios.push_back((t2 - t1) / (t1 - t0));
    }
    std::sort(ratios.begin(), ratios.end());
    state.counters["median"] = ratios[ratios.size() / 2];
    state.counters["least"] = ratios.front();
    state.counters["most"] = ratios.back();
}
BENCHMARK(cell_ratio)->Arg(1)->Arg(2)->Arg(8)->Iterations(15)->Unit(benchmark::kMillisecond);

}  // namespace
