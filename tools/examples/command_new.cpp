// linkdrill new: a commented scenario to begin with, written where nothing is yet.
#include <algorithm>
#include <cctype>
#include <filesystem>
#include <fstream>
#include <optional>
#include <string>
#include <system_error>
#include <vector>

#include "sim/scenario/nearest.hpp"
#include "tools/examples/copied_file.hpp"
#include "tools/examples/templates.hpp"
#include "tools/program/command.hpp"
#include "tools/program/given_file.hpp"
#include "tools/program/own_files.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

namespace fs = std::filesystem;

/// A file that ships, and what it is, in a sentence.
struct Listed {
    std::string name, shows;
};

/// The first sentence of the comment that a file begins with.
std::string first_sentence(const std::string& path) {
    std::ifstream in(path);
    std::string line, said;
    while (std::getline(in, line) && (line.starts_with("# ") || line.starts_with("#:")))
        if (line.starts_with("# ")) said += (said.empty() ? "" : " ") + line.substr(2);
    const std::size_t end = said.find(". ");
    return end == std::string::npos ? said : said.substr(0, end + 1);
}

std::string shown_by(const std::string& path) {
    const auto given = GivenFile::of(path);
    if (!given) return {};
    if (given.value().has_several_links()) {
        const auto cell = given.value().cell();
        return cell ? cell.value().shows : std::string();
    }
    const auto scenario = given.value().scenario();
    return scenario ? scenario.value().shows : std::string();
}

Value described(const std::vector<Listed>& all, const char* what) {
    Value::List list;
    for (const Listed& one : all) list.emplace_back(Value::Object{{"name", one.name}, {what, one.shows}});
    return list;
}

void list_on(Page& page, const std::vector<Listed>& all) {
    std::size_t widest = 0;
    for (const Listed& one : all) widest = std::max(widest, one.name.size());
    for (const Listed& one : all)
        page.paragraph(one.name + std::string(widest + 2 - one.name.size(), ' '), plain(one.shows));
}

proto::Result<Finished, Failure> list_templates(const Request& request) {
    const auto folder = shipped_folder("templates");
    if (!folder) return folder.error();
    const auto names = names_in(folder.value());
    if (!names) return names.error();
    std::vector<Listed> all;
    for (const std::string& name : names.value())
        all.push_back({name, shown_by(folder.value() + "/" + name + ".toml")});
    Finished out;
    out.document = Value::Object{{"templates", described(all, "shows")}};
    out.page = Page(request.columns);
    list_on(out.page, all);
    out.page.blank();
    out.page.paragraph("Take one   ", "linkdrill new " + (all.empty() ? "TEMPLATE" : all.front().name) + " mine.toml");
    return out;
}

proto::Result<Finished, Failure> list_profiles(const Request& request) {
    const auto folder = shipped_folder("profiles");
    if (!folder) return folder.error();
    const auto names = names_in(folder.value());
    if (!names) return names.error();
    std::vector<Listed> all;
    for (const std::string& name : names.value())
        all.push_back({name, first_sentence(folder.value() + "/" + name + ".toml")});
    Finished out;
    out.document = Value::Object{{"profiles", described(all, "carries")}};
    out.page = Page(request.columns);
    list_on(out.page, all);
    out.page.blank();
    out.page.paragraph("Name one   ", "profile = \"" + (all.empty() ? "NAME" : all.front().name) +
                                          "\" under [link]; these are found by name from any folder.");
    return out;
}

proto::Result<Finished, Failure> write_new(const Request& request, const std::string& wanted, const std::string& file) {
    const auto folder = shipped_folder("templates");
    if (!folder) return folder.error();
    const auto names = names_in(folder.value());
    if (!names) return names.error();
    if (std::find(names.value().begin(), names.value().end(), wanted) == names.value().end())
        return usage("TEMPLATE",
                     in_quotes(wanted.substr(0, 60)) + " is none" +
                         (names.value().empty()
                              ? std::string()
                              : "; nearest is " +
                                    in_quotes(names.value()[sim::nearest_of(wanted.substr(0, 60), names.value())])) +
                         "; linkdrill new --list shows all");
    if (file.empty() || file == standard_input) return usage("FILE", "write the name of a new file, such as mine.toml");
    std::error_code error;
    if (fs::symlink_status(file, error).type() != fs::file_type::not_found)
        return Failure{
            Status::bad_input, file, 0, {}, "is there already, and nothing is written over it; write another name"};
    const auto content = template_text(wanted);
    if (!content) return content.error();
    if (auto failure = write_anew(content.value(), file)) return *failure;
    Finished out;
    out.document = Value::Object{{"template", wanted}, {"file", file}};
    out.page = Page(request.columns);
    out.page.headline("WRITTEN", Hue::good, plain(file) + ", from the template " + wanted + ".");
    out.page.blank();
    out.page.paragraph("Alter      ", "the lines marked YOURS; all else may stay until you know better.");
    out.page.paragraph("Compare    ", "linkdrill check " + plain(shell_word(file)));
    out.page.paragraph("Rehearse   ", "linkdrill run " + plain(shell_word(file)));
    return out;
}

proto::Result<Finished, Failure> make_new(const Request& request) {
    const std::vector<std::string> typed = request.arguments.values("TEMPLATE");
    const bool list = request.arguments.has("--list"), profiles = request.arguments.has("--profiles");
    if (list && profiles) return usage("--profiles", "is another list; write one of --list and --profiles");
    if ((list || profiles) && !typed.empty())
        return usage(list ? "--list" : "--profiles",
                     "lists what there is and writes nothing; take it away, or the rest");
    if (list) return list_templates(request);
    if (profiles) return list_profiles(request);
    if (typed.size() != 2)
        return usage("TEMPLATE",
                     "write a template and a new file: linkdrill new rope_pull mine.toml; "
                     "linkdrill new --list shows all templates");
    return write_new(request, typed[0], typed[1]);
}

}  // namespace

Command new_command() {
    return {
        .name = "new",
        .group = Command::Group::tools,
        .does = "write a commented scenario to begin with, or list templates and telegram profiles",
        .positional = {.name = "TEMPLATE",
                       .help = "one of --list, and a file that is not there yet",
                       .need = PositionalSpec::Need::optional,
                       .values = OptionSpec::Values::many,
                       .places = "TEMPLATE FILE"},
        .options = {{"--list", "", "the templates, each with what it shows"},
                    {"--profiles", "", "the telegram profiles that are found by name, each with what it carries"}},
        .without = {"--seed", "--out", "--jobs"},
        .example = "linkdrill new --list",
        .notes = {"What is to be altered is marked YOURS. A file that is there is never written over."},
        .run = make_new,
    };
}

}  // namespace tools
