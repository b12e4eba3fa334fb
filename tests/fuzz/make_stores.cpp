// Makes the corpus of campaign_store_fuzz.cpp anew, where the layout of stores has changed: fuzz_make_stores FOLDER.
#include <cstdint>
#include <cstdio>
#include <string>

#include "sim/drive/campaign.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "tests/fuzz/store_key.hpp"
#include "tools/campaign/trial_store.hpp"

namespace {

struct Kept final : sim::CampaignSink {
    sim::CampaignSummary& summary;
    tools::TrialStore& store;
    bool ok = true;
    Kept(sim::CampaignSummary& all, tools::TrialStore& file) : summary(all), store(file) {}
    bool take(const sim::TrialBatch& batch) override {
        summary.add(batch);
        return ok = !store.add(batch);
    }
    bool go_on() override { return true; }
};

bool make(const sim::Scenario& scenario, const std::string& path, std::uint64_t trials, tools::Keep keep) {
    tools::CampaignKey key = fuzz::store_key;
    key.keep = keep;
    std::remove(path.c_str());
    auto store = tools::TrialStore::open(path, key, tools::TrialStore::Open::anew);
    if (!store) return false;
    sim::CampaignSummary summary(scenario);
    store.value().write_of(summary);
    Kept kept(summary, store.value());
    sim::run_campaign({scenario, key.seed, 0, trials, 1}, kept);
    const bool committed = kept.ok && !store.value().commit();
    store.value().finish();
    return committed;
}

}  // namespace

int main(int count, char** values) {
    const auto scenario = sim::read_scenario(fuzz::source("tests/fuzz/short_lift.toml"));
    if (count != 2 || !scenario) return 2;
    const std::string folder = std::string(values[1]) + "/";
    using tools::Keep;
    const bool all = make(scenario.value(), folder + "trials_3.sqlite", 3, Keep::all) &&
                     make(scenario.value(), folder + "trials_40.sqlite", 40, Keep::all) &&
                     make(scenario.value(), folder + "dangerous_40.sqlite", 40, Keep::dangerous) &&
                     make(scenario.value(), folder + "summary_40.sqlite", 40, Keep::summary);
    return all ? 0 : 1;
}
