// Any bytes as the store of a campaign, held in memory: refused in one line, or read, shown and gone on with.
#include "sim/drive/campaign_summary.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "tests/fuzz/store_key.hpp"
#include "tools/campaign/campaign_page.hpp"
#include "tools/campaign/trial_store.hpp"
#include "tools/text/json.hpp"

namespace {

using fuzz::store_key;
using tools::TrialStore;

void show(const sim::Scenario& scenario, sim::CampaignSummary& summary) {
    const tools::CampaignFinding found{scenario, summary, store_key.seed, store_key.trials, 1, 1, store_key.trials, {}};
    if (!tools::from_json(tools::to_json(tools::describe(found)))) fuzz::broken("a campaign that is no JSON");
    static_cast<void>(tools::page_of(found, tools::Columns{}).text(tools::Colour::off));
}

std::optional<tools::Failure> nothing(const tools::TrialPiece& /*piece*/) { return std::nullopt; }

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const auto scenario = sim::read_scenario(fuzz::source("tests/fuzz/short_lift.toml"));
    if (!scenario) fuzz::broken("short_lift.toml cannot be read");
    fuzz::may_refuse();
    const std::span<const std::uint8_t> image(data, size);
    auto store = TrialStore::open("any.sqlite", tools::Database(image), store_key, TrialStore::Open::read);
    if (!store) {
        fuzz::expect_one_line(store.error().one_line());
        return 0;
    }
    sim::CampaignSummary summary(scenario.value());
    if (const auto failed = store.value().read(summary, nothing)) {
        fuzz::expect_one_line(failed->one_line());
        return 0;
    }
    fuzz::took();
    if (summary.trials() != store.value().kept()) fuzz::broken("another number of trials than are kept");
    show(scenario.value(), summary);
    tools::CampaignKey wanted = store_key;
    wanted.keep = store.value().key().keep;
    auto more = TrialStore::open("any.sqlite", tools::Database(image), wanted, TrialStore::Open::resume);
    if (!more) {
        fuzz::expect_one_line(more.error().one_line());
        return 0;
    }
    sim::CampaignSummary again(scenario.value());
    if (!more.value().read(again, nothing) && again.digest() != summary.digest())
        fuzz::broken("other trials the second time");
    more.value().finish();
    return 0;
}
