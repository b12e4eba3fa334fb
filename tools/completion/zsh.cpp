// Completion for zsh, by its own _arguments.
#include "tools/completion/completions.hpp"
#include "tools/completion/wanted_word.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::string_view head = R"(#compdef linkdrill
# zsh completion for linkdrill; made by: linkdrill completion zsh

_linkdrill() {
    local curcontext=$curcontext state line
    local -A opt_args
    local -a commands
    commands=(
)";

constexpr std::string_view middle = R"(        '1:command:->command' \
        '*::argument:->rest' && return
    if [[ $state = command ]]; then
        _describe -t commands command commands
        return
    fi
    case $words[1] in
)";

constexpr std::string_view foot = R"(    esac
}

# found in a folder of functions it is called, sourced it is only told of
if [[ $funcstack[1] = _linkdrill ]]; then
    _linkdrill "$@"
else
    compdef _linkdrill linkdrill
fi
)";

/// What stands for a value in a specification of _arguments, with what it is called.
std::string value_of(std::string_view name, const WantedWord& wanted) {
    std::string text = ":" + escaped(name, "\\:[]") + ":";
    switch (wanted.kind) {
        case WantedWord::Kind::nothing: return text + " ";
        case WantedWord::Kind::words: return text + "(" + joined(wanted.words) + ")";
        case WantedWord::Kind::folder: return text + "_files -/";
        case WantedWord::Kind::file: break;
    }
    if (wanted.endings.empty()) return text + "_files";
    std::string endings;
    for (const std::string_view ending : wanted.endings) endings += (endings.empty() ? "" : "|") + std::string(ending);
    // one alone in parentheses would be read as qualifiers of the files
    return text + "_files -g \"*." + (wanted.endings.size() == 1 ? endings : "(" + endings + ")") + "\"";
}

std::string specification(const OptionSpec& option) {
    std::string text = std::string(option.name) + "[" + escaped(option.help, "\\:[]") + "]";
    if (!option.value.empty()) text += value_of(option.value, wanted_word(option));
    return in_single_quotes(text);
}

}  // namespace

std::string zsh_completion() {
    std::string text(head), cases;
    for (const Command& command : commands()) {
        const std::string name(command.name);
        text += "        " + in_single_quotes(name + ":" + escaped(command.does, "\\:")) + "\n";
        cases += "        " + name + ")\n            _arguments";
        for (const OptionSpec& option : offered_options(command))
            cases += " \\\n                " + specification(option);
        if (!command.positional.name.empty())
            cases += " \\\n                " +
                     in_single_quotes((command.positional.values == OptionSpec::Values::many ? "*" : "1") +
                                      value_of(command.positional.name, wanted_word(command.positional)));
        cases += "\n            ;;\n";
    }
    text += "    )\n    _arguments -C \\\n";
    for (const OptionSpec& option : common_options()) text += "        " + specification(option) + " \\\n";
    text += "        '(- *)--help[tell what there is]' \\\n        '(- *)--version[tell the version]' \\\n";
    return text + std::string(middle) + cases + std::string(foot);
}

}  // namespace tools
