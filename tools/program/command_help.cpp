// linkdrill help [COMMAND] and linkdrill version: the same words as --help and --version, for whoever types them so.
#include "sim/drive/model_number.hpp"
#include "sim/scenario/nearest.hpp"
#include "tools/program/command.hpp"
#include "tools/program/help.hpp"
#include "tools/program/made_by.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// A text that is printed as it stands.
Finished finished_with(std::string text, Value document) {
    Finished out;
    out.document = std::move(document);
    out.rows = [text = std::move(text)](const Out& print) { print(text); };
    return out;
}

proto::Result<Finished, Failure> help(const Request& request) {
    const auto name = request.arguments.value("COMMAND");
    const Command* command = name ? find_command(*name) : nullptr;
    if (name && command == nullptr) {
        std::vector<std::string> names;
        for (const Command& one : commands()) names.emplace_back(one.name);
        const std::string typed = name->substr(0, 60);
        return usage("COMMAND", in_quotes(typed) + " is no command; did you mean " +
                                    in_quotes(names[sim::nearest_of(typed, names)]) + "?");
    }
    const std::string text = command != nullptr ? help_of(*command) : help_of_program();
    return finished_with(text, Value::Object{{"help", text}});
}

proto::Result<Finished, Failure> version(const Request&) {
    return finished_with(
        version_lines(),
        Value::Object{{"version", LINKDRILL_VERSION}, {"model", sim::model_number}, {"made_by", made_by()}});
}

}  // namespace

Command help_command() {
    return {
        .name = "help",
        .group = Command::Group::tools,
        .does = "tell what there is, or what one command does and takes",
        .positional = {"COMMAND", "one of the commands; without it all are listed", PositionalSpec::Need::optional},
        .options = {},
        .without = {"--seed", "--out", "--jobs", "--quiet"},
        .example = "linkdrill help run",
        .notes = {},
        .run = help,
    };
}

Command version_command() {
    return {
        .name = "version",
        .group = Command::Group::tools,
        .does = "tell the version, as --version and -V do",
        .positional = {},
        .options = {},
        .without = {"--seed", "--out", "--jobs", "--quiet"},
        .example = "linkdrill version",
        .notes = {},
        .run = version,
    };
}

}  // namespace tools
