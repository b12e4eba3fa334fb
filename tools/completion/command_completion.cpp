// linkdrill completion SHELL: what a shell needs to complete linkdrill's words, and the manual page.
#include <array>
#include <utility>

#include "tools/completion/completions.hpp"
#include "tools/program/command.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

struct Made {
    std::string_view name;
    std::string (*text)();
};

constexpr std::array made{Made{"bash", bash_completion}, Made{"zsh", zsh_completion}, Made{"fish", fish_completion},
                          Made{"man", manual_page}};

proto::Result<Finished, Failure> completion(const Request& request) {
    const std::string shell = request.arguments.value("SHELL").value_or("");
    for (const Made& one : made) {
        if (one.name != shell) continue;
        std::string text = one.text();
        Finished out;
        out.document = Value::Object{{"shell", shell}, {"text", text}};
        out.rows = [text = std::move(text)](const Out& print) { print(text); };
        return out;
    }
    return usage("SHELL", in_quotes(shell.substr(0, 60)) + " is not known here; write bash, zsh or fish, or man");
}

}  // namespace

Command completion_command() {
    return {
        .name = "completion",
        .group = Command::Group::tools,
        .does = "print what a shell needs to complete commands, options and files, or the manual page",
        .positional = {"SHELL", "bash, zsh or fish; or man, for the manual page", PositionalSpec::Need::required,
                       "bash zsh fish man"},
        .options = {},
        .without = {"--seed", "--out", "--jobs", "--quiet"},
        .example = "linkdrill completion bash",
        .notes =
            {"Installed, they are in their places. By hand: source <(linkdrill completion bash) in ~/.bashrc; the "
             "same with zsh in ~/.zshrc after compinit; linkdrill completion fish | source in fish's config.fish."},
        .run = completion,
    };
}

}  // namespace tools
