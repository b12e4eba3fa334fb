// What was typed after campaign.
#include <charconv>

#include <sys/stat.h>

#include "sim/drive/campaign.hpp"
#include "sim/drive/cell_campaign.hpp"
#include "sim/drive/model_number.hpp"
#include "sim/numeric/random.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "tools/campaign/campaign_parts.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/made_by.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::uint64_t trials_most = 1'000'000'000'000;
constexpr std::uint64_t shards_most = 100'000;
constexpr std::uint64_t first_trials = 32;

struct Shard {
    std::uint64_t number = 1, of = 1;
};

proto::Result<Shard, Failure> shard_of(const Arguments& arguments) {
    const std::optional<std::string> typed = arguments.value("--shard");
    if (!typed) return Shard{};
    Shard shard;
    const char* const end = typed->data() + typed->size();
    const auto [slash, error] = std::from_chars(typed->data(), end, shard.number);
    const bool number = error == std::errc{} && slash != end && *slash == '/';
    const auto [last, wrong] = std::from_chars(number ? slash + 1 : end, end, shard.of);
    if (!number || wrong != std::errc{} || last != end || shard.number < 1 || shard.number > shard.of ||
        shard.of > shards_most)
        return usage("--shard", in_quotes(*typed) + " is no part; write 1/8 for the first of eight, 8/8 for the last");
    return shard;
}

/// Names between commas count as several where no file has the whole name.
std::vector<std::string> names_of(const std::vector<std::string>& typed) {
    std::vector<std::string> names;
    for (const std::string& word : typed) {
        struct stat about {};
        if (::stat(word.c_str(), &about) == 0) {
            names.push_back(word);
            continue;
        }
        for (std::size_t from = 0; from <= word.size();) {
            const std::size_t comma = std::min(word.find(',', from), word.size());
            if (comma > from) names.push_back(word.substr(from, comma - from));
            from = comma + 1;
        }
    }
    return names;
}

struct Nobody final : sim::CampaignSink {
    sim::CampaignSummary& summary;
    explicit Nobody(sim::CampaignSummary& s) : summary(s) {}
    bool take(const sim::TrialBatch& batch) override {
        summary.add(batch);
        return true;
    }
    bool go_on() override { return true; }
};

/// The scenario's own text and what its first trials come to, which also tells a profile or a table of delays that was
/// changed, and a program that was.
std::string contents_of(const sim::Scenario& scenario, const sim::CellCampaign* cell, std::uint64_t seed) {
    std::uint64_t sum = 0;
    for (const char byte : text_of(scenario)) sum = sim::scramble(sum ^ static_cast<unsigned char>(byte)) + 1;
    sim::CampaignSummary summary = summary_of(scenario, cell);
    Nobody nobody(summary);
    sim::run_campaign({scenario, seed, 0, first_trials, 1, cell}, nobody);
    return fingerprint(sum) + " " + fingerprint(summary.digest());
}

/// Refuses each of the options that was typed, beside `with`.
std::optional<Failure> refuse_beside(const Arguments& arguments, std::string_view with,
                                     std::initializer_list<std::string_view> names) {
    for (const std::string_view name : names)
        if (arguments.has(name))
            return usage(std::string(name), "does not go with " + std::string(with) + "; write one of them");
    return std::nullopt;
}

proto::Result<std::optional<Keep>, Failure> keep_of(const Arguments& arguments) {
    const std::optional<std::string> typed = arguments.value("--keep");
    if (!typed) return std::optional<Keep>{};
    const std::optional<Keep> keep = keep_named(*typed);
    if (!keep) return usage("--keep", in_quotes(*typed) + " is nothing to keep; write all, dangerous or summary");
    return keep;
}

proto::Result<std::optional<sim::Duration>, Failure> until_of(const Arguments& arguments) {
    const std::optional<std::string> typed = arguments.value("--until");
    if (!typed) return std::optional<sim::Duration>{};
    const auto read = sim::parse_quantity(*typed, sim::duration_units());
    if (!read || read.value() <= 0)
        return usage("--until", in_quotes(*typed) + " is no time to run for; write for example --until \"55 min\"");
    return std::optional<sim::Duration>(sim::Duration{read.value()});
}

/// The options that choose what is done, none of which goes with the others.
std::optional<Failure> choose(const Arguments& arguments, CampaignRequest& wanted) {
    using What = CampaignRequest::What;
    wanted.what = wanted.one_trial            ? What::one_trial
                  : arguments.has("--merge")  ? What::join
                  : arguments.has("--plan")   ? What::plan
                  : arguments.has("--status") ? What::status
                                              : What::trials;
    switch (wanted.what) {
        case What::one_trial:
            return refuse_beside(
                arguments, "--trial",
                {"--trials", "--store", "--resume", "--shard", "--merge", "--plan", "--status", "--keep", "--until"});
        case What::join:
            if (wanted.keep && !wanted.store)
                return usage("--keep", "says what a joined store keeps; add --store FILE.sqlite, or leave it away");
            return refuse_beside(arguments, "--merge", {"--resume", "--shard", "--plan", "--status", "--until"});
        case What::plan:
            return refuse_beside(arguments, "--plan",
                                 {"--store", "--resume", "--shard", "--status", "--until", "--out"});
        case What::status:
            return refuse_beside(arguments, "--status",
                                 {"--store", "--resume", "--shard", "--keep", "--until", "--out"});
        case What::trials: break;
    }
    if (wanted.resume && !wanted.store)
        return usage("--resume", "needs the store to go on with; add --store FILE.sqlite");
    if (wanted.keep && !wanted.store)
        return usage("--keep", "says what a store keeps; add --store FILE.sqlite, or leave it away");
    return std::nullopt;
}

}  // namespace

sim::CampaignSummary summary_of(const sim::Scenario& scenario, const sim::CellCampaign* cell) {
    return cell != nullptr ? sim::CampaignSummary(*cell) : sim::CampaignSummary(scenario);
}

proto::Result<CampaignRequest, Failure> campaign_request(const Request& request, const sim::Scenario& scenario,
                                                         const sim::CellCampaign* cell) {
    const Arguments& arguments = request.arguments;
    CampaignRequest wanted;
    wanted.cell = cell;
    wanted.store = arguments.value("--store");
    wanted.resume = arguments.has("--resume");
    for (const std::string_view option : {"--merge", "--status"})
        if (arguments.has(option)) {
            wanted.stores = names_of(arguments.values(option));
            if (wanted.stores.empty()) return usage(std::string(option), "empty; write the names of the stores");
        }
    wanted.key.model = sim::model_number;
    wanted.key.made_by = made_by();
    wanted.key.scenario = scenario.title;
    wanted.key.seed = request.seed.value_or(scenario.seed);
    const auto trial = arguments.number("--trial", 0, trials_most - 1);
    if (!trial) return trial.error();
    wanted.one_trial = trial.value();
    const auto trials = arguments.number("--trials", 1, trials_most);
    if (!trials) return trials.error();
    const auto shard = shard_of(arguments);
    if (!shard) return shard.error();
    const auto keep = keep_of(arguments);
    if (!keep) return keep.error();
    wanted.keep = keep.value();
    wanted.key.keep = wanted.keep.value_or(Keep::all);
    const auto until = until_of(arguments);
    if (!until) return until.error();
    wanted.until = until.value();
    if (arguments.value("FILE") == standard_input)
        for (const char* option : {"--store", "--resume", "--shard", "--merge", "--plan", "--status"})
            if (arguments.has(option))
                return usage(option, "needs the scenario as a file, the same each time; name one in place of -");
    if (wanted.store && wanted.store->empty()) return usage("--store", "empty; write the name of a file");
    if (auto refused = choose(arguments, wanted)) return *refused;
    if (wanted.what == CampaignRequest::What::one_trial) return wanted;
    if (!trials.value() && wanted.stores.empty())
        return usage("--trials", "missing; write how many, for example --trials 100000");
    wanted.key.trials = trials.value().value_or(0);
    wanted.key.shard = shard.value().number;
    wanted.key.shards = shard.value().of;
    if (wanted.key.trials != 0 && wanted.key.shards > wanted.key.trials)
        return usage("--shard", "there are more parts than trials; write fewer parts");
    wanted.key.contents = contents_of(scenario, cell, wanted.key.seed);
    return wanted;
}

}  // namespace tools
