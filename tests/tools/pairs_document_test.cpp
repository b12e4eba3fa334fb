// What documents, page and link sheet say of a pair of bits.
#include <string>

#include <doctest/doctest.h>

#include "sim/drive/rehearsal.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "tests/support/scenarios.hpp"
#include "tools/report/papers.hpp"
#include "tools/run/acceptance_document.hpp"
#include "tools/run/describe_guards.hpp"
#include "tools/run/plant_document.hpp"
#include "tools/run/run_page.hpp"
#include "tools/run/time_line_document.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"

using tools::is_null;
using tools::look_up;
using tools::look_up_list;
using tools::look_up_number;
using tools::look_up_text;
using tools::Value;

namespace {

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// The log debarker; "closed" goes over two bits.
sim::Scenario with_pair() {
    sim::Scenario s =
        sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/log_debarker/guards.toml").value();
    sim::Signal second;
    second.name = "closed_inverse";
    second.direction = sim::Direction::to_device;
    second.inverse_of = "closed";
    second.discrepancy = proto::milliseconds(50);
    s.signals.push_back(second);
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->bits.push_back({second.name, {0, 3}, {}});
    tests::use_typed_bits(s);
    return s;
}

const Value& of_name(const Value::List& list, const std::string& key, const std::string& name) {
    for (const Value& one : list)
        if (look_up_text(one, key) == name) return one;
    FAIL("no " << name);
    return list.front();
}

TEST_CASE("the plant's bit map tells both bits of a pair, and what each means") {
    const sim::Scenario s = with_pair();
    // through the text, as it is read by whoever writes the sheets
    const Value plant =
        tools::from_json(tools::to_json(tools::describe_plant(s, 1, {sim::cross_check(s), sim::longest_watchdog(s)})))
            .value();
    const Value& first = of_name(look_up_list(plant, "bits"), "signal", "closed");
    CHECK(look_up_text(first, "meaning_of_1") ==
          "no demand from flap and pit_door; counts only while closed_inverse is 0");
    CHECK(is_null(look_up(first, "inverse_of")));
    const Value& second = of_name(look_up_list(plant, "bits"), "signal", "closed_inverse");
    CHECK(look_up_text(second, "meaning_of_1") == "closed is 0: the second bit of its pair");
    CHECK(
        look_up_text(second, "reaction_at_0") ==
        "by itself none; with closed at 0 too, or both at 1, that one counts as 0, and after 50 ms until a reset; not "
        "while the link stands still");
    CHECK(look_up_text(second, "inverse_of") == "closed");
    CHECK(look_up_number(second, "discrepancy_ms") == 50);

    tools::Dossier dossier;
    dossier.result = Value::Object{{"title", s.title}, {"scenario", s.file}, {"digest", "0x1"}, {"version", "1"}};
    dossier.plant = plant;
    const std::string sheet = tools::markdown_of(tools::link_sheet_of(dossier));
    CHECK(holds(sheet, "closed\\_inverse, to "));
    CHECK(holds(sheet, "counts only while closed\\_inverse is 0"));
}

TEST_CASE("the guard table and its document name both bits, the time line tells each of them") {
    const sim::Scenario s = with_pair();
    sim::TimeLine line(s);
    const sim::RunResult result = sim::rehearse(s, 11, {.line = &line});
    const Value::List rows = tools::describe_demands(s, result);
    CHECK(look_up_text(look_up_list(rows.at(0), "hops").at(0), "second_bit") == "closed_inverse");
    CHECK(is_null(look_up(look_up_list(rows.at(2), "hops").at(0), "second_bit")));  // the cord
    const tools::RunPageNotes notes{"evidence", {"result.json"}};
    const std::string page = page_of(s, result, notes, tools::Columns::of_terminal(100)).text(tools::Colour::off);
    CHECK(holds(page, "closed with"));
    CHECK(holds(page, "closed_inverse"));

    const Value document = tools::describe(s, line);
    const Value& first = of_name(look_up_list(document, "signals"), "name", "closed");
    const Value& second = of_name(look_up_list(document, "signals"), "name", "closed_inverse");
    CHECK(is_null(look_up(first, "inverse_of")));
    CHECK(look_up_text(second, "inverse_of") == "closed");
    // it turns with the first one: 1 while that is 0, but for the start and the pulled cable
    CHECK(look_up_list(second, "computed").size() >= 4);
    CHECK(look_up_list(second, "changes").size() >= 4);
}

TEST_CASE("a plant with a pair passes its own acceptance sheet") {
    const sim::Scenario s = with_pair();
    const Value acceptance = tools::describe_acceptance(s, sim::study_acceptance(s, 1));
    REQUIRE(look_up_list(acceptance, "rows").size() > 10);
    for (const Value& row : look_up_list(acceptance, "rows")) {
        INFO(tools::to_json(row));
        CHECK((is_null(look_up(row, "rehearsal_passes")) || look_up(row, "rehearsal_passes").is_true()));
    }
}

}  // namespace
