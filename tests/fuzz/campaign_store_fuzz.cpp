// Any bytes as the store of a campaign, held in memory: refused in one line, or read, shown and gone on with.
#include "sim/drive/campaign_summary.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "tests/fuzz/fuzz.hpp"
#include "tools/campaign/campaign_page.hpp"
#include "tools/campaign/trial_store.hpp"
#include "tools/text/json.hpp"

namespace {

using tools::TrialStore;

/// Of the stores in the corpus.
const tools::CampaignKey key{.version = "0", .scenario = "Short lift", .contents = "any", .seed = 7, .trials = 40};

void show(const sim::Scenario& scenario, sim::CampaignSummary& summary) {
    const tools::CampaignFinding found{scenario, summary, key.seed, key.trials, 1, 1, key.trials, {}};
    if (!tools::from_json(tools::to_json(tools::describe(found)))) fuzz::broken("a campaign that is no JSON");
    static_cast<void>(tools::page_of(found, tools::Columns{}).text(tools::Colour::off));
}

/// Adds what is read to the summary.
tools::TrialStore::Reader adder(sim::CampaignSummary& summary) {
    return [&summary](const sim::TrialBatch& batch) -> std::optional<tools::Failure> {
        summary.add(batch);
        return std::nullopt;
    };
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const auto scenario = sim::read_scenario(fuzz::source("tests/fuzz/short_lift.toml"));
    if (!scenario) fuzz::broken("short_lift.toml cannot be read");
    fuzz::may_refuse();
    const std::span<const std::uint8_t> image(data, size);
    auto store = TrialStore::open("any.sqlite", tools::Database(image), key, TrialStore::Open::read);
    if (!store) {
        fuzz::expect_one_line(store.error().one_line());
        return 0;
    }
    sim::CampaignSummary summary(scenario.value());
    if (const auto failed = store.value().read(summary.faults(), adder(summary))) {
        fuzz::expect_one_line(failed->one_line());
        return 0;
    }
    fuzz::took();
    if (summary.trials() != store.value().kept()) fuzz::broken("another number of trials than are kept");
    show(scenario.value(), summary);
    auto more = TrialStore::open("any.sqlite", tools::Database(image), key, TrialStore::Open::resume);
    if (!more) {
        fuzz::expect_one_line(more.error().one_line());
        return 0;
    }
    sim::CampaignSummary again(scenario.value());
    if (!more.value().read(again.faults(), adder(again)) && again.digest() != summary.digest())
        fuzz::broken("other trials the second time");
    more.value().finish();
    return 0;
}
