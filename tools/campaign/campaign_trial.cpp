#include "tools/campaign/campaign_trial.hpp"

#include "sim/drive/verdict.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/campaign/campaign_page.hpp"
#include "tools/campaign/campaign_parts.hpp"
#include "tools/run/describe_run.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::Outcome;

void demand_line(Page& page, const sim::Scenario& trial, const sim::RunResult& seen) {
    if (trial.demands.empty()) {
        page.paragraph("Demand     ", "none in this trial.");
        return;
    }
    const sim::Demand& demand = trial.demands.front();
    std::string text = plain(demand.safeguard) + ", its contact at ";
    if (seen.demands.empty()) {
        text = plain(demand.safeguard) + ": nothing that the machine obeys depends on it.";
    } else {
        const sim::DemandResult& found = seen.demands.front();
        text += in_s(found.at);
        text += found.response ? ", at the output after " + in_tenths_of_ms(*found.response, Rounding::up) + "."
                               : "; it had not reached the output when the trial ended.";
    }
    page.paragraph("Demand     ", text);
}

void function_lines(Page& page, const sim::Scenario& trial, const sim::RunResult& seen) {
    for (const sim::FunctionRow& row : seen.function_rows)
        page.paragraph("           ",
                       "\"" + plain(trial.functions[row.function].name) + "\": " + std::string(words_of(row.met)) +
                           (row.took ? ", " + in_tenths_of_ms(*row.took, Rounding::up) + " after the contact" : "") +
                           (row.why.empty() ? "" : "; " + plain(row.why)) + ".");
}

Page trial_page(const sim::TrialRunner& runner, const sim::TrialRecord& record, const std::string& repeat,
                Columns columns) {
    const sim::Scenario& trial = runner.scenario();
    const sim::RunResult& seen = runner.seen();
    const sim::InjectionResult& injection = seen.injections.front();
    const EndNames names = full_names(trial);
    Page page(columns);
    const bool danger = record.outcome == Outcome::dangerous;
    const Hue hue = danger || !record.in_time ? Hue::danger : Hue::good;
    page.headline(danger           ? "DANGEROUS"
                  : record.in_time ? "PASS"
                                   : "FAIL",
                  hue, plain(trial.title) + ": trial " + std::to_string(record.trial) + ".");
    for (const sim::DangerousEvent& event : seen.dangerous)
        page.paragraph(danger ? "           " : "      ", "at " + in_s(event.at) + ": " + plain(event.why) + ".");
    page.blank();
    page.paragraph("Fault      ", plain(words_of(trial.faults.front(), trial)) + ", " + way_of(injection) + ".");
    page.paragraph("Begin      ",
                   in_s(*trial.faults.front().at) +
                       (record.phase == sim::TrialPhase::starting ? ", in the start of the link." : ", in the run."));
    demand_line(page, trial, seen);
    function_lines(page, trial, seen);
    page.paragraph("Outcome    ", std::string(word_for(record.outcome)) + "; " +
                                      counted(injection.telegrams, "telegram", "telegrams") + " touched, caught by " +
                                      plain(caught_by(injection, names)) + ".");
    const auto time = [&](const char* what, const std::optional<sim::Duration>& span) {
        if (span) page.paragraph("           ", what + in_tenths_of_ms(*span, Rounding::up) + " after the injection.");
    };
    time("Caught ", injection.detect);
    time("Controller safe ", injection.safe_state_controller);
    time("Device safe ", injection.safe_state_device);
    time("Machine still ", injection.standstill);
    if (injection.allowed)
        page.paragraph("           ", "Allowed are " + in_tenths_of_ms(*injection.allowed, Rounding::down) + ".");
    page.blank();
    page.paragraph("Repeat     ", repeat);
    page.paragraph("           ", "linkdrill " LINKDRILL_VERSION "   trace fingerprint " + fingerprint(record.digest));
    return page;
}

Value describe_functions(const sim::Scenario& trial, const sim::RunResult& seen) {
    Value::List rows;
    for (const sim::FunctionRow& row : seen.function_rows)
        rows.push_back(Value::Object{
            {"name", trial.functions[row.function].name},
            {"met", row.met == sim::Met::not_shown ? Value("not-shown") : Value(row.met == sim::Met::yes)},
            {"took_ms", Value::of(row.took)},
            {"allowed_ms", Value::of(row.allowed)},
            {"why", Value::text_or_null(row.why)}});
    return rows;
}

}  // namespace

Value describe_fault(const sim::Scenario& trial) {
    const sim::Fault& fault = trial.faults.front();
    Value::List bits;
    for (const unsigned bit : fault.bits) bits.emplace_back(bit);
    return Value::Object{{"way", name_of(fault.way)},
                         {"words", words_of(fault, trial)},
                         {"to_device", fault.to_device},
                         {"to_controller", fault.to_controller},
                         {"at_ms", Value::of(fault.at)},
                         {"lasting_ms", Value::of(fault.lasting)},
                         {"times", Value::of(fault.times)},
                         {"every", fault.every},
                         {"bits", std::move(bits)},
                         {"count", fault.count},
                         {"length", fault.length},
                         {"rate", fault.rate},
                         {"back", fault.back},
                         {"hold_ms", fault.hold},
                         {"extra_ms", fault.extra}};
}

Value describe_demand(const sim::Scenario& trial) {
    if (trial.demands.empty()) return {};
    const sim::Demand& demand = trial.demands.front();
    return Value::Object{{"safeguard", demand.safeguard}, {"at_ms", demand.at}};
}

proto::Result<Finished, Failure> show_trial(const Request& request, const CampaignRequest& wanted,
                                            const sim::Scenario& scenario) {
    sim::TrialRunner runner(scenario, wanted.key.seed);
    const sim::TrialRecord record = runner.run(*wanted.one_trial);
    const sim::Scenario& trial = runner.scenario();
    const std::string repeat = "linkdrill campaign " + file_and_link(scenario) + " --seed " +
                               std::to_string(wanted.key.seed) + " --trial " + std::to_string(record.trial);
    Value::List why;
    for (const sim::DangerousEvent& event : runner.seen().dangerous)
        why.push_back(Value::Object{{"at_ms", event.at}, {"why", event.why}});
    const Value document = Value::Object{
        {"scenario", scenario.file},
        {"seed", wanted.key.seed},
        {"trial", record.trial},
        {"outcome", name_of(record.outcome)},
        {"error", sim::campaign_name_of(scenario.faults[record.fault])},
        {"why", runner.why()},
        {"digest", record.digest},
        {"started", record.started},
        {"phase", record.phase == sim::TrialPhase::starting ? "starting" : "running"},
        {"fault", describe_fault(trial)},
        {"demand", describe_demand(trial)},
        {"functions", describe_functions(trial, runner.seen())},
        {"injection", describe_injection(trial, runner.seen().injections.front())},
        {"dangerous", std::move(why)},
        {"repeat", repeat},
    };
    const bool good = record.outcome != Outcome::dangerous && record.in_time;
    Finished finished{good ? Status::done : Status::not_met, document,
                      trial_page(runner, record, repeat, request.columns)};
    if (request.out)
        if (auto failure = put_evidence(*request.out,
                                        {{"trial.txt", trial_page(runner, record, repeat, Columns{}).text(Colour::off)},
                                         {"trial.json", to_json(document)}}))
            return *failure;
    return finished;
}

}  // namespace tools
