// A campaign beside the plain exchange. The link of the exchange benchmark with one fault of each of the eight errors
// is tried at random, every trial kept in a store; the rate of its cycles over that of exchange_benchmark's, both by
// processor time of the whole process and taken alternately in one run. Nothing of a trial is left out of its time:
// start of the link, faults, stop, acknowledgement, the store. `cores` is the wall time of a whole campaign held to one
// core over that with two: a thread for the trials and the one for the store would else run beside each other in both.
// It means something on a quiet machine only.
#include <benchmark/benchmark.h>

#include <sched.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <string>
#include <vector>

#include "sim/drive/campaign.hpp"
#include "sim/drive/campaign_summary.hpp"
#include "sim/drive/judged_run.hpp"
#include "sim/drive/limits.hpp"
#include "tests/benchmark/exchange_link.hpp"
#include "tools/campaign/trial_store.hpp"

namespace {

constexpr std::uint64_t cycles = 200'000;
constexpr std::uint64_t trials = 20'000;

/// One fault of each error, as a scenario would have them, and people who start and acknowledge.
sim::Scenario scenario() {
    sim::Scenario s = benchmarks::exchange_link(cycles);
    s.title = "benchmark";
    s.neighbour = sim::Neighbour{"neighbour", 0x56, 0x78, {}};
    for (const sim::FaultWay way :
         {sim::FaultWay::random_bits, sim::FaultWay::beside, sim::FaultWay::hold, sim::FaultWay::drop,
          sim::FaultWay::step, sim::FaultWay::stray, sim::FaultWay::no_crc, sim::FaultWay::loop_back}) {
        sim::Fault fault;
        fault.way = way;
        fault.error = sim::error_of(way);
        fault.at = proto::seconds(1);
        s.faults.push_back(fault);
    }
    using Act = sim::OperatorAct;
    s.operator_acts = {{Act::Event::acknowledgement_requested, Act::Act::acknowledge, proto::milliseconds(300), {}},
                       {Act::Event::link_running, Act::Act::start_machine, proto::milliseconds(200), {}}};
    return s;
}

double now(clockid_t clock) {
    timespec t{};
    clock_gettime(clock, &t);
    return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) * 1e-9;
}

/// Seconds of processor for one cycle of the plain exchange.
double plain_exchange() {
    const sim::Scenario s = benchmarks::exchange_link(cycles);
    const sim::Limits limits = sim::limits_of(s).limits;
    const double begun = now(CLOCK_PROCESS_CPUTIME_ID);
    sim::JudgedRun run(s, 42, sim::Faults::none, limits);
    run.cell.run_until(proto::Instant{} + s.duration);
    if (run.observer.exchanges() + 20 < cycles) std::abort();
    return (now(CLOCK_PROCESS_CPUTIME_ID) - begun) / static_cast<double>(cycles);
}

struct Kept final : sim::CampaignSink {
    sim::CampaignSummary& summary;
    tools::TrialStore& store;
    Kept(sim::CampaignSummary& all, tools::TrialStore& file) : summary(all), store(file) {}
    bool take(const sim::TrialBatch& batch) override {
        summary.add(batch);
        if (store.add(batch)) std::abort();
        return true;
    }
    bool go_on() override { return true; }
};

struct Spent {
    double processor = 0.0, wall = 0.0;
    std::uint64_t cycles = 0, exchanges = 0;
};

/// Threads made while one lives run on the core that its own runs on.
class OneCore {
  public:
    OneCore() {
        cpu_set_t one;
        CPU_ZERO(&one);
        CPU_SET(static_cast<std::size_t>(sched_getcpu()), &one);
        if (sched_getaffinity(0, sizeof before_, &before_) != 0 || sched_setaffinity(0, sizeof one, &one) != 0)
            std::abort();
    }
    ~OneCore() { sched_setaffinity(0, sizeof before_, &before_); }
    OneCore(const OneCore&) = delete;
    OneCore& operator=(const OneCore&) = delete;

  private:
    cpu_set_t before_{};
};

Spent campaign(unsigned jobs) {
    const sim::Scenario s = scenario();
    const std::string path = "/tmp/linkdrill_benchmark_" + std::to_string(now(CLOCK_REALTIME)) + ".sqlite";
    Spent spent;
    const double processor = now(CLOCK_PROCESS_CPUTIME_ID), wall = now(CLOCK_MONOTONIC);
    {
        tools::CampaignKey key;
        key.trials = trials;
        auto store = tools::TrialStore::open(path, key, tools::TrialStore::Open::anew);
        if (!store) std::abort();
        sim::CampaignSummary summary(s);
        Kept kept(summary, store.value());
        sim::run_campaign({s, 42, 0, trials, jobs}, kept);
        if (store.value().commit() || summary.trials() != trials) std::abort();
        store.value().finish();
        spent.cycles = summary.cycles();
        spent.exchanges = summary.exchanges();
    }
    spent.processor = now(CLOCK_PROCESS_CPUTIME_ID) - processor;
    spent.wall = now(CLOCK_MONOTONIC) - wall;
    std::remove(path.c_str());
    return spent;
}

Spent on_one_core() {
    const OneCore held;
    return campaign(1);
}

double median(std::vector<double>& values) {
    std::sort(values.begin(), values.end());
    return values[values.size() / 2];
}

void campaign_ratio(benchmark::State& state) {
    std::vector<double> of_cycles, of_exchanges, cores;
    for (auto _ : state) {
        const double plain = plain_exchange();
        const Spent one = on_one_core();
        const Spent two = campaign(2);
        of_cycles.push_back(plain * static_cast<double>(one.cycles) / one.processor);
        of_exchanges.push_back(plain * static_cast<double>(one.exchanges) / one.processor);
        cores.push_back(one.wall / two.wall);
        state.counters["trials_per_second"] = static_cast<double>(trials) / one.processor;
    }
    state.counters["ratio"] = median(of_cycles);
    state.counters["least"] = of_cycles.front();
    state.counters["most"] = of_cycles.back();
    state.counters["accepted"] = median(of_exchanges);  // telegrams accepted, handshakes not counted
    state.counters["cores"] = median(cores);
}

BENCHMARK(campaign_ratio)->Unit(benchmark::kMillisecond)->Iterations(9);

}  // namespace
