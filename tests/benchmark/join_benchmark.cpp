// Joining the parts of a campaign that keep no rows, beside reading the bytes of their stores. The trials are made up,
// since simulating so many takes hours: faults, outcomes and times are drawn over the ranges of a real campaign. How
// many there are is in LINKDRILL_JOIN_TRIALS, 4 million unless said; in a hundred parts.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <unistd.h>

#include "sim/drive/campaign_summary.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/campaign/campaign_stores.hpp"

namespace {

using tools::CampaignKey;
using tools::TrialStore;

constexpr std::uint64_t parts = 100;
constexpr std::uint64_t at_once = 4096;

std::uint64_t trials() {
    const char* const said = std::getenv("LINKDRILL_JOIN_TRIALS");
    return said != nullptr ? std::strtoull(said, nullptr, 10) : 4'000'000;
}

const sim::Scenario& scenario() {
    static const sim::Scenario made = [] {
        sim::Scenario scenario;
        for (const sim::ErrorKind error :
             {sim::ErrorKind::corruption, sim::ErrorKind::repetition, sim::ErrorKind::incorrect_sequence,
              sim::ErrorKind::loss, sim::ErrorKind::delay, sim::ErrorKind::insertion, sim::ErrorKind::masquerade,
              sim::ErrorKind::addressing})
            scenario.faults.emplace_back().error = error;
        return scenario;
    }();
    return made;
}

/// A trial that nobody ran, caught and stopped within 150 ms.
sim::TrialRecord made_up(std::uint64_t trial) {
    const std::uint64_t draw = sim::scramble(trial);
    const auto within = [&](std::uint64_t ns, unsigned which) {
        return sim::Duration{static_cast<std::int64_t>(sim::scale(sim::scramble(draw + which), ns))};
    };
    sim::TrialRecord record;
    record.trial = trial;
    record.fault = static_cast<std::uint32_t>(draw % scenario().faults.size());
    record.outcome = sim::Outcome::safe_state;
    record.detected_by = proto::Measure::integrity;
    record.detect = within(20'000'000, 1);
    record.safe_state = within(60'000'000, 2);
    record.standstill = within(150'000'000, 3);
    record.allowed = sim::Duration{200'000'000};
    record.digest = draw;
    return record;
}

/// A hundred stores of a campaign, there as long as the program runs.
class Parts {
  public:
    Parts() {
        std::filesystem::create_directories(folder_);
        for (std::uint64_t part = 1; part <= parts; ++part) {
            paths_.push_back(folder_ + "/" + std::to_string(part) + ".sqlite");
            make(part);
        }
    }
    ~Parts() { std::filesystem::remove_all(folder_); }
    Parts(const Parts&) = delete;
    Parts& operator=(const Parts&) = delete;
    [[nodiscard]] const std::vector<std::string>& paths() const { return paths_; }
    [[nodiscard]] static CampaignKey key(std::uint64_t part) {
        return {.seed = 1, .trials = trials(), .shard = part, .shards = parts, .keep = tools::Keep::summary};
    }

  private:
    void make(std::uint64_t part) {
        auto store = TrialStore::open(paths_.back(), key(part), TrialStore::Open::anew);
        if (!store) std::abort();
        sim::CampaignSummary summary(scenario());
        store.value().write_of(summary);
        const sim::TrialRange range = key(part).range();
        for (std::uint64_t first = range.first; first < range.end; first += at_once) {
            sim::TrialBatch batch;
            for (std::uint64_t trial = first; trial < std::min(first + at_once, range.end); ++trial)
                batch.records.push_back(made_up(trial));
            summary.add(batch);
            if (store.value().add(batch)) std::abort();
        }
        if (store.value().commit()) std::abort();
        store.value().finish();
    }
    std::string folder_ = "/tmp/linkdrill_join_" + std::to_string(::getpid());
    std::vector<std::string> paths_;
};

const Parts& all_parts() {
    static const Parts made;
    return made;
}

void join(benchmark::State& state) {
    const Parts& made = all_parts();
    for (auto _ : state) {
        const auto looked = tools::look_at_stores(made.paths(), Parts::key(1));
        if (!looked) std::abort();
        sim::CampaignSummary summary(scenario());
        for (const tools::PartStore& part : looked.value()) {
            auto store = TrialStore::open(part.path, part.key, TrialStore::Open::read);
            if (!store ||
                store.value().read(summary, [](const tools::TrialPiece&) { return std::optional<tools::Failure>(); }))
                std::abort();
        }
        if (summary.trials() != trials()) std::abort();
        benchmark::DoNotOptimize(summary.digest());
    }
    state.counters["trials"] = static_cast<double>(trials());
}
BENCHMARK(join)->Name("a hundred parts without rows, joined")->Unit(benchmark::kMillisecond)->UseRealTime();

void read_bytes(benchmark::State& state) {
    std::uint64_t bytes = 0;
    for (auto _ : state) {
        bytes = 0;
        for (const std::string& path : all_parts().paths()) {
            std::ifstream file(path, std::ios::binary);
            const std::vector<char> all{std::istreambuf_iterator<char>(file), {}};
            bytes += all.size();
            benchmark::DoNotOptimize(all.data());
        }
    }
    state.counters["bytes"] = static_cast<double>(bytes);
}
BENCHMARK(read_bytes)->Name("the bytes of these parts, read")->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
