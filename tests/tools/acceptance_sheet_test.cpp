// The acceptance sheet as a document and as a page: what its rows say, and how what is allowed stands beside what was
// seen.
#include <string>

#include <doctest/doctest.h>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "tools/report/papers.hpp"
#include "tools/run/acceptance_document.hpp"
#include "tools/run/plant_document.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"

using tools::look_up;
using tools::look_up_list;
using tools::look_up_number;
using tools::look_up_text;
using tools::Value;

namespace {

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

sim::Scenario shipped(const std::string& name) {
    return sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/log_debarker/" + name).value();
}

/// What run would leave of that scenario, as far as the sheets look at it.
tools::Dossier dossier_of(const sim::Scenario& s) {
    tools::Dossier dossier;
    dossier.result = Value::Object{{"title", s.title}, {"scenario", s.file}, {"digest", "0x1"}, {"version", "1"}};
    dossier.plant = tools::describe_plant(s, 1, {sim::cross_check(s), sim::longest_watchdog(s)});
    // through the text, as it is read by whoever writes the sheets
    const Value acceptance = tools::describe_acceptance(s, sim::study_acceptance(s, 1));
    dossier.acceptance = tools::from_json(tools::to_json(acceptance)).value();
    return dossier;
}

tools::Dossier dossier_of(const std::string& name) { return dossier_of(shipped(name)); }

const Value& row_of(const Value& acceptance, const std::string& stage, const std::string& safeguard) {
    for (const Value& row : look_up_list(acceptance, "rows"))
        if (look_up_text(row, "stage") == stage && look_up_text(row, "safeguard") == safeguard) return row;
    FAIL("no row of " << safeguard << " in " << stage);
    return acceptance;
}

TEST_CASE("a row asks for what the function states, and names what falls at both ends") {
    const tools::Dossier dossier = dossier_of("guards.toml");
    const Value& flap = row_of(dossier.acceptance, "At full speed", "flap");
    CHECK(look_up_text(flap, "controller_shows") == "Running, flap 0, closed sent 0");
    CHECK(look_up_text(flap, "device_shows") == "Running, closed 0");
    CHECK(look_up_text(flap, "machine") == "stops by itself, category 0: its power goes at once");
    CHECK(look_up_number(flap, "allowed_ms") == 600);
    CHECK(look_up_number(flap, "by_settings_ms") == 526);
    CHECK(look_up_number(flap, "function") == 1);
    const Value& slow = row_of(dossier.acceptance, "At full speed", "speed_selector");
    CHECK(look_up_text(slow, "machine") == "slows down by itself to at most 120 mm/s and runs on");
    CHECK(holds(look_up_text(slow, "clock"), "rollers at 120 mm/s or less"));
    CHECK(look_up_number(slow, "at_most_mm_s") == 120);
    CHECK(look_up_text(row_of(dossier.acceptance, "Free again", "speed_selector"), "machine") ==
          "stays at or under 120 mm/s until it is started");
    for (const Value& row : look_up_list(dossier.acceptance, "rows")) {
        INFO(tools::to_json(row));
        CHECK((tools::is_null(look_up(row, "rehearsal_passes")) || look_up(row, "rehearsal_passes").is_true()));
        // at reduced speed a guard that only slows down to it changes nothing
        if (look_up_text(row, "stage") == "At reduced speed") CHECK(look_up_text(row, "safeguard") != "speed_selector");
    }
}

TEST_CASE("a guard that nothing obeys has its row, and the sheet says at its head that it fails") {
    const tools::Dossier dossier = dossier_of("forgotten_guard.toml");
    const Value& row = row_of(dossier.acceptance, "At full speed", "pit_door");
    CHECK_FALSE(look_up(row, "rehearsal_passes").is_true());
    CHECK(holds(look_up_text(row, "rehearsal"), "FAILED: pit_door reaches no output"));
    const std::string sheet = tools::markdown_of(tools::acceptance_sheet_of(dossier));
    CHECK(holds(sheet, "FAILS in the rehearsal, at row "));
    CHECK_FALSE(holds(tools::markdown_of(tools::acceptance_sheet_of(dossier_of("guards.toml"))), "FAILS"));
}

TEST_CASE("both sheets call the ends by their place, and ask nobody for linkdrill's own number") {
    const tools::Dossier dossier = dossier_of("guards.toml");
    const std::string signature = look_up_text(dossier.plant, "signature");
    REQUIRE_FALSE(signature.empty());
    for (const tools::Sheet& sheet : {tools::acceptance_sheet_of(dossier), tools::link_sheet_of(dossier)})
        for (const tools::SheetBlock& block : sheet.blocks)
            if (const auto* table = std::get_if<tools::SheetTable>(&block)) {
                for (const std::string& column : table->columns) {
                    CHECK_FALSE(holds(column, "Controller"));
                    CHECK_FALSE(holds(column, "I/O"));
                }
                for (const auto& row : table->rows)
                    for (const tools::SheetCell& cell : row) CHECK(cell.text != signature);
            }
    CHECK(holds(tools::markdown_of(tools::acceptance_sheet_of(dossier)), "roller drive must show"));
}

TEST_CASE("a stop whose hazard ends at reduced speed has both moments in its row, and a blank for each") {
    sim::Scenario s = shipped("guards.toml");
    s.functions[0].reduced_speed_ends_hazard = true;
    const tools::Dossier dossier = dossier_of(s);
    const Value& flap = row_of(dossier.acceptance, "At full speed", "flap");
    CHECK(look_up_text(flap, "clock") ==
          "starts: flap is demanded; stops: rollers at 120 mm/s or less; a second one at standstill");
    CHECK(holds(look_up_text(flap, "machine"),
                "category 0: its power goes at once; at 120 mm/s or less in time, then at standstill"));
    CHECK(look_up_number(flap, "allowed_ms") == 600);
    CHECK(look_up_number(flap, "stands_allowed_ms") == 526);
    CHECK(*look_up_number(flap, "stands_rehearsed_ms") > *look_up_number(flap, "rehearsed_ms"));
    const std::string sheet = tools::markdown_of(tools::acceptance_sheet_of(dossier));
    CHECK(holds(sheet, "600 (by the settings 466); standing 526"));
    CHECK(holds(sheet, "measured with, mm/s; stood after, ms"));
    // by standstill alone there is one
    const tools::Dossier plain = dossier_of("guards.toml");
    CHECK(tools::is_null(look_up(row_of(plain.acceptance, "At full speed", "flap"), "stands_allowed_ms")));
}

TEST_CASE("a row that changes a setting says what its rehearsal showed") {
    unsigned settings = 0;
    const tools::Dossier dossier = dossier_of("guards.toml");
    for (const Value& row : look_up_list(dossier.acceptance, "rows")) {
        if (look_up_text(row, "stage") != "Change settings") continue;
        ++settings;
        CHECK(look_up(row, "rehearsal_passes").is_true());
        CHECK_FALSE(look_up_text(row, "rehearsal").empty());
    }
    CHECK(settings == 3);
}

TEST_CASE("the link sheet asks nobody to type linkdrill's name of a layout, and its addresses have both bases") {
    const std::string sheet = tools::markdown_of(tools::link_sheet_of(dossier_of("guards.toml")));
    CHECK(holds(sheet, "0x0051 (81), own | 0x0051 (81), other end"));
    CHECK(holds(sheet, "as the maker calls it (rehearsed as crc32\\_carried)"));
    CHECK_FALSE(holds(sheet, "crc32\\_carried, 0x"));
}

TEST_CASE("more signals than one page holds begin a second one, with room to write on both") {
    const auto second_page = [](std::size_t signals) {
        sim::Scenario s = shipped("guards.toml");
        while (s.signals.size() < signals) {
            s.signals.push_back(s.signals[0]);
            s.signals.back().name += std::to_string(s.signals.size());
        }
        return holds(tools::html_of(tools::link_sheet_of(dossier_of(s))), R"(class="entry next-page" id="bits")");
    };
    CHECK_FALSE(second_page(6));
    CHECK(second_page(7));
}

/// A sheet of one timed row.
std::string sheet_with(double allowed, double rehearsed) {
    tools::Dossier dossier;
    dossier.acceptance = Value::Object{{"rows", Value::List{Value::Object{{"no", 1},
                                                                          {"stage", "At full speed"},
                                                                          {"do", "demand"},
                                                                          {"clock", "starts; stops"},
                                                                          {"allowed_ms", allowed},
                                                                          {"rehearsed_ms", rehearsed},
                                                                          {"rehearsal", "seen"}}}}};
    return tools::markdown_of(tools::acceptance_sheet_of(dossier));
}

TEST_CASE("what was seen within its limit never looks longer than it") {
    CHECK(holds(sheet_with(706.64, 706.62), "706.64 | 706.62, seen"));
    CHECK(holds(sheet_with(706.64, 706.64), "706.64 | 706.64, seen"));
    CHECK(holds(sheet_with(130, 130), "130 | 130, seen"));
    CHECK(holds(sheet_with(600, 445.05), "600 | 445.1, seen"));
    CHECK(holds(sheet_with(706.123457, 706.123456), "706.123457 | 706.123456, seen"));
    // over the limit stays over it
    CHECK(holds(sheet_with(706.62, 706.64), "706.6 | 706.7, seen"));
}

}  // namespace
