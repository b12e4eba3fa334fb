// The report about guards: its tables hold for what a run told.
#include <string>

#include <doctest/doctest.h>

#include "samples.hpp"
#include "tools/report/papers.hpp"
#include "tools/report/report_sheet.hpp"
#include "tools/run/describe_run.hpp"
#include "tools/run/time_line_document.hpp"
#include "tools/text/json.hpp"

using proto::End;
using proto::Instant;
using proto::milliseconds;

namespace {

/// A report is made of what was written: its times are numbers.
tools::Value as_read(const tools::Value& document) { return tools::from_json(tools::to_json(document)).value(); }

tools::Dossier dossier_of(const samples::Rehearsed& r) {
    tools::Dossier d;
    d.result = as_read(tools::describe(r.scenario, r.result));
    d.plant = tools::Value::Object{
        {"ends", tools::Value::Object{{"controller", "yard controller"}, {"device", "debarker drive"}}},
        {"short_names", tools::Value::Object{{"controller", "yard"}, {"device", "drive"}}}};
    return d;
}

std::string report(const tools::Dossier& d) { return tools::markdown_of(tools::report_of(d)); }

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// The flap opens while the link runs, then the link stops.
tools::Value time_line_of(const samples::Rehearsed& r) {
    sim::TimeLine line(r.scenario);
    const auto at = [](std::int64_t ms) { return Instant{} + milliseconds(ms); };
    line.hear(sim::Changed{
        End::device, {proto::State::start_up, proto::State::running, proto::Cause::first_value, {}}, at(10)});
    line.hear(sim::Computed{End::controller, 3, at(10)});
    line.hear(sim::InUse{End::device, 3, at(20)});
    line.hear(sim::Contacted{0, false, at(2004)});
    line.hear(sim::Computed{End::controller, 2, at(2010)});
    line.hear(sim::InUse{End::device, 2, at(2013)});
    line.hear(sim::Changed{
        End::device, {proto::State::running, proto::State::safe_state, proto::Cause::time_expectation, {}}, at(3000)});
    line.hear(sim::OutputsOff{End::device, at(3000)});
    line.finish(at(4000));
    return tools::describe(r.scenario, line);
}

}  // namespace

TEST_CASE("the report has the functions near its top and a row for each demand and each signal on its way") {
    const std::string text = report(dossier_of(samples::guarded()));
    const std::size_t functions = text.find("| opening the flap stops the rollers | PL d | met | 329 | 600 | - |");
    CHECK(functions != std::string::npos);
    CHECK(functions < text.find("Cautions"));
    CHECK(has(text, "| pulling the cord stops the rollers | - | NOT MET | 623 | 600 |"));
    CHECK(has(text,
              "| flap | 2.004 |  |  |  | 9 | stops | 289 | 329 | 596 | met | opening the flap stops the rollers |\n"
              "| ↳\u00A0guards\\_closed |  | 6 | 7 | 9 |"));
    CHECK(has(text, "| mat | 9.020 |  |  |  | 3 | slows | 548 | - | 596 | met |"));
    CHECK(has(text, "stood already | - | - | 596 | not shown |"));
    CHECK(has(text,
              "| hatch | 12.002 |  |  |  | - | ran on | - | - | - | - | It reaches no output: nothing obeys it. |"));
    CHECK(text.find("| hatch |") < text.find("| flap |"));
    CHECK(has(text, "Reduced: from then on at 120 mm/s or under it."));
}

TEST_CASE("a report without functions says that its verdict is of the link only") {
    samples::Rehearsed r = samples::guarded();
    r.scenario.functions.clear();
    r.result.function_rows.clear();
    r.result.functions.clear();
    r.result.verdict = sim::RunVerdict::pass;
    const std::string text = report(dossier_of(r));
    CHECK(has(text, "**PASS, link only** Nothing states what the guards must do. "));
    CHECK_FALSE(has(text, "What each guard must do; times"));
    CHECK_FALSE(has(text, "| Met? |"));  // nor is there a column in which nothing stands
    CHECK(has(report(dossier_of(samples::guarded())), "| Met? |"));
    CHECK_FALSE(has(report(dossier_of(samples::guarded())), "link only"));
}

TEST_CASE("the report keeps reduced speed and standstill apart, and calls ends by name") {
    samples::Rehearsed r = samples::usual();
    const std::string stood = report(dossier_of(r));
    CHECK(has(stood, "After a fault the machine stood within 134.2 ms at most; 235 ms are allowed."));
    CHECK_FALSE(has(stood, "Down to"));
    CHECK(has(stood, "| Safe at yard after (ms) | Safe at drive after (ms) | Machine stands after (ms) |"));
    r.scenario.machine->reduced_speed_um_s = 120'000;
    r.result.injections[0].reduced = milliseconds(548);
    r.result.injections[0].standstill.reset();
    const std::string slowed = report(dossier_of(r));
    CHECK(has(slowed, "After a fault the machine was down to 120 mm/s and ran on, within 548 ms at most"));
    CHECK(has(slowed, "| Down to 120 mm/s after (ms) | Machine stands after (ms) |"));
    CHECK(has(slowed, "| 548 | ran on | 235 |"));
    CHECK_FALSE(has(slowed, "stood within"));
}

TEST_CASE("the time line's table has contacts, signals at both ends, and what is replaced") {
    const samples::Rehearsed r = samples::guarded();
    tools::Dossier d = dossier_of(r);
    d.time_line = as_read(time_line_of(r));
    const std::string text = report(d);
    CHECK(has(text, "| 2.000 | flap | demand |"));
    CHECK(has(text, "| 2.004 | flap | contact opens |"));
    CHECK(has(text, "| 2.010 | yard controller | computes guards\\_closed 0 |"));
    CHECK(has(text, "| 2.013 | debarker drive | uses guards\\_closed 0 |"));
    CHECK(has(text, "| 3.000 | debarker drive | uses mat\\_free 0, replaced |"));
    CHECK(has(text, "| 0.020 | debarker drive | uses guards\\_closed 1; mat\\_free 1 |"));
    const std::string data = tools::to_json(tools::chart_data_of(d));
    CHECK(has(data, "flap opens, stands after 329 ms, met"));
    CHECK(has(data, "hatch opens, ran on"));
}

TEST_CASE("parts of a response have the heads that the terminal has, and no word of a maker's tool") {
    tools::Dossier d = dossier_of(samples::usual());
    d.response = tools::Value::Object{{"met", true}, {"parts", tools::Value::List{}}};
    const std::string text = report(d);
    CHECK(has(text, "| Part | No fault (ms) | One fault (ms) | Source of the value |"));
    CHECK(has(text, "| 0, replaced |"));
    CHECK(has(text, "| asks to be acknowledged |"));
    CHECK(has(text, "Seen at debarker drive"));
    CHECK_FALSE(has(text, "I/O safe"));
    CHECK_FALSE(has(text, "Seen at I/O"));
    const std::string link_sheet = tools::markdown_of(tools::link_sheet_of(d));
    CHECK(has(link_sheet, "| When replaced |"));
    CHECK(has(link_sheet, "Signatures and checksums, as each maker's tool shows them"));
    CHECK(has(link_sheet, "at debarker drive"));
}
