// The document of a campaign.
#include "sim/numeric/share_interval.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "tools/campaign/campaign_page.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::Outcome;

constexpr std::array outcomes{Outcome::safe_state, Outcome::tolerated, Outcome::no_effect,
                              Outcome::dangerous,  Outcome::not_fired, Outcome::never_ran};

std::string key_of(Outcome outcome) {
    std::string key(name_of(outcome));
    for (char& letter : key)
        if (letter == '-') letter = '_';
    return key;
}

Value times_of(sim::Distribution& distribution) {
    const auto points = distribution.points();
    if (!points) return Value::Object{{"median", Value()}, {"p99", Value()}, {"max", Value()}, {"step", Value()}};
    return Value::Object{
        {"median", points->median}, {"p99", points->p99}, {"max", points->max}, {"step", points->step}};
}

/// Of how many trials so many had an outcome, with the exact interval.
Value share_of(std::uint64_t seen, std::uint64_t trials) {
    const sim::Interval interval = sim::share_interval(seen, trials);
    return Value::Object{
        {"share", trials == 0 ? Value() : Value(static_cast<double>(seen) / static_cast<double>(trials))},
        {"low", interval.low},
        {"high", interval.high}};
}

Value describe(sim::ErrorSummary& error) {
    Value::Object measures, shares;
    for (unsigned m = 0; m < proto::measure_count; ++m)
        measures.push_back({std::string(name_of(static_cast<proto::Measure>(m))), error.first_measure[m]});
    Value::Object all{{"trials", error.trials}, {"detected", error.detected}};
    for (const Outcome outcome : outcomes) {
        all.push_back({key_of(outcome), error.of(outcome)});
        shares.push_back({key_of(outcome), share_of(error.of(outcome), error.trials)});
    }
    all.push_back({"dangerous_upper_95", sim::share_at_most(error.of(Outcome::dangerous), error.fired())});
    all.push_back({"shares", std::move(shares)});
    all.push_back({"first_measure", std::move(measures)});
    all.push_back({"detect_ms", times_of(error.detect)});
    all.push_back({"safe_state_ms", times_of(error.safe_state)});
    all.push_back({"standstill_ms", times_of(error.standstill)});
    all.push_back({"allowed_ms", Value::of(error.allowed)});
    all.push_back({"stops_without_bound", error.without_bound.count()});
    all.push_back({"without_bound_safe_state_ms", times_of(error.without_bound)});
    all.push_back({"late", error.late});
    return all;
}

Value describe(const std::vector<sim::LinkSummary>& links) {
    Value::List rows;
    for (const sim::LinkSummary& link : links) {
        Value::Object row{{"name", Value::text_or_null(link.name)}, {"trials", link.trials}};
        for (const Outcome outcome : outcomes) row.push_back({key_of(outcome), link.of(outcome)});
        row.push_back({"late", link.late});
        row.push_back({"dangerous_upper_95", sim::share_at_most(link.of(Outcome::dangerous), link.fired())});
        rows.push_back(std::move(row));
    }
    return rows;
}

std::string word_of(CampaignVerdict verdict) {
    switch (verdict) {
        case CampaignVerdict::pass: return "pass";
        case CampaignVerdict::dangerous: return "dangerous";
        case CampaignVerdict::stopped: return "stopped";
        case CampaignVerdict::fail:
        case CampaignVerdict::not_running: break;
    }
    return "fail";
}

}  // namespace

CampaignVerdict CampaignFinding::verdict() const {
    if (summary.of(Outcome::dangerous) > 0) return CampaignVerdict::dangerous;
    if (summary.late() > 0) return CampaignVerdict::fail;
    if (summary.trials() > 0 && summary.not_started() == summary.trials()) return CampaignVerdict::not_running;
    if (!complete()) return CampaignVerdict::stopped;
    return mostly_idle(summary) ? CampaignVerdict::fail : CampaignVerdict::pass;
}

bool mostly_idle(const sim::CampaignSummary& summary) {
    constexpr std::uint64_t enough = 20;
    return summary.trials() >= enough && summary.fired() * 2 < summary.trials();
}

std::string repeat_command(const CampaignFinding& found, std::uint64_t trial) {
    return "linkdrill campaign " + file_and_link(found.scenario) + " --seed " + std::to_string(found.seed) +
           " --trial " + std::to_string(trial);
}

Value describe(const CampaignFinding& found) {
    sim::CampaignSummary& summary = found.summary;
    Value::Object counts, by_error;
    for (const Outcome outcome : outcomes) counts.push_back({std::string(name_of(outcome)), summary.of(outcome)});
    for (sim::ErrorSummary& error : summary.errors()) by_error.push_back({error.name, describe(error)});
    Value::List dangerous;
    for (const sim::DangerousTrial& one : summary.dangerous()) {
        Value::Object row{{"trial", one.trial},
                          {"seed", found.seed},
                          {"error", summary.error_of(one.fault).name},
                          {"why", one.why},
                          {"repeat", repeat_command(found, one.trial)}};
        if (found.of_cell()) row.push_back({"link", Value::text_or_null(found.link_of(one.fault).name)});
        dangerous.push_back(std::move(row));
    }
    Value::List functions;
    for (const sim::FunctionSummary& one : summary.functions())
        functions.push_back(Value::Object{{"name", one.name},
                                          {"met", one.met},
                                          {"not_met", one.not_met},
                                          {"not_shown", one.not_shown},
                                          {"worst_ms", Value::of(one.worst)}});
    const sim::TrialRange range = sim::shard_of(found.trials, found.shard, found.shards);
    Value::Object document{
        {"scenario", found.scenario.file},
        {"seed", found.seed},
        {"verdict", word_of(found.verdict())},
        {"trials", summary.trials()},
        {"trials_asked", found.wanted},
        {"shard",
         found.shards == 1
             ? Value()
             : Value(Value::Object{
                   {"number", found.shard}, {"of", found.shards}, {"first", range.first}, {"end", range.end}})},
        {"digest", sim::written_hex(summary.digest(), 16)},
        {"outcomes", std::move(counts)},
        {"by_error", std::move(by_error)},
        {"functions", std::move(functions)},
        {"dangerous", std::move(dangerous)},
        {"dangerous_not_listed", summary.of(Outcome::dangerous) - summary.dangerous().size()},
        {"dangerous_upper_95", sim::share_at_most(summary.of(Outcome::dangerous), summary.fired())},
        {"dangerous_share", share_of(summary.of(Outcome::dangerous), summary.trials())},
        {"late", summary.late()},
        {"with_demand", summary.demands()},
        {"in_start", summary.starting()},
        {"link_never_ran", summary.not_started()},
        {"spurious_trips", summary.spurious()},
        {"cycles", summary.cycles()},
        {"exchanges", summary.exchanges()},
    };
    if (found.of_cell()) document.push_back({"by_link", describe(summary.links())});
    return document;
}

}  // namespace tools
