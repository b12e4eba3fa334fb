// linkdrill run FILE: rehearses a scenario and keeps the evidence.
#include <algorithm>
#include <array>
#include <string>

#include "proto/contract.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/scenario/contract_context.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/acceptance_study.hpp"
#include "sim/studies/function_check.hpp"
#include "tools/program/command.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/log.hpp"
#include "tools/report/dossier.hpp"
#include "tools/report/papers.hpp"
#include "tools/run/acceptance_document.hpp"
#include "tools/run/cell_run.hpp"
#include "tools/run/describe_guards.hpp"
#include "tools/run/describe_run.hpp"
#include "tools/run/live_asked.hpp"
#include "tools/run/live_run.hpp"
#include "tools/run/plant_document.hpp"
#include "tools/run/run_capture.hpp"
#include "tools/run/run_page.hpp"
#include "tools/run/time_line_document.hpp"
#include "tools/store/evidence.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/csv.hpp"
#include "tools/text/json.hpp"
#include "tools/text/junit.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

bool as_it_should_be(const sim::RunResult& result) {
    return result.verdict == sim::RunVerdict::pass && result.as_expected &&
           std::ranges::all_of(result.injections, [](const sim::InjectionResult& injection) {
               return injection.as_expected && injection.within_limit && injection.outcome != sim::Outcome::dangerous;
           });
}

/// What a run leaves for people first, in the order in which the page names it.
constexpr std::array<const char*, 8> named_first{"report.html", "link_sheet.html", "acceptance_sheet.html",
                                                 "summary.txt", "injections.csv",  "demands.csv",
                                                 "junit.xml",   "result.json"};

/// What is found out besides the run itself.
struct Studies {
    PlantFound plant;
    sim::AcceptanceStudy acceptance;
};

/// Of the ends and of the guards: what check would say of both.
sim::CrossCheck checked(const sim::Scenario& scenario, const sim::FunctionCheck& guards) {
    sim::CrossCheck found = sim::cross_check(scenario);
    found.problems.insert(found.problems.end(), guards.problems.begin(), guards.problems.end());
    found.cautions.insert(found.cautions.end(), guards.cautions.begin(), guards.cautions.end());
    return found;
}

Studies studies_of(const sim::Scenario& scenario, std::uint64_t seed) {
    const sim::FunctionCheck guards = sim::check_functions(scenario);
    return {{.check = checked(scenario, guards), .longest = sim::longest_watchdog(scenario), .functions = guards},
            sim::study_acceptance(scenario, seed)};
}

/// Describes what was found; result.json comes last: see put_evidence().
std::vector<EvidenceFile> evidence_of(const sim::Scenario& scenario, const sim::Scenario& typed,
                                      const sim::RunResult& result, const Studies& studies, const Value& document,
                                      const sim::TimeLine& line, const RunPageNotes& notes) {
    const DemandTable demands = demand_table(look_up_list(document, "demands"));
    const auto stamped = [&](const Value& value) { return to_json(with_provenance(value, scenario)); };
    std::vector<EvidenceFile> files{
        {"plant.json", stamped(describe_plant(typed, result.seed, studies.plant))},
        {"acceptance.json", stamped(describe_acceptance(typed, studies.acceptance))},
        {"timeline.json", stamped(describe(scenario, line))},
        {"summary.txt", page_of(scenario, result, notes, Columns{}).text(Colour::off)},
        {"injections.csv", to_csv(look_up_list(document, "injections"), describe_injection(scenario, {}))},
        {"demands.csv", to_csv(demands.rows, demands.pattern)},
        {"junit.xml", to_junit(document)},
        {"result.json", to_json(document)},
    };
    // from the same bytes that a later report reads, so that both say the same
    const auto dossier = dossier_of(notes.folder, files);
    proto::require(dossier.ok(), "the documents of one run belong together");
    std::vector<EvidenceFile> all = papers_of(dossier.value());
    for (EvidenceFile& file : files) all.push_back(std::move(file));
    return all;
}

/// Finds out what else the evidence tells, writes it and says what came of it. `typed`: of which papers are made.
proto::Result<Finished, Failure> keep(const Request& request, const sim::Scenario& scenario, const sim::Scenario& typed,
                                      const sim::RunResult& result, const sim::TimeLine& line,
                                      const std::string& folder, std::vector<EvidenceFile> besides,
                                      RunCapture* capture) {
    const Studies studies = studies_of(typed, result.seed);
    std::vector<EvidenceFile> files = std::move(besides);
    std::vector<std::string> gone;
    RunPageNotes notes{folder, {}};
    Value document = with_provenance(describe(scenario, result), scenario);
    if (capture != nullptr) {
        if (auto failure = capture->finish(result.digest)) return *failure;
        files.push_back(capture->evidence());
        notes.remark = capture->remark(scenario.duration);
        document = with_capture(document, capture->summary());
    } else {
        gone.emplace_back(capture_name);
    }
    for (const EvidenceFile& written : files) notes.files.push_back(written.name);
    notes.files.insert(notes.files.end(), named_first.begin(), named_first.end());
    for (EvidenceFile& file : evidence_of(scenario, typed, result, studies, document, line, notes))
        files.push_back(std::move(file));
    log_line("writing the evidence to " + folder);
    if (auto failure = put_evidence(folder, files, gone)) return *failure;

    const Status status = result.verdict == sim::RunVerdict::not_judged ? Status::machine
                          : as_it_should_be(result)                     ? Status::done
                                                                        : Status::not_met;
    return Finished{status, document, page_of(scenario, result, notes, request.columns)};
}

proto::Result<Finished, Failure> run_live(const Request& request, const sim::Scenario& scenario, std::uint64_t seed,
                                          const std::string& folder) {
    auto live = run_live_command(request, scenario, seed, folder);
    if (!live) return live.error();
    LiveOutcome& outcome = live.value();
    // what is typed at the ends is not slowed with the run
    if (outcome.result)
        return keep(request, *outcome.scenario, outcome.result->time_scale == 1 ? *outcome.scenario : scenario,
                    *outcome.result, *outcome.line, folder, std::move(outcome.files), outcome.capture.get());
    return Finished{Status::done, Value::Object{{"scenario", scenario.file}, {"mode", "live"}, {"verdict", Value()}},
                    std::move(outcome.waiting)};
}

proto::Result<Finished, Failure> run(const Request& request) {
    const auto given = GivenFile::of(request.arguments.value("FILE").value_or(""));
    if (!given) return given.error();
    const std::string file = given.value().name();
    if (given.value().is_profile()) {
        return Failure{Status::bad_input,
                       file,
                       0,
                       {},
                       "is a telegram profile, nothing to rehearse; name a scenario, or linkdrill check it"};
    }
    if (given.value().has_several_links()) return run_cell(request, given.value());
    const auto read = given.value().scenario();
    if (!read) return read.error();
    const sim::Scenario& scenario = read.value();
    const std::uint64_t seed = request.seed.value_or(scenario.seed);
    const sim::ContractContext context(scenario.file, seed);

    const std::string folder = request.out.value_or(default_folder_of(scenario.file));
    if (request.arguments.has("--live")) return run_live(request, scenario, seed, folder);
    for (const OptionSpec& option : live_options())
        if (request.arguments.has(option.name)) return usage(std::string(option.name), "belongs to --live; add --live");

    const auto most = capture_most(request.arguments);
    if (!most) return most.error();
    std::unique_ptr<RunCapture> capture;
    if (most.value() != 0) {
        auto begun = RunCapture::begin(folder, scenario, seed, most.value());
        if (!begun) return begun.error();
        capture = std::move(begun).value();
    }
    log_line("rehearsing " + file + ", seed " + std::to_string(seed));
    sim::TimeLine line(scenario);
    const sim::RunResult result = sim::rehearse(scenario, seed, {capture ? &capture->trace() : nullptr, &line});
    return keep(request, scenario, scenario, result, line, folder, {}, capture.get());
}

std::vector<OptionSpec> run_options() {
    std::vector<OptionSpec> options{capture_option()};
    for (const OptionSpec& option : live_options()) options.push_back(option);
    return options;
}

}  // namespace

Command run_command() {
    return {
        .name = "run",
        .group = Command::Group::use_first,
        .does = "rehearse the scenario and write the evidence",
        .positional = {"FILE", "scenario to rehearse", PositionalSpec::Need::required},
        .options = run_options(),
        .example = "linkdrill run scenarios/veneer_press/all_errors.toml --out evidence",
        .notes =
            {"The evidence: report.html, a link sheet and an acceptance sheet (HTML and Markdown), capture.pcapng "
             "(every "
             "telegram on every hop, see linkdrill decode), summary.txt, injections.csv, demands.csv, junit.xml, and "
             "documents as "
             "JSON. A folder that linkdrill did not write is left alone.",
             "Outcomes. Stopped: an end went to its safe values. Tolerated: something was rejected or missing, and the "
             "link "
             "ran on. No effect: nothing arrived wrong. DANGEROUS: a wrong or stale value was used, or a demand came "
             "too "
             "late.",
             "--live runs the same ends, faults and scenario over UDP on this computer with real timers; a computer "
             "that was "
             "later than a fifth of the watchdog is told so instead of a verdict (status 3). With --as three processes "
             "run "
             "the three parts, started in any order, with the same --out; the one that ends last joins their records. "
             "A "
             "cell of several links has a device for each: --as \"device:STATION\", and the channel's --peer lists the "
             "controller, then the devices in the order of the links.",
             "A stop for nothing is one without a demand and without an injected fault; losses of the channel itself "
             "count "
             "as nothing."},
        .run = run,
    };
}

}  // namespace tools
