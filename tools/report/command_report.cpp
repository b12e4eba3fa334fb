// linkdrill report FOLDER: gathers the results in a folder into one dossier.
#include "tools/program/command.hpp"
#include "tools/program/log.hpp"
#include "tools/report/dossier.hpp"
#include "tools/report/papers.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// For people: what is in it, and what could be.
Page page_of(const Dossier& dossier, const std::string& folder, const std::vector<EvidenceFile>& papers,
             Columns columns) {
    Page page(columns);
    page.headline("DOSSIER", Hue::none,
                  plain(look_up_text(dossier.result, "title")) + ": " +
                      counted(dossier.files.size(), "document", "documents") + " of one scenario, seed and version.");
    std::string gathered, missing;
    for (const std::string& file : dossier.files) gathered += (gathered.empty() ? "" : "  ") + file;
    const auto lacks = [&](const Value& document, const std::string& command) {
        if (is_null(document)) missing += (missing.empty() ? "" : ", ") + command;
    };
    lacks(dossier.response, "response");
    for (const Dossier& link : dossier.links) {
        const std::string of = " --link " + shell_word(look_up_text(link.result, "link"));
        lacks(link.watchdog, "watchdog" + of);
        lacks(link.link_residual, "residual" + of);
    }
    if (dossier.links.empty()) {
        lacks(dossier.watchdog, "watchdog");
        lacks(dossier.residual, "residual");
        lacks(dossier.measures, "measures");
    }
    page.blank();
    page.paragraph("Gathered   ", gathered);
    if (!missing.empty())
        page.paragraph("Missing    ", plain(missing) + ": run them with --out " + folder + ", then report again.");
    for (const std::string& caution : dossier.cautions) page.paragraph("Caution    ", plain(caution));
    std::string written = folder + "/ ";
    for (const EvidenceFile& paper : papers) written += " " + paper.name;
    page.paragraph("Dossier    ", plain(written));
    return page;
}

proto::Result<Finished, Failure> report(const Request& request) {
    std::string folder = request.arguments.value("FOLDER").value_or("");
    while (folder.size() > 1 && folder.back() == '/') folder.pop_back();
    const auto dossier = read_dossier(folder);
    if (!dossier) return dossier.error();
    const std::vector<EvidenceFile> papers = papers_of(dossier.value());
    log_line("writing the dossier to " + folder);
    if (auto failure = put_evidence(folder, papers)) return *failure;

    Value::List files;
    for (const EvidenceFile& paper : papers) files.emplace_back(folder + "/" + paper.name);
    return Finished{Status::done,
                    Value::Object{{"scenario", look_up(dossier.value().result, "scenario")},
                                  {"verdict", look_up(dossier.value().result, "verdict")},
                                  {"files", std::move(files)},
                                  {"gathered", Value::list_of(dossier.value().files)},
                                  {"cautions", Value::list_of(dossier.value().cautions)}},
                    page_of(dossier.value(), folder, papers, request.columns)};
}

}  // namespace

Command report_command() {
    return {
        .name = "report",
        .group = Command::Group::then,
        .does = "gather the results in a folder into one dossier",
        .positional = {"FOLDER", "with the results of run, and of other commands with the same --out",
                       PositionalSpec::Need::required},
        .options = {},
        .without = {"--seed", "--out", "--jobs"},
        .first = "linkdrill run scenarios/veneer_press/all_errors.toml --out evidence",
        .example = "linkdrill report evidence",
        .notes =
            {"Writes report.html, link_sheet.html and .md, acceptance_sheet.html and .md into the folder (of several "
             "links a link sheet for each: link_sheet_1, ...); run has "
             "written them already from its own results. Results of other scenarios, seeds or versions are not "
             "mixed in: status 2 says which file differs."},
        .run = report,
    };
}

}  // namespace tools
