// linkdrill schema KIND: what an editor needs to know of the files that people write.
#include <array>
#include <utility>

#include "tools/keys/input_schema.hpp"
#include "tools/program/command.hpp"
#include "tools/text/json.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::array kinds{std::pair{std::string_view("scenario"), sim::KeysOf::scenario},
                           std::pair{std::string_view("profile"), sim::KeysOf::profile},
                           std::pair{std::string_view("module"), sim::KeysOf::module},
                           std::pair{std::string_view("drill"), sim::KeysOf::drill}};

proto::Result<Finished, Failure> schema(const Request& request) {
    const std::string typed = request.arguments.value("KIND").value_or("");
    for (const auto& [name, file] : kinds) {
        if (name != typed) continue;
        Finished out;
        std::string text;
        if (request.arguments.has("--tables")) {
            text = key_tables(file);
            out.document = Value::Object{{"kind", name}, {"tables", text}};
        } else {
            out.document = input_schema(file);
            text = to_json(out.document);
        }
        out.rows = [text = std::move(text)](const Out& print) { print(text); };
        return out;
    }
    return usage("KIND",
                 in_quotes(typed.substr(0, 60)) + " is not known here; write scenario, profile, module or drill");
}

}  // namespace

Command schema_command() {
    return {
        .name = "schema",
        .group = Command::Group::tools,
        .does = "print a JSON Schema of scenarios, profiles, modules or drills, for an editor",
        .positional = {"KIND", "scenario, profile, module or drill", PositionalSpec::Need::required,
                       "scenario profile module drill"},
        .options = {{"--tables", "", "the tables of keys instead, as the pages of scenarios/ have them"}},
        .without = {"--seed", "--out", "--jobs", "--quiet"},
        .example = "linkdrill schema scenario",
        .notes = {"It is made from what the readers ask a file for. The shipped files name it in their first line "
                  "(#:schema), so that an editor that knows TOML underlines a mistyped key as it is typed; what a "
                  "schema cannot say, linkdrill check does."},
        .run = schema,
    };
}

}  // namespace tools
