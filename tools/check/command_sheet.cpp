// linkdrill sheet FILE: the lists of settings to type by, one for each end, or blank ones to fill in.
#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "sim/scenario/network.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/settings_of_end.hpp"
#include "tools/program/command.hpp"
#include "tools/program/given_file.hpp"
#include "tools/store/evidence.hpp"
#include "tools/text/csv.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// What an empty list asks for: what either end has typed.
std::vector<sim::SettingOfEnd> asked_of(const sim::Scenario& scenario, sim::End end) {
    std::vector<sim::SettingOfEnd> all = sim::settings_of_end(scenario, end);
    for (sim::SettingOfEnd& one : sim::settings_of_end(scenario, proto::other(end)))
        if (sim::is_around_setting(one.setting) &&
            std::none_of(all.begin(), all.end(), [&](const auto& known) { return known.setting == one.setting; }))
            all.push_back(std::move(one));
    return all;
}

EvidenceFile list_of(const sim::Scenario& scenario, sim::End end, bool blank) {
    Value::List rows;
    for (const sim::SettingOfEnd& one : blank ? asked_of(scenario, end) : sim::settings_of_end(scenario, end))
        rows.emplace_back(Value::Object{{"setting", one.setting}, {"value", blank ? std::string() : one.value}});
    return {end == sim::End::controller ? "controller.csv" : "device.csv",
            to_csv(rows, Value::Object{{"setting", ""}, {"value", ""}})};
}

proto::Result<Finished, Failure> sheet(const Request& request) {
    const auto given = GivenFile::of(request.arguments.value("FILE").value_or(""));
    if (!given) return given.error();
    if (given.value().kind() != sim::FileKind::scenario)
        return Failure{
            Status::bad_input, given.value().name(), 0, {}, "is no scenario; name one, whose ends are listed"};
    if (given.value().has_several_links())
        return Failure{Status::bad_input, given.value().name(), 0, "link",
                       "this file has several links, and two lists are of one; write a file with that link alone"};
    const auto scenario = given.value().scenario();
    if (!scenario) return scenario.error();
    const bool blank = request.arguments.has("--blank");
    const std::string folder = request.out.value_or(default_folder_of(scenario.value().file) + "-lists");
    std::vector<EvidenceFile> files{list_of(scenario.value(), sim::End::controller, blank),
                                    list_of(scenario.value(), sim::End::device, blank)};
    if (auto failure = put_evidence(folder, files)) return *failure;
    Finished out;
    Value::List names;
    for (const EvidenceFile& file : files) names.emplace_back(folder + "/" + file.name);
    out.document = Value::Object{{"files", std::move(names)}};
    out.page = Page(request.columns);
    out.page.headline("WRITTEN", Hue::good,
                      std::string(blank ? "blank lists" : "the lists") + " of both ends to " + plain(folder) + ".");
    out.page.blank();
    const std::string file = plain(shell_word(given.value().name())), there = plain(shell_word(folder));
    out.page.paragraph("Compare    ", "linkdrill check " + file + " --controller-list " + there +
                                          "/controller.csv --device-list " + there + "/device.csv");
    return out;
}

}  // namespace

Command sheet_command() {
    return {
        .name = "sheet",
        .group = Command::Group::tools,
        .does = "write the settings of both ends as lists, to type by or to fill in",
        .positional = {.name = "FILE", .help = "a scenario with one link"},
        .options = {{"--blank", "", "without values, to be filled in at each end and compared by check"}},
        .without = {"--seed", "--jobs"},
        .example = "linkdrill sheet scenarios/veneer_press/all_errors.toml",
        .notes =
            {"controller.csv and device.csv, a setting and its value in each line, for check --controller-list and "
             "--device-list."},
        .run = sheet,
    };
}

}  // namespace tools
