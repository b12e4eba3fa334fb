#include "tools/run/cell_run.hpp"

#include <string>
#include <utility>
#include <vector>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/scenario/contract_context.hpp"
#include "tools/program/log.hpp"
#include "tools/run/cell_document.hpp"
#include "tools/run/cell_live.hpp"
#include "tools/run/cell_page.hpp"
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

/// result.json comes last: see put_evidence().
std::vector<EvidenceFile> evidence_of(const sim::WholeCell& cell, const Value& document,
                                      const std::vector<sim::TimeLine>& lines) {
    const DemandTable demands = demand_table(look_up_list(document, "demands"));
    Value::List injections;
    for (const Value& injection : look_up_list(document, "injections")) injections.push_back(flat(injection));
    std::vector<EvidenceFile> files;
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        files.push_back({"timeline_" + std::to_string(i + 1) + ".json",
                         to_json(with_provenance(describe(cell.links[i].alone, lines[i]), cell.links[i].alone))});
    files.push_back({"injections.csv", to_csv(injections, injection_pattern(cell))});
    files.push_back({"demands.csv", to_csv(demands.rows, demands.pattern)});
    files.push_back({"junit.xml", to_junit(document)});
    return files;
}

/// Writes the evidence and says what came of it.
proto::Result<Finished, Failure> keep(const Request& request, const sim::WholeCell& cell, const sim::CellResult& result,
                                      const std::vector<sim::TimeLine>& lines, const std::string& folder,
                                      std::vector<EvidenceFile> besides) {
    const sim::Scenario of_file = cell.of_file();
    const Value document = with_provenance(describe(cell, result), of_file);
    RunPageNotes notes{folder, {"summary.txt", "injections.csv", "demands.csv", "junit.xml", "result.json"}};
    std::vector<EvidenceFile> files = evidence_of(cell, document, lines);
    for (std::size_t i = 0; i < cell.links.size(); ++i) notes.files.push_back(files[i].name);
    for (EvidenceFile& file : besides) {
        notes.files.push_back(file.name);
        files.push_back(std::move(file));
    }
    files.push_back({"summary.txt", page_of(cell, result, notes, Columns{}).text(Colour::off)});
    files.push_back({"result.json", to_json(document)});
    log_line("writing the evidence to " + folder);
    if (auto failure = put_evidence(folder, files)) return *failure;
    const Status status = result.verdict == sim::RunVerdict::not_judged ? Status::machine
                          : as_it_should_be(result)                     ? Status::done
                                                                        : Status::not_met;
    return Finished{status, document, page_of(cell, result, notes, request.columns)};
}

proto::Result<Finished, Failure> run_live(const Request& request, const sim::WholeCell& cell, std::uint64_t seed,
                                          const std::string& folder) {
    auto live = run_live_cell(request, cell, seed, folder);
    if (!live) return live.error();
    CellOutcome& outcome = live.value();
    if (outcome.result)
        return keep(request, *outcome.cell, *outcome.result, outcome.lines, folder, std::move(outcome.files));
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
    if (request.arguments.has("--capture") && captured.value() != 0)
        return usage("--capture", "works on a file with one link only; this one has several");
    const std::uint64_t seed = request.seed.value_or(cell.seed);
    const sim::ContractContext context(cell.file, seed);
    const std::string folder = request.out.value_or(default_folder_of(cell.file));
    if (request.arguments.has("--live")) return run_live(request, cell, seed, folder);
    for (const OptionSpec& option : live_options())
        if (request.arguments.has(option.name)) return usage(std::string(option.name), "belongs to --live; add --live");

    log_line("rehearsing " + given.name() + ", seed " + std::to_string(seed));
    std::vector<sim::TimeLine> lines;
    lines.reserve(cell.links.size());
    std::vector<sim::Witnesses> witnesses;
    for (const sim::CellLink& link : cell.links) {
        lines.emplace_back(link.alone);
        witnesses.push_back({nullptr, &lines.back()});
    }
    return keep(request, cell, sim::rehearse_cell(cell, seed, witnesses), lines, folder, {});
}

}  // namespace tools
