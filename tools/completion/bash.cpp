// Completion for bash, with nothing but bash.
#include <map>

#include "tools/completion/completions.hpp"
#include "tools/completion/wanted_word.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::string_view head = R"(# bash completion for linkdrill; made by: linkdrill completion bash

# _linkdrill_files ENDING...: folders, and the files of these endings
_linkdrill_files() {
    local ending
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(
        compgen -d -- "$cur"
        for ending; do compgen -f -X "!*.$ending" -- "$cur"; done
    )
}

_linkdrill_any_file() {
    compopt -o filenames 2>/dev/null
    mapfile -t COMPREPLY < <(compgen -f -- "$cur")
}

# _linkdrill_words WORDS: those of them that begin as typed
_linkdrill_words() { mapfile -t COMPREPLY < <(compgen -W "$1" -- "$cur"); }

_linkdrill() {
    local cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD - 1]} command='' i
    COMPREPLY=()
    for ((i = 1; i < COMP_CWORD; i++)); do
        case ${COMP_WORDS[i]} in
            @WITH_VALUE@) ((i++)) ;;
            -*) ;;
            *) command=${COMP_WORDS[i]} && break ;;
        esac
    done
    # after an option that takes a value
    case $command:$prev in
)";

constexpr std::string_view foot = R"(        *) return ;;
    esac
}

complete -F _linkdrill linkdrill
)";

/// What is done to offer it; ":" offers nothing.
std::string action(const WantedWord& wanted) {
    switch (wanted.kind) {
        case WantedWord::Kind::words: return "_linkdrill_words " + in_single_quotes(joined(wanted.words));
        case WantedWord::Kind::folder: return "_linkdrill_files";
        case WantedWord::Kind::file: break;
        case WantedWord::Kind::nothing: return ":";
    }
    if (wanted.endings.empty()) return "_linkdrill_any_file";
    std::string text = "_linkdrill_files";
    for (const std::string_view ending : wanted.endings) text += " " + std::string(ending);
    return text;
}

/// One line for all values of a command of one kind; without a command those that may stand before it.
std::string after_options(std::string_view command, const std::vector<OptionSpec>& options) {
    std::map<std::string, std::vector<std::string>> places;
    for (const OptionSpec& option : options)
        if (!option.value.empty())
            places[action(wanted_word(option))].push_back(std::string(command) + ":" + std::string(option.name));
    std::string text;
    for (const auto& [what, where] : places)
        text += "        " + joined(where, " | ") + ") " + what + " && return ;;\n";
    return text;
}

std::string names_of(const std::vector<OptionSpec>& options) {
    std::vector<std::string> names;
    for (const OptionSpec& option : options) names.emplace_back(option.name);
    return joined(names);
}

}  // namespace

std::string bash_completion() {
    std::vector<std::string> names, with_value;
    for (const OptionSpec& option : common_options())
        if (!option.value.empty()) with_value.emplace_back(option.name);
    std::string text(head);
    constexpr std::string_view mark = "@WITH_VALUE@";
    text.replace(text.find(mark), mark.size(), joined(with_value, " | "));
    text += after_options("", common_options());
    std::string cases;
    for (const Command& command : commands()) {
        const std::vector<OptionSpec> options = offered_options(command);
        text += after_options(command.name, options);
        names.emplace_back(command.name);
        cases += "        " + std::string(command.name) + ":-*) _linkdrill_words " +
                 in_single_quotes(names_of(options)) + " ;;\n        " + std::string(command.name) + ":*) " +
                 action(wanted_word(command.positional)) + " ;;\n";
    }
    text += "    esac\n    case $command:$cur in\n        :-*) _linkdrill_words " +
            in_single_quotes(names_of(common_options()) + " --help --version") + " ;;\n        :*) _linkdrill_words " +
            in_single_quotes(joined(names)) + " ;;\n" + cases;
    return text + std::string(foot);
}

}  // namespace tools
