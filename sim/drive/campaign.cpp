#include "sim/drive/campaign.hpp"

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <optional>

#include "proto/contract.hpp"
#include "sim/drive/cell_trial.hpp"
#include "sim/numeric/helping_threads.hpp"
#include "sim/scenario/contract_context.hpp"

namespace sim {
namespace {

/// Some milliseconds of work: seldom enough for a lock, and little is lost when one is not finished.
constexpr std::uint64_t batch_trials = 256;
constexpr auto asked_every = std::chrono::milliseconds(50);

/// What the threads share. Batches are numbered from 0.
struct Shared {
    Shared(std::uint64_t batches, std::size_t window) : count(batches), done(window) {}
    const std::uint64_t count;
    std::mutex mutex;
    std::condition_variable finished, room;
    std::vector<std::optional<TrialBatch>> done;  ///< a ring: batches from `taken` on
    std::uint64_t claimed = 0;
    std::uint64_t taken = 0;
    bool stop = false;
};

template <class Runner>
TrialBatch run_batch(Runner& runner, TrialRange range) {
    TrialBatch batch;
    batch.records.reserve(range.count());
    for (std::uint64_t trial = range.first; trial < range.end; ++trial) {
        batch.records.push_back(runner.run(trial));
        const TrialRecord& record = batch.records.back();
        if (record.outcome == Outcome::dangerous) batch.dangerous.push_back({trial, record.fault, runner.why()});
    }
    return batch;
}

template <class Runner>
void work(const CampaignQuestion& question, Runner& runner, Shared& shared) {
    for (;;) {
        std::uint64_t mine = 0;
        {
            std::unique_lock lock(shared.mutex);
            // a sink that is slower than the trials keeps them waiting, so that nothing piles up
            shared.room.wait(lock, [&] {
                return shared.stop || shared.claimed < shared.taken + shared.done.size() ||
                       shared.claimed == shared.count;
            });
            if (shared.stop || shared.claimed == shared.count) return;
            mine = shared.claimed++;
        }
        const std::uint64_t first = question.first + mine * batch_trials;
        TrialBatch batch = run_batch(runner, {first, std::min(first + batch_trials, question.end)});
        const std::lock_guard lock(shared.mutex);
        shared.done[mine % shared.done.size()] = std::move(batch);
        shared.finished.notify_one();
    }
}

/// `does` with a runner of such trials.
template <class Does>
void with_runner(const CampaignQuestion& question, Does does) {
    const ContractContext context(question.scenario.file, question.seed);
    if (question.cell != nullptr) {
        CellTrialRunner runner(*question.cell, question.seed);
        does(runner);
    } else {
        TrialRunner runner(question.scenario, question.seed);
        does(runner);
    }
}

/// Hands batches to the sink until all are taken, or it wants no more. False if it refused one.
bool deliver(Shared& shared, CampaignSink& sink) {
    std::unique_lock lock(shared.mutex);
    while (shared.taken < shared.count && !shared.stop) {
        std::optional<TrialBatch>& next = shared.done[shared.taken % shared.done.size()];
        shared.finished.wait_for(lock, asked_every, [&] { return next.has_value(); });
        std::optional<TrialBatch> batch = std::exchange(next, std::nullopt);
        if (batch) ++shared.taken;
        lock.unlock();
        const bool taken = !batch || sink.take(*batch);
        const bool go_on = taken && sink.go_on();
        lock.lock();
        shared.stop = !go_on;
        shared.room.notify_all();
        if (!taken) return false;
    }
    return true;
}

/// The threads that wait for room go home, also when the sink throws.
struct StopAtEnd {
    Shared& shared;
    ~StopAtEnd() {
        const std::lock_guard lock(shared.mutex);
        shared.stop = true;
        shared.room.notify_all();
    }
};

/// Where the computer gives no thread: the same, one batch after the other.
template <class Runner>
void run_alone(const CampaignQuestion& question, Runner& runner, CampaignSink& sink) {
    for (std::uint64_t first = question.first; first < question.end; first += batch_trials)
        if (!sink.take(run_batch(runner, {first, std::min(first + batch_trials, question.end)})) || !sink.go_on())
            return;
}

}  // namespace

void run_campaign(const CampaignQuestion& question, CampaignSink& sink) {
    proto::require(question.first <= question.end && question.jobs >= 1, "an impossible campaign");
    const std::uint64_t batches = (question.end - question.first + batch_trials - 1) / batch_trials;
    const auto jobs = static_cast<unsigned>(std::min<std::uint64_t>(question.jobs, batches));
    Shared shared(batches, std::size_t{jobs} * 4 + 4);
    const auto help = [&] { with_runner(question, [&](auto& runner) { work(question, runner, shared); }); };
    bool takes = true;
    {
        const HelpingThreads threads(jobs, help);
        if (threads.count() == 0)
            return with_runner(question, [&](auto& runner) { run_alone(question, runner, sink); });
        const StopAtEnd stop{shared};
        takes = deliver(shared, sink);
    }
    // what was finished while it was being stopped
    while (takes && shared.taken < shared.count) {
        const std::optional<TrialBatch>& next = shared.done[shared.taken % shared.done.size()];
        if (!next || !sink.take(*next)) break;
        shared.done[shared.taken++ % shared.done.size()].reset();
    }
}

TrialRange shard_of(std::uint64_t trials, std::uint64_t number, std::uint64_t parts) {
    proto::require(number >= 1 && number <= parts, "a part that there is not");
    const auto begin = [&](std::uint64_t n) {
        return static_cast<std::uint64_t>(static_cast<Wide>(trials) * n / parts);
    };
    return {begin(number - 1), begin(number)};
}

}  // namespace sim
