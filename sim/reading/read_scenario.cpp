#include <array>
#include <limits>

#include "sim/reading/cell_parts.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

constexpr std::array parts_of_file{"link",   "controller", "device",   "bits",     "channel",   "safeguard", "mode",
                                   "signal", "machine",    "function", "required", "distance",  "stopping",  "part",
                                   "limit",  "fault",      "demand",   "operator", "neighbour", "value",     "values"};

void read_top(Section& top, Scenario& scenario) {
    scenario.title = top.text("title").value_or("");
    if (!top.has("title")) {
        top.missing("title", "\"Veneer press, all errors\"");
    } else if (scenario.title.empty() && !top.wrong("title")) {
        top.say("title", "is empty; write what the scenario is about");
    }
    scenario.shows = top.text("shows").value_or("");
    scenario.plant = top.text("plant").value_or("");
    constexpr auto largest_seed = static_cast<std::uint64_t>(std::numeric_limits<std::int64_t>::max());
    scenario.seed = top.hex("seed", largest_seed).value_or(1);
    const std::optional<Duration> duration = top.duration("duration", Section::Zero::refused, run_longest);
    if (!top.has("duration")) top.missing("duration", "\"20 s\"");
    scenario.duration = duration.value_or(proto::seconds(1));
    const auto verdict = top.choice<std::string_view>("expect_verdict",
                                                      {{"pass", "pass"}, {"fail", "fail"}, {"dangerous", "dangerous"}});
    scenario.expect_verdict = std::string(verdict.value_or("pass"));
}

/// A table whose name is known to nobody may be any of those that are not there: what these hold is then not known.
void doubt_mistyped(Section& top) {
    bool mistyped = false;
    for (const Member& member : top.node().members) mistyped = mistyped || !top.knows(member.key);
    if (!mistyped) return;
    for (const char* key : parts_of_file)
        if (!top.has(key)) top.problems().doubt(key);
}

}  // namespace

proto::Result<Scenario, FileError> read_scenario(const std::string& path) {
    const proto::Result<Node, FileError> document = read_document(path);
    if (!document) return document.error();
    return scenario_from(document.value(), path);
}

proto::Result<Scenario, FileError> scenario_in(const std::string& text, const std::string& path) {
    const proto::Result<Node, FileError> document = document_from(text, path);
    if (!document) return document.error();
    return scenario_from(document.value(), path);
}

Scenario scenario_from(const Node& document, const std::string& path, Problems& problems) {
    Section top(document, "", problems);
    Scenario scenario;
    scenario.file = path;
    read_top(top, scenario);
    // Known to the top, so that a mistyped table is told before what is missing for want of it.
    for (const char* key : parts_of_file) static_cast<void>(top.has(key));
    doubt_mistyped(top);
    for (const auto& part : {read_ends, read_channel, read_plant, read_distance}) {
        part(top, scenario);
    }
    top.finish();
    // What follows builds on the settings and names above.
    for (const auto& part : {read_bits, read_values, read_neighbour, read_faults}) part(top, scenario);
    return scenario;
}

proto::Result<Scenario, FileError> scenario_from(const Node& document, const std::string& path) {
    if (is_cell(document))
        return FileError{.file = path,
                         .line = 0,
                         .key = "link",
                         .message = "this file has several links, and here one is wanted; name one with --link"};
    Problems problems(path);
    Scenario scenario = scenario_from(document, path, problems);
    if (problems.any()) return problems.first();
    return scenario;
}

}  // namespace sim
