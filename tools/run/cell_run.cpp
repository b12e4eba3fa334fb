#include "tools/run/cell_run.hpp"

#include <array>
#include <string>
#include <utility>
#include <vector>

#include "proto/contract.hpp"
#include "sim/drive/cell_rehearsal.hpp"
#include "sim/scenario/contract_context.hpp"
#include "sim/studies/cell_acceptance.hpp"
#include "tools/program/log.hpp"
#include "tools/report/dossier.hpp"
#include "tools/report/papers.hpp"
#include "tools/run/cell_document.hpp"
#include "tools/run/cell_live.hpp"
#include "tools/run/cell_page.hpp"
#include "tools/run/cell_papers.hpp"
#include "tools/run/describe_guards.hpp"
#include "tools/run/describe_run.hpp"
#include "tools/run/live_asked.hpp"
#include "tools/run/run_capture.hpp"
#include "tools/run/time_line_document.hpp"
#include "tools/store/evidence.hpp"
#include "tools/store/provenance.hpp"
#include "tools/text/csv.hpp"
#include "tools/text/json.hpp"
#include "tools/text/junit.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

bool as_it_should_be(const sim::CellResult& result) {
    return result.verdict == sim::RunVerdict::pass && result.as_expected;
}

/// An injection for a spreadsheet, which has no room for lists of machines.
Value flat(const Value& injection) {
    Value::Object row;
    for (const Value::Member& member : *injection.object())
        if (member.key != "machines") row.push_back(member);
    return row;
}

/// What is in each row, also where there is none.
Value injection_pattern(const sim::WholeCell& cell) {
    const Value one = describe_injection(cell.links.front().alone, sim::InjectionResult{});
    Value::Object row;
    for (const Value::Member& member : *one.object()) {
        row.push_back(member);
        if (member.key == "id") row.push_back({"link", ""});
    }
    return row;
}

/// What a run leaves for people first, in the order in which the page names it; the link sheets are beside them.
constexpr std::array<const char*, 7> named_first{
    "report.html", "acceptance_sheet.html", "summary.txt", "injections.csv", "demands.csv", "junit.xml", "result.json"};

/// What a run came to, and what is to be kept of it.
struct Ran {
    const sim::WholeCell& cell;        ///< at the pace that was run
    const sim::WholeCell& as_written;  ///< of which papers are made: what is typed is not slowed
    const sim::CellResult& result;
    const std::vector<sim::TimeLine>& lines;
    std::unique_ptr<RunCapture> capture = {};  ///< not finished; may be missing
    std::vector<EvidenceFile> besides = {};    ///< what a live run's parts wrote down
};

/// What papers are made of, and what programs read.
std::vector<EvidenceFile> evidence_of(const Ran& ran, std::uint64_t seed, const Value& document) {
    const sim::WholeCell& cell = ran.cell;
    const DemandTable demands = demand_table(look_up_list(document, "demands"));
    Value::List injections;
    for (const Value& injection : look_up_list(document, "injections")) injections.push_back(flat(injection));
    std::vector<EvidenceFile> files;
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        files.push_back({"timeline_" + std::to_string(i + 1) + ".json",
                         to_json(with_provenance(describe(cell.links[i].alone, ran.lines[i]), cell.links[i].alone))});
    for (EvidenceFile& file : plant_files_of(ran.as_written, seed)) files.push_back(std::move(file));
    files.push_back(
        {"acceptance.json",
         to_json(with_provenance(describe_acceptance(ran.as_written, sim::study_acceptance(ran.as_written, seed)),
                                 ran.as_written.of_file()))});
    files.push_back({"injections.csv", to_csv(injections, injection_pattern(cell))});
    files.push_back({"demands.csv", to_csv(demands.rows, demands.pattern)});
    files.push_back({"junit.xml", to_junit(document)});
    return files;
}

/// Writes the evidence and says what came of it.
proto::Result<Finished, Failure> keep(const Request& request, Ran ran, std::uint64_t seed, const std::string& folder) {
    Value document = with_provenance(describe(ran.cell, ran.result), ran.cell.of_file());
    RunPageNotes notes{folder, {}};
    std::vector<EvidenceFile> files;
    std::vector<std::string> gone;
    if (ran.capture) {
        if (auto failure = ran.capture->finish(ran.result.digest)) return *failure;
        files.push_back(ran.capture->evidence());
        notes.files.emplace_back(capture_name);
        notes.remark = ran.capture->remark(ran.cell.duration);
        document = with_capture(document, ran.capture->summary());
    } else {
        gone.emplace_back(capture_name);
    }
    notes.files.insert(notes.files.end(), named_first.begin(), named_first.end());
    for (EvidenceFile& file : ran.besides) {
        notes.files.push_back(file.name);
        files.push_back(std::move(file));
    }
    std::vector<EvidenceFile> documents = evidence_of(ran, seed, document);
    documents.push_back({"summary.txt", page_of(ran.cell, ran.result, notes, Columns{}).text(Colour::off)});
    documents.push_back({"result.json", to_json(document)});
    // from the same bytes that a later report reads, so that both say the same
    const auto dossier = dossier_of(folder, documents);
    proto::require(dossier.ok(), "the documents of one run belong together");
    for (EvidenceFile& paper : papers_of(dossier.value())) files.push_back(std::move(paper));
    for (EvidenceFile& one : documents) files.push_back(std::move(one));
    log_line("writing the evidence to " + folder);
    if (auto failure = put_evidence(folder, files, gone)) return *failure;
    const Status status = ran.result.verdict == sim::RunVerdict::not_judged ? Status::machine
                          : as_it_should_be(ran.result)                     ? Status::done
                                                                            : Status::not_met;
    return Finished{status, document, page_of(ran.cell, ran.result, notes, request.columns)};
}

proto::Result<Finished, Failure> run_live(const Request& request, const sim::WholeCell& cell, std::uint64_t seed,
                                          const std::string& folder) {
    auto live = run_live_cell(request, cell, seed, folder);
    if (!live) return live.error();
    CellOutcome& outcome = live.value();
    if (outcome.result)
        return keep(request, {*outcome.cell, cell, *outcome.result, outcome.lines, nullptr, std::move(outcome.files)},
                    seed, folder);
    return Finished{Status::done, Value::Object{{"scenario", cell.file}, {"mode", "live"}, {"verdict", Value()}},
                    std::move(outcome.waiting)};
}

}  // namespace

proto::Result<Finished, Failure> run_cell(const Request& request, const GivenFile& given) {
    const auto read = given.cell();
    if (!read) return read.error();
    const sim::WholeCell& cell = read.value();
    const auto captured = capture_most(request.arguments);
    if (!captured) return captured.error();
    const std::uint64_t seed = request.seed.value_or(cell.seed);
    const sim::ContractContext context(cell.file, seed);
    const std::string folder = request.out.value_or(default_folder_of(cell.file));
    if (request.arguments.has("--live")) {
        if (request.arguments.has("--capture") && captured.value() != 0)
            return usage("--capture", "of several links is taken in virtual time; take --live or --capture away");
        return run_live(request, cell, seed, folder);
    }
    for (const OptionSpec& option : live_options())
        if (request.arguments.has(option.name)) return usage(std::string(option.name), "belongs to --live; add --live");

    std::unique_ptr<RunCapture> capture;
    if (captured.value() != 0) {
        auto begun = RunCapture::begin_cell(folder, cell, seed, captured.value());
        if (!begun) return begun.error();
        capture = std::move(begun).value();
    }
    log_line("rehearsing " + given.name() + ", seed " + std::to_string(seed));
    std::vector<sim::TimeLine> lines;
    lines.reserve(cell.links.size());
    std::vector<sim::Witnesses> witnesses;
    for (std::size_t i = 0; i < cell.links.size(); ++i) {
        lines.emplace_back(cell.links[i].alone);
        witnesses.push_back({capture ? &capture->trace(i) : nullptr, &lines.back()});
    }
    const sim::CellResult result = sim::rehearse_cell(cell, seed, witnesses);
    return keep(request, {cell, cell, result, lines, std::move(capture)}, seed, folder);
}

}  // namespace tools
