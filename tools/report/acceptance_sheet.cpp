#include <cmath>
#include <cstdio>
#include <optional>

#include "tools/report/acceptance_forms.hpp"
#include "tools/report/papers.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

using Kind = SheetCell::Kind;

constexpr unsigned measurements = 10;

std::string fixed(double value, int digits) {
    char text[64];
    std::snprintf(text, sizeof text, "%.*f", digits, value);
    return text;
}

/// Two times in ms, the first rounded down and the second up, with as many decimals as it takes that the second does
/// not look longer where it is not: a rehearsed value rounded down instead would look shorter than what was seen.
struct Apart {
    std::string allowed, rehearsed;
};
Apart apart(const Value& allowed, const Value& rehearsed) {
    const std::optional<double> most = number_of(allowed), seen = number_of(rehearsed);
    Apart both{tenths(allowed, Rounding::down), tenths(rehearsed, Rounding::up)};
    if (!most || !seen || *seen > *most) return both;
    constexpr int finest = 6;  // a nanosecond
    double scale = 10;
    for (int digits = 1; digits <= finest; ++digits, scale *= 10) {
        // what a decimal fraction lacks or has too much in binary is far below a nanosecond
        const double down = std::floor(*most * scale + 1e-4), up = std::ceil(*seen * scale - 1e-4);
        if (up > down && digits < finest) continue;
        if (digits > 1) both = {fixed(down / scale, digits), fixed(up / scale, digits)};
        return both;
    }
    return both;
}

/// The lower limit stands beside the upper one: what stops sooner was stopped by something else.
std::string allowed_of(const Value& row) {
    const Value& allowed = look_up(row, "allowed_ms");
    if (is_null(look_up(row, "clock"))) return "-";
    if (is_null(allowed)) return "no limit can be reckoned: " + look_up_text(row, "reckoned");
    std::string text = apart(allowed, look_up(row, "rehearsed_ms")).allowed;
    const Value& settings = look_up(row, "by_settings_ms");
    if (!is_null(settings) && scalar_text(settings) != scalar_text(allowed))
        text += " (by the settings " + tenths(settings, Rounding::down) + ")";
    if (const Value& least = look_up(row, "not_before_ms"); !is_null(least))
        text += " (the link alone not before " + tenths(least, Rounding::down) + ")";
    if (const Value& stands = look_up(row, "stands_allowed_ms"); !is_null(stands))
        text += "; standing " + apart(stands, look_up(row, "stands_rehearsed_ms")).allowed;
    return text;
}

std::string rehearsed_of(const Value& row) {
    const std::string words = look_up_text(row, "rehearsal");
    const Value& time = look_up(row, "rehearsed_ms");
    if (is_null(time)) return or_dash(words);
    std::string text = apart(look_up(row, "allowed_ms"), time).rehearsed;
    if (const Value& stood = look_up(row, "stands_rehearsed_ms"); !is_null(stood))
        text += ", standing " + apart(look_up(row, "stands_allowed_ms"), stood).rehearsed;
    return text + ", " + words;
}

std::string number_and_function(const Value& row) {
    const Value& function = look_up(row, "function");
    return scalar_text(look_up(row, "no")) + (is_null(function) ? "" : " F" + scalar_text(function));
}

SheetCell shows(const Value& row, const char* key) {
    return look_up(row, "noted").is_true() ? SheetCell::blank("its tool shows") : SheetCell(look_up_text(row, key));
}

/// The speed is a measurement of its own beside the time, and so is a standstill that comes after it.
SheetCell machine_must(const Value& row) {
    const std::string words = look_up_text(row, "machine");
    if (is_null(look_up(row, "at_most_mm_s"))) return words;
    const bool stands = !is_null(look_up(row, "stands_allowed_ms")) || !is_null(look_up(row, "stands_rehearsed_ms"));
    return SheetCell::blank(words + "; measured with, mm/s" + (stands ? "; stood after, ms" : ""));
}

std::vector<SheetCell> row_of(const Value& row) {
    const bool timed = !is_null(look_up(row, "clock"));
    const bool ten = look_up_number(row, "times").value_or(1) > 1;
    const std::string undo = look_up_text(row, "undo");
    std::string act = look_up_text(row, "do");
    if (look_up(row, "optional").is_true()) act = "Optional, engineer only. " + act;
    if (const std::string way = look_up_text(row, "way"); !way.empty()) act += ". The way: " + way;
    const std::string passes = look_up_text(row, "reckoned");
    return {number_and_function(row),
            act + (timed || passes.empty() ? "" : " (" + passes + ")"),
            shows(row, "controller_shows"),
            shows(row, "device_shows"),
            machine_must(row),
            or_dash(look_up_text(row, "clock")),
            SheetCell::number(allowed_of(row)),
            {rehearsed_of(row), Kind::grey},
            !timed ? SheetCell{"-"}
            : ten  ? SheetCell{"ten: see M"}
                   : SheetCell::blank(),
            timed ? SheetCell::blank() : SheetCell{"-"},
            {"P / F / N", Kind::choice},
            undo.empty() ? SheetCell{"-"} : SheetCell::blank(undo + ", seen by"),
            SheetCell::blank(),
            SheetCell::blank(),
            SheetCell::blank()};
}

/// Each end is called as it is called at the plant.
SheetTable table_of(const Dossier& d, const std::string& stage) {
    return {.caption = stage,
            .columns = {"No", "Do this, and how to do it safely", name_of_end(d, "controller") + " must show",
                        name_of_end(d, "device") + " must show", "Machine must", "Clock starts at … stops at …",
                        "Allowed at most (ms)", "In rehearsal (ms, for information)", "Measured (ms)", "Instrument no.",
                        "Pass / Fail / Not done, why", "Undone, seen by", "Name", "Date", "Signature"},
            .rows = {},
            .look = "acts"};
}

void rows(Sheet& sheet, const Dossier& d) {
    std::string stage;
    SheetTable table;
    const auto finish = [&] {
        if (!table.rows.empty()) sheet.blocks.emplace_back(table);
    };
    char letter = 'B';
    for (const Value& row : look_up_list(d.acceptance, "rows")) {
        if (look_up_text(row, "stage") != stage) {
            finish();
            stage = look_up_text(row, "stage");
            std::string id = "stage-";
            id += letter;
            sheet.blocks.emplace_back(SheetHeading{.margin = std::string(1, letter), .text = stage, .id = id});
            if (letter++ == 'B')
                sheet.blocks.emplace_back(
                    SheetText{SheetText::Kind::strong,
                              "A failed row ends the sheet: stop, lock out, call who is named above, write it down "
                              "under deviations."});
            if (stage == "Change settings")
                sheet.blocks.emplace_back(
                    SheetText{SheetText::Kind::warning,
                              "These rows change settings of a real machine. Only an engineer who has saved them, with "
                              "the machine locked out; every row must be undone and the undoing seen by another."});
            table = table_of(d, stage);
        }
        table.rows.push_back(row_of(row));
    }
    finish();
}

void ten_measurements(Sheet& sheet, const Dossier& d) {
    SheetTable table{
        .caption = "Overall times in ms, from the demand until the row's clock stops (ISO 13855, from memory)",
        .columns = {"Row, safeguard"},
        .rows = {},
        .look = "form ten"};
    for (unsigned i = 1; i <= measurements; ++i) table.columns.push_back(std::to_string(i));
    table.columns.insert(table.columns.end(), {"Highest", "Mean", "Standard deviation", "Mean + 3 s",
                                               "Value used (the larger)", "Allowed", "Pass"});
    for (const Value& row : look_up_list(d.acceptance, "rows")) {
        if (look_up_number(row, "times").value_or(1) <= 1) continue;
        std::vector<SheetCell> cells{"row " + number_and_function(row) + ", " + look_up_text(row, "safeguard")};
        for (unsigned i = 0; i < measurements + 5; ++i) cells.push_back(SheetCell::blank());
        cells.push_back(SheetCell::number(allowed_of(row)));
        cells.emplace_back("P / F", Kind::choice);
        table.rows.push_back(std::move(cells));
    }
    if (table.rows.empty()) return;
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "M", .text = "Ten measurements: overall times, worst position and load", .id = "ten"});
    sheet.blocks.emplace_back(std::move(table));
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::soft,
                                        "Value used: the larger of the highest and of the mean with three standard "
                                        "deviations of a sample (divided by nine)."});
}

}  // namespace

Sheet acceptance_sheet_of(const Dossier& d) {
    Sheet sheet{.title = title_of(d) + ": acceptance sheet", .blocks = {}};
    add_acceptance_head(sheet, d);
    rows(sheet, d);
    ten_measurements(sheet, d);
    add_distances(sheet, d);
    add_deviations(sheet);
    add_closing(sheet, d);
    sheet.foot =
        "Supplements the validation plan and never replaces it. Allowed times come from the calculation; a shorter "
        "measured time proves nothing about faults that were not tried.";
    return sheet;
}

}  // namespace tools
