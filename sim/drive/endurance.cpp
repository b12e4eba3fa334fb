#include "sim/drive/endurance.hpp"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <optional>
#include <utility>
#include <vector>

#include "proto/contract.hpp"
#include "sim/drive/endurance_part.hpp"
#include "sim/drive/limits.hpp"
#include "sim/numeric/helping_threads.hpp"

namespace sim {
namespace {

Scenario without_faults(const Scenario& scenario) {
    Scenario bare = scenario;
    bare.faults.clear();
    bare.demands.clear();
    return bare;
}

struct Shared {
    std::atomic<std::uint64_t> next{0};
    std::atomic<std::uint64_t> milliseconds{0};  ///< simulated
    std::atomic<bool> stop{false};
    std::atomic<unsigned> working{0};
    std::mutex mutex;
    std::condition_variable ended;
    std::deque<std::optional<EnduranceResult>> results;  ///< by part
};

void work(const EnduranceQuestion& question, const Scenario& bare, const Limits& limits, std::optional<Duration> period,
          Shared& shared, const std::function<void()>& between) {
    const Random seeds(question.seed, Concern::chunk);
    const Instant end = Instant{} + question.parts.lasting;
    const Duration step = bare.controller.link.cycle * cycles_per_period_most;
    while (!shared.stop) {
        const std::uint64_t number = shared.next++;
        if (number >= question.parts.count) break;
        EndurancePart part(bare, limits, seeds.at(number), period);
        std::uint64_t told = 0;
        const bool whole = part.run(end, step, [&](Instant now) {
            const auto reached = static_cast<std::uint64_t>(now.ns / 1'000'000);
            shared.milliseconds += reached - std::exchange(told, reached);
            if (between) between();
            return !shared.stop;
        });
        if (!whole && shared.stop) break;
        if (!whole) shared.stop = true;  // it never runs: the other parts would not either
        EnduranceResult& result = shared.results[number].emplace();
        part.tell(result);
    }
    const std::lock_guard lock(shared.mutex);
    --shared.working;
    shared.ended.notify_all();
}

void add(EnduranceResult& sum, EnduranceResult& part) {
    for (std::size_t i = 0; i < 2; ++i) {
        sum.trips[i].by_watchdog += part.trips[i].by_watchdog;
        sum.trips[i].by_rejection += part.trips[i].by_rejection;
        for (std::size_t m = 0; m < proto::measure_count; ++m) sum.rejected[i][m] += part.rejected[i][m];
    }
    sum.parts_done += part.parts_done;
    sum.seconds += part.seconds;
    sum.cycles += part.cycles;
    sum.windows += part.windows;
    sum.cycles_in_full += part.cycles_in_full;
    sum.acknowledgements += part.acknowledgements;
    sum.seconds_stopped += part.seconds_stopped;
    sum.dangerous += part.dangerous;
    if (sum.first_dangerous.empty()) sum.first_dangerous = std::move(part.first_dangerous);
    sum.link_started = sum.link_started && part.link_started;
    sum.digest = scramble(sum.digest ^ part.digest);
}

}  // namespace

EnduranceResult endure(const EnduranceQuestion& question, EnduranceMonitor& monitor) {
    const Scenario bare = without_faults(question.scenario);
    const ScenarioLimits limits = limits_of(bare);
    const bool jumps = question.method == EnduranceMethod::jumps;
    const std::optional<Duration> period = jumps ? period_of(bare) : std::nullopt;
    proto::require(!jumps || period, "jumps over scans that never repeat");

    Shared shared;
    shared.results.resize(question.parts.count);
    const auto jobs = static_cast<unsigned>(std::min<std::uint64_t>(question.jobs, question.parts.count));
    const double whole =
        static_cast<double>(question.parts.lasting.ns) * 1e-6 * static_cast<double>(question.parts.count);
    const auto ask = [&] {
        if (!monitor.go_on(static_cast<double>(shared.milliseconds) / whole)) shared.stop = true;
    };
    const auto help = [&] { work(question, bare, limits.limits, period, shared, {}); };
    {
        shared.working = jobs;
        const HelpingThreads threads(jobs, help);
        // no thread is to be had: the same, and in between the monitor is asked
        if (jobs > 0 && threads.count() == 0) work(question, bare, limits.limits, period, shared, ask);
        shared.working -= jobs - std::max(threads.count(), std::min(jobs, 1U));
        std::unique_lock lock(shared.mutex);
        while (!shared.ended.wait_for(lock, std::chrono::milliseconds(100), [&] { return shared.working == 0; })) ask();
    }

    EnduranceResult sum;
    sum.method = question.method;
    sum.parts_wanted = question.parts.count;
    for (auto& part : shared.results)
        if (part) add(sum, *part);
    return sum;
}

}  // namespace sim
