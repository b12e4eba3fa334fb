#include "tools/run/live_join.hpp"

#include <algorithm>
#include <utility>

#include "sim/drive/by_hand.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/drive/verdict.hpp"
#include "sim/judge/run_result.hpp"
#include "sim/live/live.hpp"
#include "tools/run/live_files.hpp"
#include "tools/run/run_page_parts.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// What is said of a part that was not there. An end that was away stood without power, and is judged by that; over
/// what nobody wrote down, or what a channel did not do, there is no verdict.
void tell_away(sim::RunResult& result, const sim::Scenario& scenario) {
    for (const sim::PartAway& one : result.away) {
        const auto end = sim::end_of(one.part);
        const std::string name = end ? scenario.end(*end).name : "channel";
        const std::string until = in_ms(one.until - proto::Instant{}, Rounding::up);
        std::string remark = "The " + name;
        if (one.recorded) {
            remark += " was away from " + in_ms(one.from - proto::Instant{}, Rounding::down);
            remark += " to " + until;
            remark += end ? ": it counts as switched off and on."
                          : ": what its faults would have done meanwhile was not rehearsed.";
        } else {
            remark += " was started anew, or late: what it did before " + until;
            remark += " was not recorded.";
        }
        result.remarks.push_back(std::move(remark));
        if (one.recorded && end) continue;
        sim::withdraw_verdict(result);
    }
}

/// A fault that acted while an end was away acted on nobody.
void tell_not_rehearsed(sim::RunResult& result, const sim::Scenario& scenario) {
    const auto acted = [&](const sim::InjectionResult& injection, const sim::PartAway& away) {
        const sim::Fault& fault = scenario.faults[injection.fault];
        if (fault.by_hand || !struck(injection)) return false;
        // one that was to act meanwhile, and found its telegram only afterwards, acted on a link that was starting
        const proto::Instant acted_at = proto::Instant{} + injection.at;
        const proto::Instant begin = proto::Instant{} + std::min(injection.at, fault.at.value_or(injection.at));
        const proto::Instant end = fault.lasting ? acted_at + *fault.lasting : fault.at_end ? proto::never : acted_at;
        return begin <= away.until && end >= away.from;
    };
    for (const sim::PartAway& away : result.away)
        for (const sim::InjectionResult& injection : result.injections) {
            const auto end = sim::end_of(away.part);
            if (!end || !acted(injection, away)) continue;
            std::string remark = "Error " + std::to_string(injection.fault + 1);
            remark += " acted while the " + scenario.end(*end).name + " was away: it was not rehearsed.";
            result.remarks.push_back(std::move(remark));
            sim::withdraw_verdict(result);
        }
}

void judge(sim::RunResult& result, const sim::Scenario& scenario, const LiveAsked& asked,
           const sim::ScenarioLimits& limits) {
    result.time_scale = asked.scale;
    result.remarks = limits.remarks;
    result.twin = sim::twin_of(scenario, asked.seed, limits.limits);
    sim::conclude(scenario, limits, result);
    result.lateness_allowed = sim::lateness_allowed(scenario);
    if (result.lateness.at(1.0) > result.lateness_allowed) sim::withdraw_verdict(result);
    tell_away(result, scenario);
    tell_not_rehearsed(result, scenario);
    if (asked.scale != 1)
        result.remarks.push_back("Every duration of the scenario was multiplied by " + std::to_string(asked.scale) +
                                 ".");
}

/// Nothing where none was asked for, or none can be told.
proto::Result<std::unique_ptr<RunCapture>, Failure> capture_of(const LiveAsked& asked, const sim::Scenario& scenario,
                                                               const sim::PartRecord& channel) {
    const bool one_kind = channel.controller.six == channel.channel.six && channel.device.six == channel.channel.six;
    if (asked.most == 0 || !one_kind || channel.telegrams.empty()) return std::unique_ptr<RunCapture>();
    return RunCapture::begin_live(asked.folder, scenario, asked.seed, asked.most, channel);
}

}  // namespace

proto::Result<bool, Failure> join_records(LiveOutcome& outcome, const LiveAsked& asked, const sim::PartRecords& parts) {
    auto run = std::make_unique<const sim::Scenario>(sim::with_restarts(*outcome.scenario, parts));
    const sim::ScenarioLimits limits = sim::limits_of(*run);
    auto capture = capture_of(asked, *run, parts[static_cast<std::size_t>(sim::Part::channel)]);
    if (!capture) return capture.error();
    auto joined = sim::join(*run, asked.seed, limits, parts,
                            {capture.value() ? &capture.value()->trace() : nullptr, &outcome.line.emplace(*run)});
    if (!joined && asked.in_one_process) {
        // no telegram came through: a link that never started
        joined = sim::result_of(*run, asked.seed);
        joined->live = true;
        capture.value().reset();
    }
    if (!joined) {
        outcome.line.reset();
        return false;
    }
    judge(*joined, *run, asked, limits);
    outcome.scenario = std::move(run);
    outcome.capture = std::move(capture).value();
    if (!joined->round_trips.empty()) outcome.files.push_back(delay_file("round_trips.csv", *joined));
    outcome.files.push_back(lateness_file(joined->lateness));
    outcome.result = std::move(joined);
    return true;
}

}  // namespace tools
