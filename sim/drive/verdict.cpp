#include "sim/drive/verdict.hpp"
#include "sim/drive/function_verdict.hpp"
#include "sim/scenario/reach.hpp"
#include "sim/scenario/scenario.hpp"

#include <algorithm>

namespace sim {
namespace {

void expect(const Scenario& scenario, InjectionResult& r) {
    const Fault& fault = scenario.faults[r.fault];
    std::string measures;
    for (const std::string& measure : fault.expect_detected_by) measures += (measures.empty() ? "" : " or ") + measure;
    r.expected = fault.expect_outcome.value_or("");
    if (!measures.empty()) r.expected += (r.expected.empty() ? "detected by " : ", detected by ") + measures;
    if (fault.expect_end) r.expected += " at the " + *fault.expect_end;

    const std::string outcome(name_of(r.outcome));
    const std::string by = r.detected_by ? std::string(proto::name_of(*r.detected_by)) : "none";
    const auto complain = [&r](const std::string& why) {
        r.as_expected = false;
        if (r.why.empty()) r.why = why;
    };
    if (r.outcome == Outcome::not_fired)
        complain("it never came to act: its telegram, time or condition was not reached");
    if (r.outcome == Outcome::never_ran && !fault.expect_outcome) r.as_expected = false;
    if (fault.expect_outcome && *fault.expect_outcome != outcome)
        complain("expected " + *fault.expect_outcome + ", found " + outcome);
    if (!fault.expect_outcome && r.outcome == Outcome::dangerous) r.as_expected = false;
    if (!fault.expect_detected_by.empty() && std::find(fault.expect_detected_by.begin(), fault.expect_detected_by.end(),
                                                       by) == fault.expect_detected_by.end())
        complain("expected to be detected by " + measures + ", was by " + by);
    if (fault.expect_end &&
        (!r.detected_end || *fault.expect_end != (*r.detected_end == End::controller ? "controller" : "device")))
        complain("expected to be detected at the " + *fault.expect_end);
    if (!r.within_limit && !r.ran_on) complain("the safe state was reached later than allowed");
}

/// What is typed of network and module, as far as the link itself shows nothing of it: false where the ends differ.
bool is_typed_alike(const Scenario& scenario, RunResult& result) {
    bool alike = true, all = true;
    for (const NetworkFinding& finding : network_report(scenario).findings) {
        all = all && finding.kind != NetworkFinding::Kind::not_compared;
        if (finding.apart || finding.kind != NetworkFinding::Kind::difference) continue;
        alike = false;
        result.remarks.push_back("The ends differ in " + finding.what.setting + ", " + finding.what.controller +
                                 " and " + finding.what.device +
                                 ", and what that does is not rehearsed: compare them "
                                 "with `check`.");
    }
    if (!all) result.remarks.emplace_back("Of what is typed of network and module not all is compared: see `check`.");
    return alike;
}

}  // namespace

void withdraw_verdict(RunResult& result) {
    result.verdict = RunVerdict::not_judged;
    result.as_expected = false;
    for (FunctionResult& function : result.functions)
        if (function.met == Met::yes) function.met = Met::not_shown;
}

void conclude(const Scenario& scenario, const ScenarioLimits& limits, RunResult& result) {
    result.bound = limits.bound;
    result.required = limits.required;
    result.stopping = limits.stopping;
    result.stopping_um = limits.stopping_um;
    result.remarks = limits.remarks;
    judge_functions(scenario, limits, result);

    bool expected = true;
    for (InjectionResult& r : result.injections) {
        expect(scenario, r);
        expected = expected && r.as_expected;
    }
    bool met = expected && result.link_started && result.spurious_trips == 0 && result.twin.spurious_trips == 0 &&
               result.twin.recovered;
    if (std::any_of(result.injections.begin(), result.injections.end(),
                    [](const InjectionResult& r) { return r.ran_on; })) {
        met = false;
        result.remarks.push_back("A failure of the link leaves the " + scenario.machine->name +
                                 " running at reduced speed, and nothing says that this ends the hazard.");
    }
    for (const ValueResult& value : result.values) {
        if (value.out_of_range == 0) continue;
        met = false;
        const SafeValue& what = scenario.values.all[value.value];
        result.remarks.push_back(
            what.name + " was read out of its range at " + scenario.end(receiver(what.direction)).name + " in " +
            std::to_string(value.out_of_range) + (value.out_of_range == 1 ? " telegram" : " telegrams") +
            " that meant something else, and its substitute was used: compare the two ends with "
            "`check`.");
    }
    met = is_typed_alike(scenario, result) && met;
    if (const auto apart = kept_apart(scenario))
        result.remarks.push_back("The link never ran: its ends are kept apart by " + apart->setting +
                                 ", and nothing about it was rehearsed.");
    else if (!result.link_started)
        result.remarks.emplace_back(
            "The link never ran: nothing about it was rehearsed. Compare the two ends with `check`.");
    if (result.required && result.bound && *result.bound > *result.required) {
        met = false;
        result.remarks.push_back("The calculated worst response " + in_ms(*result.bound) +
                                 " is longer than the required " + in_ms(*result.required) + ".");
    }
    if (result.bound && result.worst_seen && *result.worst_seen > worst_with_end_faults(scenario, *result.bound) &&
        result.dangerous.empty()) {
        met = false;
        result.remarks.emplace_back("A response longer than the calculated worst was seen: please report this.");
    }
    result.verdict = !result.dangerous.empty() ? RunVerdict::dangerous : met ? RunVerdict::pass : RunVerdict::fail;
    result.as_expected = expected && name_of(result.verdict) == scenario.expect_verdict;
}

}  // namespace sim
