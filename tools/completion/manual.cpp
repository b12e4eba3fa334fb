// The manual page, as roff.
#include "tools/completion/completions.hpp"
#include "tools/completion/wanted_word.hpp"
#include "tools/program/released.hpp"

namespace tools {
namespace {

constexpr std::size_t columns = 78;  // of the source, not of what is read

/// Characters that roff would take for its own.
std::string plain_roff(std::string_view text) {
    std::string out;
    for (const char c : text) switch (c) {
            case '\\': out += "\\e"; break;
            case '-': out += "\\-"; break;
            case '\'': out += "\\(aq"; break;
            case '`': out += "\\(ga"; break;
            case '^': out += "\\(ha"; break;
            case '~': out += "\\(ti"; break;
            default: out += c;
        }
    return out.starts_with(".") ? "\\&" + out : out;
}

std::string bold(std::string_view text) { return "\\fB" + plain_roff(text) + "\\fR"; }
std::string slanted(std::string_view text) { return "\\fI" + plain_roff(text) + "\\fR"; }

/// A text that is filled anew: its source in lines that people can read.
std::string filled(std::string_view text) {
    std::string out, line;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        const std::string word = plain_roff(text.substr(0, end));
        text.remove_prefix(std::min(end + 1, text.size()));
        if (word.empty()) continue;
        if (!line.empty() && line.size() + 1 + word.size() > columns) {
            out += line + "\n";
            line.clear();
        }
        line += (line.empty() ? "" : " ") + word;
    }
    return out + line + "\n";
}

/// Lines as they are.
std::string as_typed(std::string_view text) { return ".PP\n.RS 4\n.nf\n" + plain_roff(text) + "\n.fi\n.RE\n"; }

std::string entry(const std::string& name, std::string_view text) { return ".TP\n" + name + "\n" + filled(text); }

std::string option_entry(const OptionSpec& option) {
    return entry(bold(option.name) + (option.value.empty() ? "" : " " + slanted(option.value)), option.help);
}

/// A drawing stays as it is; whatever else is told is filled.
std::string notes_of(const Command& command) {
    std::string out;
    bool drawing = false;
    for (const std::string_view note : command.notes) {
        const bool drawn = note.starts_with(" ");
        if (drawn != drawing) out += drawn ? ".PP\n.nf\n" : ".fi\n";
        if (!drawn) out += ".PP\n";
        out += drawn ? plain_roff(note) + "\n" : filled(note);
        drawing = drawn;
    }
    return out + (drawing ? ".fi\n" : "");
}

std::string section_of(const Command& command) {
    const PositionalSpec& positional = command.positional;
    std::string title = "linkdrill " + std::string(command.name);
    if (!positional.name.empty())
        title += positional.need == PositionalSpec::Need::required ? " " + positional.shown()
                                                                   : " [" + std::string(positional.name) + "]";
    std::string out = ".SS \"" + plain_roff(title) + "\"\n" + filled(std::string(command.does) + ".");
    if (!positional.name.empty()) out += entry(slanted(positional.name), positional.help);
    for (const OptionSpec& option : command.options) out += option_entry(option);
    if (!command.without.empty()) {
        std::vector<std::string> names;
        for (const std::string_view name : command.without) names.emplace_back(name);
        out += ".PP\n" + filled("Takes no " + joined(names, ", ") + ".");
    }
    out += notes_of(command) + ".PP\nFor example:\n";
    if (!command.first.empty()) return out + as_typed(std::string(command.first) + "\n" + std::string(command.example));
    return out + as_typed(command.example);
}

constexpr std::string_view description =
    "Two simulated ends exchange safety telegrams over a channel that misbehaves on purpose. For each fault linkdrill "
    "tells which measure caught it, at which end, after how long, and when the machine was slow or stood; it compares "
    "the settings of the two ends, and reckons watchdog, response time and distance.";
constexpr std::string_view limits =
    "It is no certified tool and no safety device, and does not replace the measurements on the machine.";
constexpr std::string_view about_examples =
    "The examples use a copy of the scenarios that come with linkdrill, made by: linkdrill examples scenarios";

}  // namespace

std::string manual_page() {
    std::string out = ".\\\" made by: linkdrill completion man\n.TH LINKDRILL 1 " + std::string(released) +
                      " \"linkdrill " LINKDRILL_VERSION
                      "\" \"User Commands\"\n.SH NAME\nlinkdrill \\- rehearse a "
                      "safety link on a desk\n.SH SYNOPSIS\n.B linkdrill\n\\fICOMMAND\\fR [\\fIFILE\\fR] "
                      "[\\fIoptions\\fR]\n.SH DESCRIPTION\n" +
                      filled(description) + ".PP\n" + filled(limits) + ".SH COMMANDS\n" + filled(about_examples);
    for (const Command& command : commands()) out += section_of(command);
    out += ".SH \"OPTIONS OF MOST COMMANDS\"\n";
    for (const OptionSpec& option : common_options()) out += option_entry(option);
    out += ".SH \"EXIT STATUS\"\n" + entry(bold("0"), "as it should be") +
           entry(bold("1"),
                 "a requirement is not met, an expectation failed, or something was dangerous, also if the "
                 "scenario expects it") +
           entry(bold("2"), "wrong usage or a bad file") + entry(bold("3"), "the computer said no") +
           entry(bold("130"), "after Ctrl-C") + ".SH ENVIRONMENT\n" +
           entry(bold("LINKDRILL_DATA"), "folder that holds the folder scenarios, in place of the installed one") +
           entry(bold("XDG_CACHE_HOME"), "where computed weights of a CRC are kept, in linkdrill/; else ~/.cache") +
           entry(bold("NO_COLOR"), "if set and not empty, no colours") + ".SH FILES\n" +
           entry(slanted("share/linkdrill/scenarios"),
                 "beside the folder of the program: scenarios, telegram profiles, drills, and how they are written") +
           entry(slanted("share/linkdrill/schema"), "a JSON Schema of each document that --json prints") +
           entry(slanted("linkdrill-out/"), "in the working folder: evidence, if nothing else is said");
    return out;
}

}  // namespace tools
