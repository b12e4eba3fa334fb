// One trial of a campaign over a whole cell by itself.
#include "sim/drive/cell_campaign.hpp"
#include "sim/drive/cell_trial.hpp"
#include "tools/campaign/campaign_parts.hpp"
#include "tools/campaign/campaign_trial.hpp"
#include "tools/run/describe_run.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::Outcome;

struct Shown {
    const sim::CellTrialRunner& runner;
    const sim::TrialRecord& record;
    std::string repeat;
    [[nodiscard]] const sim::CellLink& link(std::size_t i) const { return runner.cell().links[i]; }
    /// The first link that was struck, as it was in the trial.
    [[nodiscard]] const sim::Scenario& struck() const { return link(runner.struck().front().link).alone; }
    [[nodiscard]] bool of_controller() const { return runner.struck().size() > 1; }
    [[nodiscard]] bool good() const { return record.outcome != Outcome::dangerous && record.in_time; }
    [[nodiscard]] const std::string& machine_of(std::size_t i) const { return link(i).alone.machine->name; }
};

void injection_lines(Page& page, const Shown& shown) {
    for (const sim::FaultOfLink& one : shown.runner.struck()) {
        const sim::CellLink& link = shown.link(one.link);
        const sim::InjectionResult& injection = shown.runner.seen().links[one.link].injections.front();
        std::string text = std::string(word_for(injection.outcome)) + "; " +
                           counted(injection.telegrams, "telegram", "telegrams") + " touched, caught by " +
                           plain(caught_by(injection, full_names(link.alone)));
        const auto time = [&](const char* what, const std::optional<sim::Duration>& span) {
            if (span) text += std::string(", ") + what + " after " + in_tenths_of_ms(*span, Rounding::up);
        };
        time("caught", injection.detect);
        time("controller safe", injection.safe_state_controller);
        time("device safe", injection.safe_state_device);
        time("machine still", injection.standstill);
        if (injection.allowed) text += "; allowed " + in_tenths_of_ms(*injection.allowed, Rounding::down);
        page.paragraph("Outcome    ", "link " + plain(link.name) + ": " + text + ".");
    }
}

void far_lines(Page& page, const Shown& shown) {
    for (const sim::FarStop& far : shown.runner.seen().far_stops) {
        if (!far.moved) continue;
        std::string text =
            plain(shown.machine_of(far.machine_link)) + ", behind link " + plain(shown.link(far.link).name);
        text += far.standstill ? ", stood after " + in_tenths_of_ms(*far.standstill, Rounding::up)
                : far.stopping ? ", was stopping already"
                               : ", went on";
        if (!far.required) text += "; the wiring does not ask it to stop in every mode";
        if (far.allowed) text += "; allowed " + in_tenths_of_ms(*far.allowed, Rounding::down);
        if (!far.why.empty()) text += "; " + plain(far.why);
        page.paragraph("           ", text + ".");
    }
}

void demand_lines(Page& page, const Shown& shown) {
    if (shown.struck().demands.empty()) return page.paragraph("Demand     ", "none in this trial.");
    const std::string guard = plain(shown.struck().demands.front().safeguard);
    bool heard = false;
    for (std::size_t i = 0; i < shown.runner.seen().links.size(); ++i) {
        const sim::RunResult& seen = shown.runner.seen().links[i];
        for (const sim::DemandResult& demand : seen.demands) {
            std::string text = guard + ", its contact at " + in_s(demand.at) + ": ";
            text += shown.link(i).alone.machine ? plain(shown.machine_of(i)) + ", " : std::string();
            text += demand.response ? "at the output after " + in_tenths_of_ms(*demand.response, Rounding::up) + "."
                                    : "not at the output when the trial ended.";
            page.paragraph(heard ? "           " : "Demand     ", text);
            heard = true;
        }
        for (const sim::FunctionRow& row : seen.function_rows)
            page.paragraph("           ", "\"" + plain(shown.link(i).alone.functions[row.function].name) +
                                              "\": " + std::string(words_of(row.met)) +
                                              (row.why.empty() ? "" : "; " + plain(row.why)) + ".");
    }
    if (!heard) page.paragraph("Demand     ", guard + ": its contact never opened.");
}

Page page_of(const Shown& shown, Columns columns) {
    Page page(columns);
    const bool danger = shown.record.outcome == Outcome::dangerous;
    page.headline(danger                 ? "DANGEROUS"
                  : shown.record.in_time ? "PASS"
                                         : "FAIL",
                  shown.good() ? Hue::good : Hue::danger,
                  plain(shown.runner.cell().title) + ": trial " + std::to_string(shown.record.trial) + ".");
    if (danger) page.paragraph("           ", plain(shown.runner.why()) + ".");
    page.blank();
    const std::string where =
        shown.of_controller() ? "of the controller, in all links: " : "link " + plain(shown.struck().cell_link) + ": ";
    page.paragraph("Fault      ", where + plain(words_of(shown.struck().faults.front(), shown.struck())) + ".");
    page.paragraph("Begin      ", in_s(*shown.struck().faults.front().at) +
                                      (shown.record.phase == sim::TrialPhase::starting ? ", in the start of the cell."
                                                                                       : ", in the run."));
    demand_lines(page, shown);
    injection_lines(page, shown);
    far_lines(page, shown);
    page.blank();
    page.paragraph("Repeat     ", shown.repeat);
    page.paragraph("           ",
                   "linkdrill " LINKDRILL_VERSION "   trace fingerprint " + fingerprint(shown.record.digest));
    return page;
}

Value functions_of(const Shown& shown) {
    Value::List rows;
    for (std::size_t i = 0; i < shown.runner.seen().links.size(); ++i)
        for (const sim::FunctionRow& row : shown.runner.seen().links[i].function_rows)
            rows.push_back(Value::Object{
                {"name", shown.link(i).alone.functions[row.function].name},
                {"machine", shown.machine_of(i)},
                {"met", row.met == sim::Met::not_shown ? Value("not-shown") : Value(row.met == sim::Met::yes)},
                {"took_ms", Value::of(row.took)},
                {"allowed_ms", Value::of(row.allowed)},
                {"why", Value::text_or_null(row.why)}});
    return rows;
}

Value injections_of(const Shown& shown) {
    Value::List rows;
    for (const sim::FaultOfLink& one : shown.runner.struck()) {
        const sim::CellLink& link = shown.link(one.link);
        Value::Object row{{"link", link.name}};
        const Value of_link = describe_injection(link.alone, shown.runner.seen().links[one.link].injections.front());
        for (const Value::Member& member : *of_link.object()) row.push_back(member);
        rows.push_back(std::move(row));
    }
    return rows;
}

Value far_stops_of(const Shown& shown) {
    Value::List rows;
    for (const sim::FarStop& far : shown.runner.seen().far_stops)
        rows.push_back(Value::Object{{"link", shown.link(far.link).name},
                                     {"machine", shown.machine_of(far.machine_link)},
                                     {"moved", far.moved},
                                     {"stopping", far.stopping},
                                     {"required", far.required},
                                     {"standstill_ms", Value::of(far.standstill)},
                                     {"allowed_ms", Value::of(far.allowed)},
                                     {"within_limit", far.within_limit},
                                     {"why", Value::text_or_null(far.why)}});
    return rows;
}

Value dangerous_of(const Shown& shown) {
    Value::List rows;
    for (std::size_t i = 0; i < shown.runner.seen().links.size(); ++i)
        for (const sim::DangerousEvent& event : shown.runner.seen().links[i].dangerous)
            rows.push_back(Value::Object{{"link", shown.link(i).name}, {"at_ms", event.at}, {"why", event.why}});
    return rows;
}

}  // namespace

proto::Result<Finished, Failure> show_cell_trial(const Request& request, const CampaignRequest& wanted) {
    const sim::Scenario& whole = wanted.cell->whole;
    sim::CellTrialRunner runner(*wanted.cell, wanted.key.seed);
    const sim::TrialRecord record = runner.run(*wanted.one_trial);
    const Shown shown{runner, record,
                      "linkdrill campaign " + file_and_link(whole) + " --seed " + std::to_string(wanted.key.seed) +
                          " --trial " + std::to_string(record.trial)};
    const Value document = Value::Object{
        {"scenario", whole.file},
        {"seed", wanted.key.seed},
        {"trial", record.trial},
        {"link", shown.of_controller() ? Value() : Value(shown.struck().cell_link)},
        {"outcome", name_of(record.outcome)},
        {"error", sim::campaign_name_of(whole.faults[record.fault])},
        {"why", runner.why()},
        {"in_time", record.in_time},
        {"digest", record.digest},
        {"started", record.started},
        {"phase", record.phase == sim::TrialPhase::starting ? "starting" : "running"},
        {"fault", describe_fault(shown.struck())},
        {"demand", describe_demand(shown.struck())},
        {"functions", functions_of(shown)},
        {"injections", injections_of(shown)},
        {"far_stops", far_stops_of(shown)},
        {"dangerous", dangerous_of(shown)},
        {"repeat", shown.repeat},
    };
    Finished finished{shown.good() ? Status::done : Status::not_met, document, page_of(shown, request.columns)};
    if (request.out)
        if (auto failure = put_evidence(*request.out, {{"trial.txt", page_of(shown, Columns{}).text(Colour::off)},
                                                       {"trial.json", to_json(document)}}))
            return *failure;
    return finished;
}

}  // namespace tools
