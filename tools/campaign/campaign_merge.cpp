// Joining the stores of a campaign's parts.
#include <algorithm>

#include <unistd.h>

#include "tools/campaign/campaign_parts.hpp"
#include "tools/program/interrupt.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

Failure unfit(const std::string& store, const std::string& why) { return {Status::bad_input, store, 0, {}, why}; }

/// All opened and checked, in the order of their trials.
proto::Result<std::vector<TrialStore>, Failure> open_all(const CampaignRequest& wanted) {
    std::vector<TrialStore> stores;
    for (const std::string& name : wanted.merge) {
        for (const TrialStore& other : stores)
            if (other.path() == name) return unfit(name, "is named twice; name each part once");
        auto opened = TrialStore::open(name, wanted.key, TrialStore::Open::read);
        if (!opened) return opened.error();
        stores.push_back(std::move(opened).value());
    }
    std::sort(stores.begin(), stores.end(),
              [](const TrialStore& a, const TrialStore& b) { return a.key().shard < b.key().shard; });
    return stores;
}

std::optional<Failure> fit_together(const CampaignRequest& wanted, const std::vector<TrialStore>& stores) {
    const CampaignKey& first = stores.front().key();
    std::uint64_t expected = 1;
    for (const TrialStore& store : stores) {
        const CampaignKey& key = store.key();
        const std::string part = std::to_string(key.shard) + "/" + std::to_string(key.shards);
        if (key.trials != first.trials || key.shards != first.shards)
            return unfit(store.path(), "is part " + part + " of " + std::to_string(key.trials) + " trials, " +
                                           stores.front().path() + " part " + std::to_string(first.shard) + "/" +
                                           std::to_string(first.shards) + " of " + std::to_string(first.trials) +
                                           "; name parts of one campaign");
        if (wanted.key.trials != 0 && wanted.key.trials != key.trials)
            return unfit(store.path(), "is of a campaign of " + std::to_string(key.trials) + " trials, not " +
                                           std::to_string(wanted.key.trials) + "; leave --trials away");
        if (key.shard < expected) return unfit(store.path(), "is part " + part + " once more; name each part once");
        if (key.shard > expected)
            return unfit(store.path(), "part " + std::to_string(expected) + "/" + std::to_string(key.shards) +
                                           " is missing before it; name all parts");
        if (store.kept() != key.range().count())
            return unfit(store.path(), "has " + std::to_string(store.kept()) + " of its " +
                                           std::to_string(key.range().count()) +
                                           " trials; finish it with --resume first");
        ++expected;
    }
    if (expected != first.shards + 1)
        return unfit(stores.back().path(), "part " + std::to_string(expected) + "/" + std::to_string(first.shards) +
                                               " is missing after it; name all parts");
    return std::nullopt;
}

/// Into the summary, and to `copy` if there is one.
std::optional<Failure> read_all(std::vector<TrialStore>& stores, sim::CampaignSummary& summary,
                                const TrialStore::Reader& copy) {
    for (TrialStore& store : stores) {
        const auto failed = store.read(summary.faults(), [&](const sim::TrialBatch& batch) -> std::optional<Failure> {
            summary.add(batch);
            return copy ? copy(batch) : std::nullopt;
        });
        if (failed) return failed;
    }
    return std::nullopt;
}

}  // namespace

proto::Result<std::uint64_t, Failure> merge_stores(const CampaignRequest& wanted, sim::CampaignSummary& summary) {
    auto opened = open_all(wanted);
    if (!opened) return opened.error();
    std::vector<TrialStore>& stores = opened.value();
    if (auto failed = fit_together(wanted, stores)) return *failed;

    if (!wanted.store) {
        if (auto failed = read_all(stores, summary, nullptr)) return *failed;
        return stores.front().key().trials;
    }
    CampaignKey whole = stores.front().key();
    whole.shard = whole.shards = 1;
    const NoteInterrupt interrupt;
    auto made = TrialStore::open(*wanted.store, whole, TrialStore::Open::anew);
    if (!made) return made.error();
    std::optional<TrialStore> joined(std::move(made).value());
    auto failed = read_all(stores, summary, [&](const sim::TrialBatch& batch) -> std::optional<Failure> {
        if (interrupt.came())
            return Failure{Status::interrupted, *wanted.store, 0, {}, "joining was stopped; nothing is left of it"};
        return joined->add(batch);
    });
    if (!failed) failed = joined->commit();
    if (!failed) {
        joined->finish();
        return stores.front().key().trials;
    }
    joined.reset();
    for (const char* const log : {"", "-wal", "-journal"}) ::unlink((*wanted.store + log).c_str());
    return *failed;
}

}  // namespace tools
