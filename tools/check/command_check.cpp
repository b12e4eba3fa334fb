// linkdrill check FILE: do the two ends agree, and if not, what will each of them show? Do the guards lead to what they
// must?
#include <filesystem>

#include "proto/profile.hpp"
#include "sim/reading/read.hpp"
#include "sim/reading/shipped.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "tools/check/cell_check.hpp"
#include "tools/check/check_drill.hpp"
#include "tools/check/check_files.hpp"
#include "tools/check/check_lists.hpp"
#include "tools/check/check_module.hpp"
#include "tools/check/check_page.hpp"
#include "tools/program/command.hpp"
#include "tools/program/file_failure.hpp"
#include "tools/program/given_file.hpp"
#include "tools/residual/link_residual.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

proto::Result<Finished, Failure> check_profile(const GivenFile& file, Columns columns) {
    const auto profile = file.profile();
    if (!profile) return profile.error();
    const auto layout = proto::layout_of(profile.value(), profile.value().payload_bytes);
    if (!layout)
        return Failure{Status::bad_input,
                       file.name(),
                       0,
                       {},
                       "the telegram cannot be laid out; see " + sim::shipped_file("README.md")};
    return Finished{Status::done, describe(profile.value(), layout.value()),
                    page_of(profile.value(), layout.value(), columns)};
}

proto::Result<Finished, Failure> check_module(const GivenFile& file, Columns columns) {
    const auto layout = file.module();
    if (!layout) return layout.error();
    return Finished{Status::done, describe(layout.value()), page_of(layout.value(), columns)};
}

/// Where a function's level stands: what that asks of the link's residual error.
void add_residual(const sim::Scenario& scenario, unsigned threads, CheckFound& found) {
    const auto function = function_with_highest_level(scenario);
    if (!function) return;
    WeightsCache cache(WeightsCache::usual_folder());
    ResidualQuestion question;
    question.methods.numbers_accepted = usual_numbers_accepted;
    found.residual = residual_of_link(scenario, question, cache, {.threads = threads, .progress = {}});
    const std::string kept = methods_in_words(*found.residual, true), lost = methods_in_words(*found.residual, false);
    if (lost.empty()) return;
    const std::string said = "\"" + found.residual->function + "\" asks for " + found.residual->level +
                             ", and the link's residual error rate is over its share by " + lost;
    found.functions.cautions.push_back(
        said +
        (kept.empty() ? ", and no method keeps it: a telegram with a stronger CRC, a longer cycle or a lower level "
                        "would"
                      : ", under it by " + kept) +
        "; see linkdrill residual with this scenario");
}

Finished checked(const sim::Scenario& scenario, const std::optional<std::vector<sim::ListFinding>>& lists,
                 const Request& request) {
    CheckFound found{.ends = sim::cross_check(scenario),
                     .functions = sim::check_functions(scenario),
                     .residual = {},
                     .all_settings = request.arguments.has("--all"),
                     .lists = lists};
    add_residual(scenario, request.jobs, found);
    return {found.ok() ? Status::done : Status::not_met, describe(found), page_of(scenario, found, request.columns)};
}

proto::Result<Finished, Failure> check_scenario(const GivenFile& file, const Request& request) {
    const auto lists = named_lists(request.arguments);
    if (!lists) return lists.error();
    if (lists.value()) {
        const auto listed = sim::read_listed_scenario(file.name(), lists.value()->files, lists.value()->map);
        if (!listed) return failure_of(listed.error());
        return checked(listed.value().scenario, listed.value().findings, request);
    }
    if (file.has_several_links()) return check_cell(file, request.arguments.has("--all"), request.columns);
    const auto scenario = file.scenario();
    if (!scenario) return scenario.error();
    return checked(scenario.value(), {}, request);
}

proto::Result<Finished, Failure> check_one(const std::string& file, const Request& request) {
    std::error_code error;
    const auto no_lists = [&] {
        return usage("--controller-list", "goes with a scenario, and " + in_quotes(file) + " is none; take it away");
    };
    const bool lists = request.arguments.has("--controller-list");
    if (std::filesystem::is_directory(file, error)) {
        if (lists) return no_lists();
        if (std::filesystem::exists(std::filesystem::path(file) / "actions.toml", error))
            return check_drills(file, request.columns);
        return Failure{Status::bad_input,
                       file,
                       0,
                       {},
                       "is a folder without actions.toml, so none of drills; write the name of a file"};
    }
    const auto given = GivenFile::of(file);
    if (!given) return given.error();
    if (lists && given.value().kind() != sim::FileKind::scenario) return no_lists();
    switch (given.value().kind()) {
        case sim::FileKind::profile: return check_profile(given.value(), request.columns);
        case sim::FileKind::module: return check_module(given.value(), request.columns);
        case sim::FileKind::drill:
            if (!given.value().from_standard_input()) return check_drill(file, request.columns);
            return Failure{Status::bad_input,
                           given.value().name(),
                           0,
                           {},
                           "is a drill, which is nothing without the action cards beside it; name its file"};
        case sim::FileKind::action_cards:
            return Failure{Status::bad_input,
                           given.value().name(),
                           0,
                           {},
                           "holds the action cards of drills; check a drill, or the folder: linkdrill check DIR"};
        case sim::FileKind::scenario: break;
    }
    return check_scenario(given.value(), request);
}

proto::Result<Finished, Failure> check(const Request& request) {
    if (const auto lists = named_lists(request.arguments); !lists) return lists.error();
    return check_files(request, check_one);
}

std::vector<OptionSpec> options() {
    std::vector<OptionSpec> all{
        {"--all", "", "list every setting that was compared: what was meant, and its value at each end"},
        {"--format", "F", "junit or sarif: what was found, for a pipeline, on standard output", OptionSpec::Values::one,
         "junit sarif"}};
    for (const OptionSpec& option : list_options()) all.push_back(option);
    return all;
}

}  // namespace

Command check_command() {
    return {
        .name = "check",
        .group = Command::Group::use_first,
        .does = "compare the settings of the two ends, and what the guards do with what they must",
        .positional = {.name = "FILE",
                       .help = "scenarios, telegram profiles, modules, drills, or folders of drills",
                       .values = OptionSpec::Values::many},
        .options = options(),
        .without = {"--seed", "--out"},
        .example = "linkdrill check scenarios/glass_table/four_settings_differ.toml",
        .notes =
            {"For each setting that differs: what each end shows, and where to mend it. For each guard: what it "
             "leads to by wiring, beside what its [[function]] asks for.",
             "All that keeps a file from being read is told at once. Of several files the status is the worst.",
             "With two lists the ends agree only if all that must agree stands in both; linkdrill sheet FILE writes "
             "such lists.",
             "A drill is run until the trainee comes, and what it shows is compared with its [expect]."},
        .run = check,
    };
}

}  // namespace tools
