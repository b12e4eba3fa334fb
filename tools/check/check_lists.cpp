#include "tools/check/check_lists.hpp"

#include <string>
#include <string_view>

#include "tools/program/given_file.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

std::string_view name_of(sim::ListFinding::Kind kind) {
    switch (kind) {
        case sim::ListFinding::Kind::not_understood: return "not-understood";
        case sim::ListFinding::Kind::twice: return "twice";
        case sim::ListFinding::Kind::one_end_only: return "one-end-only";
        case sim::ListFinding::Kind::missing: return "missing";
    }
    return "?";
}

/// "plant.csv:7: cycle time", as far as there is a place.
std::string place_of(const sim::ListFinding& finding) {
    if (finding.file.empty()) return finding.word;
    return finding.file + (finding.line == 0 ? "" : ":" + std::to_string(finding.line)) + ": " + finding.word;
}

}  // namespace

std::vector<OptionSpec> list_options() {
    return {
        {"--controller-list", "A.csv", "the settings as exported at the controller: a name and a value in each line"},
        {"--device-list", "B.csv", "the same of the device; both stand before what the file types at its ends"},
        {"--map", "WORDS.csv", "what words of the lists mean: their word, our setting or -, and a unit"}};
}

proto::Result<std::optional<NamedLists>, Failure> named_lists(const Arguments& arguments) {
    const auto controller = arguments.value("--controller-list"), device = arguments.value("--device-list");
    const auto map = arguments.value("--map");
    if (!controller && !device) {
        if (map) return usage("--map", "means nothing without --controller-list and --device-list; write both");
        return std::optional<NamedLists>();
    }
    if (!controller || !device)
        return usage(controller ? "--device-list" : "--controller-list",
                     "is missing; two lists are compared, one of each end");
    const std::vector<std::string> files = arguments.values("FILE");
    if (files.size() != 1 || files.front() == standard_input)
        return usage("--controller-list", "goes with one scenario file, which says what was meant; write one");
    return std::optional<NamedLists>({{*controller, *device}, map.value_or("")});
}

void list_findings_on(Page& page, const std::vector<sim::ListFinding>& findings) {
    if (findings.empty()) return;
    page.blank();
    page.line("Not compared, by the lists");
    for (const sim::ListFinding& finding : findings)
        page.paragraph("    ", plain(place_of(finding)) + " " + plain(finding.message) + ".");
}

Value::List describe_list_findings(const std::vector<sim::ListFinding>& findings) {
    Value::List all;
    for (const sim::ListFinding& finding : findings)
        all.emplace_back(Value::Object{{"kind", std::string(name_of(finding.kind))},
                                       {"file", Value::text_or_null(finding.file)},
                                       {"line", finding.line == 0 ? Value() : Value(finding.line)},
                                       {"word", finding.word},
                                       {"message", finding.message}});
    return all;
}

}  // namespace tools
