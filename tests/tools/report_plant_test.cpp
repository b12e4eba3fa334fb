// The plant near the top of a report: what is said of each part is no better than what the documents say.
#include <string>

#include <doctest/doctest.h>

#include "proto/contract.hpp"
#include "tools/report/report_found.hpp"
#include "tools/report/report_sheet.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"

namespace {

using tools::Mark;

tools::Value read(const std::string& text) {
    const auto value = tools::from_json(text);
    proto::require(value.ok(), "a document of this test cannot be read");
    return value.value();
}

const std::string plant = R"({"ends": {"controller": "saw controller", "device": "saw drive"}, "drawing": {
    "controller": "saw controller", "controller_ip": "", "controller_differs": 0,
    "stations": [{"name": "saw drive", "link": "", "ip": "192.0.2.7", "differs": 0}],
    "links": [{"name": "", "device": "saw drive", "exchange": "polled", "cycle": "10 ms", "watchdog": "45 ms",
               "apart": false, "differs": 0}],
    "safeguards": [{"name": "hood", "kind": "emergency-stop", "at": "saw controller", "warns": 0},
                   {"name": "cord", "kind": null, "at": "nowhere", "warns": 0}],
    "machines": [{"name": "saw", "at": "saw drive", "speed": "1 m/s", "reactions": 1}]}})";

/// The plant with that in place of this, which stands in it once.
std::string plant_with(const std::string& instead, const std::string& of) {
    std::string text = plant;
    return text.replace(text.find(of), of.size(), instead);
}

/// A run in which all is as it should be, and the hood was demanded once; `other` takes the place of its members.
tools::Dossier dossier_with(const std::string& other, const std::string& typed = plant) {
    tools::Value::Object result = *read(R"({"verdict": "pass", "as_expected": true, "link_started": true,
        "spurious_trips": 0, "twin": {"spurious_trips": 0, "recovered": true}, "machine": {"name": "saw"},
        "machine_started": true, "dangerous": [], "functions": [],
        "injections": [{"id": 1, "outcome": "safe-state", "as_expected": true, "within_limit": true}],
        "demands": [{"id": 1, "safeguard": "hood", "function": "hood stops the saw", "met": true, "machine": "saw",
                     "machine_did": "stopped", "reaches_output": true}]})")
                                       .object();
    const tools::Value instead = read(other);
    for (const tools::Value::Member& one : *instead.object()) {
        for (tools::Value::Member& member : result)
            if (member.key == one.key) member.value = one.value;
        if (tools::is_null(tools::look_up(tools::Value(result), one.key))) result.push_back(one);
    }
    tools::Dossier d;
    d.result = std::move(result);
    d.plant = read(typed);
    return d;
}

/// The mark and the words of the worst; empty words where nothing has a mark.
struct Worst {
    Mark mark = Mark::none;
    std::string words;
};
Worst worst_in(const tools::AllFound& all) {
    const tools::Found* const worst = tools::worst_of(all);
    return worst == nullptr ? Worst{} : Worst{worst->mark, worst->words};
}

std::string section_of(const tools::Dossier& d) {
    tools::Sheet sheet{.title = {}, .blocks = {}};
    tools::add_plant(sheet, d);
    return tools::html_of(sheet);
}

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("where nothing was found no part has a mark but that of which nothing was shown") {
    const tools::Dossier d = dossier_with("{}");
    const tools::FoundAtParts found = tools::found_at_parts(d);
    CHECK(worst_in(found.controller).mark == Mark::none);
    CHECK(worst_in(found.links.at(0)).mark == Mark::none);
    CHECK(worst_in(found.safeguards.at(0)).mark == Mark::none);
    CHECK(worst_in(found.machines.at(0)).mark == Mark::none);
    CHECK(worst_in(found.safeguards.at(1)).words == "not demanded");
    CHECK_FALSE(tools::any_bad(found));
    const std::string text = section_of(d);
    CHECK(has(text, "guard, emergency stop, read at saw controller"));
    CHECK(has(text, "to saw drive, polled, cycle 10 ms, watchdog 45 ms"));
    CHECK(has(text, "station, 192.0.2.7"));
    CHECK_FALSE(has(text, "single part"));
    // a guard at no station that there is is listed all the same
    CHECK(has(text, "guard, read at nowhere"));
}

TEST_CASE("a run that is not judged says of no part that anything was met or as expected") {
    const tools::Dossier d = dossier_with(R"({"verdict": "not-judged", "as_expected": false})");
    const tools::FoundAtParts found = tools::found_at_parts(d);
    CHECK(worst_in(found.safeguards.at(0)).words == "not judged");
    CHECK(worst_in(found.links.at(0)).mark == Mark::unknown);
    const std::string text = section_of(d);
    CHECK_FALSE(has(text, ", met"));
    CHECK_FALSE(has(text, "as expected"));
    CHECK(has(text, "too late to judge"));
}

TEST_CASE("a link that never ran, and a machine that never moved, are not told as if they had") {
    const tools::Dossier d = dossier_with(R"({"verdict": "fail", "link_started": false, "machine_started": false,
        "injections": [{"id": 1, "outcome": "never-ran", "as_expected": true, "within_limit": true}]})");
    const tools::FoundAtParts found = tools::found_at_parts(d);
    CHECK(worst_in(found.links.at(0)).mark == Mark::fails);
    CHECK(has(worst_in(found.links.at(0)).words, "NEVER RAN"));
    CHECK(has(worst_in(found.machines.at(0)).words, "never started"));
    CHECK_FALSE(has(section_of(d), "as expected"));
}

TEST_CASE("what is dangerous is at the link that it struck, at the guard that asked and at the machine") {
    const tools::Dossier d = dossier_with(R"({"verdict": "dangerous",
        "dangerous": [{"at_ms": 5, "injection": 1, "why": "a"}, {"at_ms": 6, "injection": 1, "why": "b"},
                      {"at_ms": 7, "injection": null, "why": "c"}],
        "injections": [{"id": 1, "outcome": "dangerous", "as_expected": true, "within_limit": false}],
        "demands": [{"id": 1, "safeguard": "hood", "met": false, "machine": "saw", "reaches_output": true},
                    {"id": 1, "safeguard": "hood", "met": true, "machine": "saw", "reaches_output": true},
                    {"id": 2, "safeguard": "cord", "met": null, "machine": "saw", "reaches_output": false}]})");
    const tools::FoundAtParts found = tools::found_at_parts(d);
    CHECK(worst_in(found.links.at(0)).words == "2 dangerous outcomes");
    CHECK(worst_in(found.safeguards.at(0)).words == "NOT MET at 1 of 1 demand");
    CHECK(worst_in(found.safeguards.at(1)).words == "1 of 1 demand obeyed by nothing");
    CHECK(worst_in(found.machines.at(0)).words == "TOO LATE after 1 injection");
    CHECK(tools::any_bad(found));
}

TEST_CASE("a function that is not met is marked at its guards though no demand shows it") {
    const tools::Dossier d =
        dossier_with(R"({"functions": [{"name": "cord stops the saw", "met": false, "never_demanded": ["cord"]}]})");
    const tools::FoundAtParts found = tools::found_at_parts(d);
    CHECK(worst_in(found.safeguards.at(1)).words == "cord stops the saw: NOT MET");
    CHECK(worst_in(found.safeguards.at(1)).mark == Mark::dangerous);
}

TEST_CASE("a function that another guard's demand shows not met is marked at that guard alone") {
    const tools::Dossier d = dossier_with(R"({
        "functions": [{"name": "both stop the saw", "met": false, "never_demanded": []}],
        "demands": [{"id": 1, "safeguard": "hood", "function": "both stop the saw", "met": true, "machine": "saw",
                     "reaches_output": true},
                    {"id": 2, "safeguard": "cord", "function": "both stop the saw", "met": false, "machine": "saw",
                     "reaches_output": true}]})");
    const tools::FoundAtParts found = tools::found_at_parts(d);
    CHECK(worst_in(found.safeguards.at(0)).mark == Mark::none);
    CHECK(worst_in(found.safeguards.at(1)).words == "NOT MET at 1 of 1 demand");
    CHECK(worst_in(found.machines.at(0)).words == "not as asked at 1 of 2 demands");
}

TEST_CASE("a machine that only came down to its reduced speed ran on, and was not too late") {
    const tools::Dossier d = dossier_with(R"({"verdict": "fail", "injections": [{"id": 1, "outcome": "safe-state",
        "as_expected": true, "within_limit": false, "reduced_ms": 270, "standstill_ms": null}]})");
    const tools::FoundAtParts found = tools::found_at_parts(d);
    CHECK(worst_in(found.machines.at(0)).words == "RAN ON at reduced speed after 1 injection");
    CHECK(worst_in(found.machines.at(0)).mark == Mark::fails);
    CHECK(tools::any_bad(found));
}

TEST_CASE("what the link did for nothing, what trials found and what differs have marks of their own") {
    tools::Dossier d = dossier_with(R"({"spurious_trips": 2})");
    CHECK(worst_in(tools::found_at_parts(d).links.at(0)).words == "2 stops for nothing");
    d = dossier_with("{}");
    d.campaign = read(R"({"verdict": "pass", "trials": 9, "late": 0, "outcomes": {"dangerous": 1}})");
    CHECK(worst_in(tools::found_at_parts(d).links.at(0)).mark == Mark::dangerous);
    d.campaign = read(R"({"verdict": "pass", "trials": 9, "late": 0, "outcomes": {"dangerous": 0}})");
    CHECK(worst_in(tools::found_at_parts(d).links.at(0)).mark == Mark::none);
    const std::string typed = plant_with(R"("controller_differs": 3)", R"("controller_differs": 0)");
    const tools::FoundAtParts found = tools::found_at_parts(dossier_with("{}", typed));
    CHECK(worst_in(found.controller).words == "3 settings differ");
    CHECK(worst_in(found.controller).mark == Mark::differs);
    CHECK_FALSE(tools::any_bad(found));
}

TEST_CASE("each part is listed once, a machine at the controller too") {
    const std::string typed = plant_with(R"("at": "saw controller", "speed")", R"("at": "saw drive", "speed")");
    const std::string text = section_of(dossier_with("{}", typed));
    for (const std::string name : {"saw", "hood", "cord", "Link", "saw controller", "saw drive"}) {
        const std::string part = "<li><strong>" + name + "</strong>";
        REQUIRE(has(text, part));
        CHECK(text.find(part) == text.rfind(part));
    }
    CHECK(text.find("<strong>saw</strong>") < text.find("<strong>saw controller</strong>"));
}

TEST_CASE("a verdict that rests on no single part says so, and documents without a drawing have no section") {
    CHECK(has(section_of(dossier_with(R"({"verdict": "fail"})")), "has its place at no single part"));
    CHECK(section_of(dossier_with("{}", R"({"ends": {}})")).empty());
    CHECK(tools::is_null(tools::plant_data_of(dossier_with("{}", R"({"ends": {}})"))));
}
