// linkdrill examples DIR: a copy of the shipped scenarios to look at and to alter.
#include <filesystem>
#include <string>
#include <system_error>

#include "tools/examples/copied_tree.hpp"
#include "tools/program/command.hpp"
#include "tools/program/own_files.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

/// The name without slashes at its end, of a folder that is not there, or empty.
proto::Result<std::string, Failure> new_folder(std::string typed) {
    while (typed.size() > 1 && typed.back() == '/') typed.pop_back();
    const std::string last = fs::path(typed).filename().string();
    if (last.empty() || last == "." || last == "..") return usage("DIR", "write the name of a new folder");
    std::error_code error;
    const fs::file_status status = fs::symlink_status(typed, error);
    if (status.type() == fs::file_type::not_found) return typed;
    if (status.type() != fs::file_type::directory)
        return Failure{Status::bad_input, typed, 0, {}, "is there and no folder; write the name of a new folder"};
    const bool empty = fs::is_empty(typed, error);
    if (error) return machine_said_no(typed, error.message() + "; write the name of a new folder");
    if (!empty) return Failure{Status::bad_input, typed, 0, {}, "is not empty; write the name of a new folder"};
    return typed;
}

proto::Result<Finished, Failure> examples(const Request& request) {
    const auto folder = new_folder(request.arguments.value("DIR").value_or(""));
    if (!folder) return folder.error();
    const auto shipped = shipped_folder("");
    if (!shipped) return shipped.error();
    const auto copied = copy_tree(shipped.value(), folder.value());
    if (!copied) return copied.error();

    Finished out;
    out.page = Page(request.columns);
    const std::string count = std::to_string(copied.value().size());
    out.page.headline("COPIED", Hue::good,
                      count + " files, with profiles and drills, to " + plain(folder.value()) + ".");
    const std::string demo = folder.value() + "/veneer_press/all_errors.toml";
    std::error_code error;
    if (fs::exists(demo, error)) {
        out.page.blank();
        out.page.paragraph("Read       ", plain(folder.value()) + "/README.md");
        out.page.paragraph("Try it     ", "linkdrill run " + plain(shell_word(demo)));
    }
    Value::List files;
    for (const std::string& file : copied.value()) files.emplace_back(folder.value() + "/" + file);
    out.document = Value::Object{{"folder", folder.value()}, {"files", std::move(files)}};
    return out;
}

}  // namespace

Command examples_command() {
    return {
        .name = "examples",
        .group = Command::Group::tools,
        .does = "copy the shipped scenarios, profiles and drills into a new folder",
        .positional = {"DIR", "folder that is not there yet, or empty", PositionalSpec::Need::required},
        .options = {},
        .without = {"--seed", "--out", "--jobs"},
        .example = "linkdrill examples my_scenarios",
        .notes =
            {"The copies are yours to alter. All are there at once, or none.",
             "The shipped ones are found by $LINKDRILL_DATA, in share/linkdrill beside the program's folder, or in "
             "the source tree above it."},
        .run = examples,
    };
}

}  // namespace tools
