#include "tools/program/help.hpp"

#include <filesystem>
#include <system_error>

#include "sim/drive/model_number.hpp"
#include "tools/program/made_by.hpp"
#include "tools/program/own_files.hpp"
#include "tools/text/page.hpp"

namespace tools {
namespace {

constexpr std::size_t text_column = 24;

void row(Page& page, const std::string& left, std::string_view right) {
    if (left.size() + 2 > text_column) {
        page.line(left);
        page.paragraph(std::string(text_column, ' '), right);
    } else {
        page.paragraph(left + std::string(text_column - left.size(), ' '), right);
    }
}

void options(Page& page, const std::vector<OptionSpec>& specs) {
    for (const OptionSpec& spec : specs) {
        std::string left = "  " + std::string(spec.name);
        if (!spec.value.empty()) left += " " + std::string(spec.value);
        row(page, left, spec.help);
    }
}

void group(Page& page, std::string_view title, Command::Group which) {
    bool first = true;
    for (const Command& command : commands()) {
        if (command.group != which) continue;
        if (first) {
            page.blank();
            page.line(title);
        }
        first = false;
        std::string left = "  " + std::string(command.name);
        if (!command.positional.name.empty() && command.positional.need == PositionalSpec::Need::required)
            left += " " + command.positional.shown();
        row(page, left, command.does);
    }
}

}  // namespace

std::string greeting() {
    // with a copy of one's own, if there is none in the working folder yet
    const std::string demo = "linkdrill run scenarios/veneer_press/all_errors.toml";
    const std::string here = example_here(demo);
    std::error_code error;
    const auto own = own_files();
    const bool copies = here != demo && own && !own.value().empty() && !std::filesystem::exists("scenarios", error);
    return "linkdrill rehearses a safety link on a desk: two ends, a bad channel between them, and a judge.\n"
           "Try it:    " +
           (copies ? "linkdrill examples scenarios && " + demo : here) + "\nCommands:  linkdrill --help\n";
}

std::string version_lines() {
    return "linkdrill " LINKDRILL_VERSION "\nmodel " + std::to_string(sim::model_number) + ", made by " + made_by() +
           "\n";
}

std::string help_of_program() {
    Page page{Columns{}};
    page.line("linkdrill rehearses a safety link on a desk. It does not replace the measurements on the machine.");
    page.blank();
    page.line("Usage:  linkdrill COMMAND [FILE] [options]        linkdrill help COMMAND        linkdrill --version");
    group(page, "Use these first", Command::Group::use_first);
    group(page, "Then", Command::Group::then);
    group(page, "Single tools", Command::Group::tools);
    page.blank();
    page.line("Options of most commands");
    options(page, common_options());
    page.blank();
    row(page, "Exit status",
        "0 as it should be; 1 a requirement is not met, an expectation failed, or something was dangerous "
        "(also if the scenario expects it); 2 wrong usage or a bad file; 3 the computer said no; 130 after Ctrl-C.");
    return page.text(Colour::off);
}

std::string help_of(const Command& command) {
    Page page{Columns{}};
    std::string usage = "Usage:    linkdrill " + std::string(command.name);
    if (!command.positional.name.empty()) {
        const bool required = command.positional.need == PositionalSpec::Need::required;
        const std::string name = command.positional.shown();
        usage += required ? " " + name : " [" + name + "]";
    }
    page.line(std::string(command.name) + ": " + std::string(command.does));
    page.blank();
    page.line(usage + " [options]");
    std::string example = "Example:  " + example_here(command.example) + "\n";
    if (!command.first.empty()) example = "First:    " + example_here(command.first) + "\n" + example;
    const std::string head = page.text(Colour::off) + example;
    page = Page{Columns{}};
    page.blank();
    if (!command.positional.name.empty())
        row(page, "  " + std::string(command.positional.name), command.positional.help);
    options(page, command.options);
    options(page, common_options_of(command));
    if (!command.notes.empty()) page.blank();
    for (const std::string_view note : command.notes) page.line(note);
    // a worked line is one line however long it is, to be pasted
    return head + page.text(Colour::off);
}

}  // namespace tools
