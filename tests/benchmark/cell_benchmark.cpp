// Links at one controller beside the same links, each alone, one after the other. Both alternate in one run, and what
// is reported are medians of ratios taken round by round. `lockstep` is what it costs by itself to move links in turn,
// a scan each: links that know nothing of each other, beside the same one after the other. What joins them is the rest.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstdlib>
#include <ctime>
#include <memory>
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

struct Alone {
    sim::Scenario scenario;
    sim::JudgedRun run;
    Alone(const sim::WholeCell& cell, std::size_t link)
        : scenario(sim::in_cell(cell, link)),
          run(scenario, sim::seed_of_link(7, link), sim::Faults::none, sim::limits_of(scenario).limits) {}
};

/// Processor time of each way to move the links of a cell to its end.
double one_after_the_other(const sim::WholeCell& cell) {
    const double begun = spent();
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        Alone link(cell, i);
        link.run.cell.run_until(proto::Instant{} + cell.duration);
        insist(link.run.observer.exchanges() + 20 >= cycles);
    }
    return spent() - begun;
}

double joined(const sim::WholeCell& cell) {
    const double begun = spent();
    const sim::JudgedLinks together(cell, 7, sim::Faults::none);
    together.joined->run_until(proto::Instant{} + cell.duration);
    const double time = spent() - begun;
    for (const auto& link : together.links) insist(link->observer.exchanges() + 20 >= cycles);
    return time;
}

double in_lockstep(const sim::WholeCell& cell) {
    const double begun = spent();
    std::vector<std::unique_ptr<Alone>> links;
    for (std::size_t i = 0; i < cell.links.size(); ++i) links.push_back(std::make_unique<Alone>(cell, i));
    const proto::Instant end = proto::Instant{} + cell.duration;
    const proto::Duration scan = cell.links.front().alone.controller.link.scan;
    for (proto::Instant now = proto::Instant{} + scan; now <= end; now = now + scan)
        for (const auto& link : links) link->run.cell.run_on_until(now);
    const double time = spent() - begun;
    for (const auto& link : links) insist(link->run.observer.exchanges() + 20 >= cycles);
    return time;
}

double median(std::vector<double> of) {
    std::sort(of.begin(), of.end());
    return of[of.size() / 2];
}

void cell_ratio(benchmark::State& state) {
    const sim::WholeCell cell = cell_of(static_cast<std::size_t>(state.range(0)));
    std::vector<double> alone, together, ratios, lockstep;
    for (auto _ : state) {
        alone.push_back(one_after_the_other(cell));
        together.push_back(joined(cell));
        ratios.push_back(together.back() / alone.back());
        lockstep.push_back(in_lockstep(cell) / alone.back());
    }
    const double ns = 1e9 / static_cast<double>(cycles * cell.links.size());
    state.counters["median"] = median(ratios);
    state.counters["least"] = *std::min_element(ratios.begin(), ratios.end());
    state.counters["most"] = *std::max_element(ratios.begin(), ratios.end());
    state.counters["lockstep"] = median(lockstep);
    state.counters["alone_ns"] = median(alone) * ns;  // an exchange of one link
    state.counters["joined_ns"] = median(together) * ns;
}
BENCHMARK(cell_ratio)->Arg(1)->Arg(2)->Arg(8)->Iterations(15)->Unit(benchmark::kMillisecond);

}  // namespace
