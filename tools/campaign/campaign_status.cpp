// linkdrill campaign FILE --status STORES: what of a campaign is done, and what is missing.
#include <algorithm>

#include "sim/scenario/scenario.hpp"
#include "tools/campaign/campaign_parts.hpp"
#include "tools/campaign/campaign_stores.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::size_t indent = 12;
constexpr std::size_t unfinished_shown = 20;

std::string state_of(const PartStore& part) {
    if (part.worked_on) return "being written";
    if (part.log) return "left by a process that was killed";
    return part.kept == 0 ? "not begun" : "stopped";
}

std::string key_of_state(const PartStore& part) {
    if (part.worked_on) return "being-written";
    if (part.log) return "killed";
    return "stopped";
}

struct Standing {
    std::vector<std::uint64_t> missing;
    std::vector<const PartStore*> unfinished;
    std::uint64_t trials = 0, done = 0, parts = 0, finished = 0;
    [[nodiscard]] bool all() const { return missing.empty() && unfinished.empty(); }
};

Standing standing_of(const std::vector<PartStore>& parts) {
    Standing standing{.missing = missing_parts(parts),
                      .unfinished = {},
                      .trials = parts.back().key.trials,
                      .parts = parts.back().key.shards};
    for (const PartStore& part : parts) {
        standing.done += part.kept;
        if (part.complete()) ++standing.finished;
        if (!part.complete()) standing.unfinished.push_back(&part);
    }
    return standing;
}

Page page_of(const sim::Scenario& scenario, const Standing& standing, Columns columns) {
    Page page(columns);
    const std::string counts = plain(scenario.title) + ": " + grouped(standing.done) + " of " +
                               counted(standing.trials, "trial", "trials") + ", " + grouped(standing.finished) +
                               " of " + counted(standing.parts, "part", "parts") + " finished.";
    if (standing.all()) {
        page.headline("COMPLETE", Hue::good, counts);
        return page;
    }
    page.headline("NOT COMPLETE", Hue::caution, counts);
    if (!standing.missing.empty())
        page.paragraph_at(indent, "Missing     ",
                          (standing.missing.size() == 1 ? "part " : "parts ") + ranges_of(standing.missing) + ".");
    for (std::size_t i = 0; i < std::min(standing.unfinished.size(), unfinished_shown); ++i) {
        const PartStore& part = *standing.unfinished[i];
        page.paragraph_at(indent, i == 0 ? "Unfinished  " : "            ",
                          part.key.shard == 0 ? on_one_line(part.path) + ": " + state_of(part) + ", nothing told yet."
                                              : "part " + std::to_string(part.key.shard) + ", " +
                                                    on_one_line(part.path) + ": " + grouped(part.kept) + " of " +
                                                    grouped(part.wanted()) + " trials, " + state_of(part) + ".");
    }
    if (standing.unfinished.size() > unfinished_shown)
        page.paragraph_at(indent, "            ",
                          "and " + grouped(standing.unfinished.size() - unfinished_shown) + " more: all with --json.");
    return page;
}

}  // namespace

proto::Result<Finished, Failure> show_status(const Request& request, const CampaignRequest& wanted,
                                             const sim::Scenario& scenario) {
    const auto looked = look_at_stores(wanted.stores, wanted.key);
    if (!looked) return looked.error();
    const Standing standing = standing_of(looked.value());
    Value::List missing, unfinished;
    std::vector<std::uint64_t> to_run = standing.missing;
    for (const std::uint64_t part : standing.missing) missing.emplace_back(part);
    for (const PartStore* part : standing.unfinished)
        unfinished.push_back(Value::Object{{"part", part->key.shard == 0 ? Value() : Value(part->key.shard)},
                                           {"store", part->path},
                                           {"done", part->kept},
                                           {"trials", part->wanted()},
                                           {"state", key_of_state(*part)}});
    for (const PartStore* part : standing.unfinished)
        if (part->key.shard != 0) to_run.push_back(part->key.shard);
    std::sort(to_run.begin(), to_run.end());
    return Finished{standing.all() ? Status::done : Status::not_met,
                    Value::Object{{"scenario", scenario.file},
                                  {"seed", wanted.key.seed},
                                  {"complete", standing.all()},
                                  {"trials", standing.trials},
                                  {"done", standing.done},
                                  {"parts", standing.parts},
                                  {"missing", std::move(missing)},
                                  {"unfinished", std::move(unfinished)},
                                  {"to_run", list_of(to_run)}},
                    page_of(scenario, standing, request.columns)};
}

}  // namespace tools
