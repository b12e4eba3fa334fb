// Completion for fish.
#include "tools/completion/completions.hpp"
#include "tools/completion/wanted_word.hpp"

namespace tools {
namespace {

std::string quoted(std::string_view text) { return "'" + escaped(text, "\\'") + "'"; }

/// What is offered for a value.
std::string offer(const WantedWord& wanted) {
    switch (wanted.kind) {
        case WantedWord::Kind::nothing: return " -x";
        case WantedWord::Kind::words: return " -x -a " + quoted(joined(wanted.words));
        case WantedWord::Kind::folder: return " -x -a '(__fish_complete_directories)'";
        case WantedWord::Kind::file: break;
    }
    if (wanted.endings.empty()) return " -r -F";
    std::string text;
    for (const std::string_view ending : wanted.endings)
        text += " -x -a '(__fish_complete_suffix ." + std::string(ending) + ")'";
    return text;
}

std::string line(const std::string& when, const OptionSpec& option) {
    return "complete -c linkdrill -n " + quoted(when) + " -l " + std::string(option.name.substr(2)) +
           (option.value.empty() ? std::string() : offer(wanted_word(option))) + " -d " + quoted(option.help) + "\n";
}

}  // namespace

std::string fish_completion() {
    const std::string no_command = "__fish_use_subcommand";
    std::string text =
        "# fish completion for linkdrill; made by: linkdrill completion fish\ncomplete -c linkdrill -f\n";
    for (const OptionSpec& option : common_options()) text += line(no_command, option);
    text += line(no_command, {"--help", "", "tell what there is"});
    text += line(no_command, {"--version", "", "tell the version"});
    for (const Command& command : commands()) {
        const std::string name(command.name);
        text += "complete -c linkdrill -n " + no_command + " -a " + name + " -d " + quoted(command.does) + "\n";
        const std::string when = "__fish_seen_subcommand_from " + name;
        if (const WantedWord wanted = wanted_word(command.positional); wanted.kind != WantedWord::Kind::nothing)
            text += "complete -c linkdrill -n " + quoted(when) + offer(wanted) + "\n";
        for (const OptionSpec& option : offered_options(command)) text += line(when, option);
    }
    return text;
}

}  // namespace tools
