#include "tools/report/papers.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

using Kind = SheetCell::Kind;

constexpr unsigned measurements = 10;

void head(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.level = 1, .margin = {}, .text = "Acceptance sheet: " + title_of(d), .id = {}});
    const std::string signature = look_up_text(d.plant, "signature");
    sheet.blocks.emplace_back(SheetTable{.caption = "Head",
                                         .columns = {"Plant", "Machine no.", "Stations", "Link signature to be found",
                                                     "Rehearsal fingerprint", "Document no."},
                                         .rows = {{or_dash(look_up_text(d.plant, "plant")), SheetCell::blank(),
                                                   name_of_end(d, "controller") + ", " + name_of_end(d, "device"),
                                                   signature.empty() ? "NONE: the ends as written differ" : signature,
                                                   look_up_text(d.result, "digest"), SheetCell::blank()}},
                                         .look = "form"});
}

void before(Sheet& sheet) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "A", .text = "Before you begin", .id = "before"});
    sheet.blocks.emplace_back(
        SheetText{SheetText::Kind::warning,
                  "Moving machine. Nobody may be in the zone while it can move. Measure from outside the barrier. Lock "
                  "out before a wire is touched. Failure to do so can kill."});
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::caution,
        "An unexpected stop may drop a load or throw a workpiece. Begin without a workpiece and at reduced speed."});
    const auto line = [](const char* what) {
        return std::vector<SheetCell>{what, SheetCell::blank(), SheetCell::blank(), SheetCell::blank()};
    };
    sheet.blocks.emplace_back(SheetTable{
        .caption = "Seen to, before the first row",
        .columns = {"What", "Done", "By whom, or number", "Name"},
        .rows = {line("Competent person named"), line("Second person present"), line("Zone barred and seen empty"),
                 line("Emergency stop tried first"), line("Lock-out for every row that touches a wire"),
                 line("Instrument, and date of its calibration"), line("Settings saved, signature noted")},
        .look = "form"});
}

/// What nobody finds by these rows, so that nobody believes to have found it.
void cautions(Sheet& sheet, const Dossier& d) {
    SheetList list;
    for (const char* key : {"problems", "cautions"})
        for (const Value& text : look_up_list(d.plant, key))
            list.items.push_back(as_sentence(std::string(text.text())));
    for (const Value& text : look_up_list(d.plant, "undetectable"))
        list.items.push_back("No measure of this link sees: " + std::string(text.text()) + ".");
    if (list.items.empty()) return;
    sheet.blocks.emplace_back(SheetHeading{.level = 3, .margin = {}, .text = "To bear in mind", .id = {}});
    sheet.blocks.emplace_back(std::move(list));
}

/// The lower limit stands beside the upper one: what stops sooner was stopped by something else.
std::string allowed_of(const Value& row) {
    const Value& allowed = look_up(row, "allowed_ms");
    if (is_null(look_up(row, "clock"))) return "-";
    if (is_null(allowed)) return "no limit can be reckoned: " + look_up_text(row, "reckoned");
    std::string text = tenths(allowed, Rounding::down);
    if (const Value& least = look_up(row, "not_before_ms"); !is_null(least))
        text += " (the link alone not before " + tenths(least, Rounding::down) + ")";
    return text;
}

std::string rehearsed_of(const Value& row) {
    const std::string words = look_up_text(row, "rehearsal");
    const Value& time = look_up(row, "rehearsed_ms");
    if (is_null(time)) return or_dash(words);
    return tenths(time, Rounding::up) + ", " + words;
}

std::vector<SheetCell> row_of(const Value& row) {
    const bool timed = !is_null(look_up(row, "clock"));
    const bool ten = look_up_number(row, "times").value_or(1) > 1;
    const std::string undo = look_up_text(row, "undo");
    std::string act = look_up_text(row, "do");
    if (look_up(row, "optional").is_true()) act = "Optional, engineer only. " + act;
    const std::string passes = look_up_text(row, "reckoned");
    return {SheetCell::number(scalar_text(look_up(row, "no"))),
            act + (timed || passes.empty() ? "" : " (" + passes + ")"),
            look_up_text(row, "controller_shows"),
            look_up_text(row, "device_shows"),
            look_up_text(row, "machine"),
            or_dash(look_up_text(row, "clock")),
            SheetCell::number(allowed_of(row)),
            {rehearsed_of(row), Kind::grey},
            !timed ? SheetCell{"-"}
            : ten  ? SheetCell{"see ten measurements"}
                   : SheetCell::blank(),
            timed ? SheetCell::blank() : SheetCell{"-"},
            {"P / F / N", Kind::choice},
            undo.empty() ? SheetCell{"-"} : SheetCell::blank(undo + ", seen by"),
            SheetCell::blank(),
            SheetCell::blank(),
            SheetCell::blank()};
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
            sheet.blocks.emplace_back(SheetHeading{
                .margin = std::string(1, letter++), .text = stage, .id = id, .page = SheetHeading::Page::next});
            if (stage == "Change settings")
                sheet.blocks.emplace_back(
                    SheetText{SheetText::Kind::warning,
                              "These rows change settings of a real machine. Only an engineer who has saved them, with "
                              "the machine locked out; every row must be undone and the undoing seen by another."});
            sheet.blocks.emplace_back(
                SheetText{SheetText::Kind::strong,
                          "A failed row ends the sheet: stop, lock out, call ____________________________."});
            table = {.caption = stage,
                     .columns = {"No", "Do this, and how to do it safely", "Controller must show", "I/O must show",
                                 "Machine must", "Clock starts at … stops at …", "Allowed at most (ms)",
                                 "In rehearsal (ms, for information)", "Measured (ms)", "Instrument no.",
                                 "Pass / Fail / Not done, why", "Undone, seen by", "Name", "Date", "Signature"},
                     .rows = {},
                     .look = "acts"};
        }
        table.rows.push_back(row_of(row));
    }
    finish();
}

void ten_measurements(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "M",
                                           .text = "Ten measurements: overall stopping time, worst position and load",
                                           .id = "ten",
                                           .page = SheetHeading::Page::next});
    SheetTable table{
        .caption = "Overall times in ms, from the demand until the machine stands (ISO 13855, from memory)",
        .columns = {"Row, safeguard"},
        .rows = {},
        .look = "form ten"};
    for (unsigned i = 1; i <= measurements; ++i) table.columns.push_back(std::to_string(i));
    table.columns.insert(table.columns.end(), {"Highest", "Mean", "Standard deviation", "Mean + 3 s",
                                               "Value used (the larger)", "Allowed", "Pass"});
    for (const Value& row : look_up_list(d.acceptance, "rows")) {
        if (look_up_number(row, "times").value_or(1) <= 1) continue;
        std::vector<SheetCell> cells{"row " + scalar_text(look_up(row, "no"))};
        for (unsigned i = 0; i < measurements + 5; ++i) cells.push_back(SheetCell::blank());
        cells.push_back(SheetCell::number(allowed_of(row)));
        cells.emplace_back("P / F", Kind::choice);
        table.rows.push_back(std::move(cells));
    }
    sheet.blocks.emplace_back(std::move(table));
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::soft,
                                        "Value used: the larger of the highest and of the mean with three standard "
                                        "deviations of a sample (divided by nine)."});
}

void closing(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "Z", .text = "Closing", .id = "closing", .page = SheetHeading::Page::next});
    const std::string signature = look_up_text(d.plant, "signature");
    const std::string needed = tenths(look_up(d.acceptance, "needed_mm"), Rounding::up);
    const auto line = [](std::string what, std::string must) {
        return std::vector<SheetCell>{std::move(what), std::move(must), SheetCell::blank(), SheetCell::blank()};
    };
    sheet.blocks.emplace_back(
        SheetTable{.caption = "Before the machine is handed over",
                   .columns = {"What", "Must be", "Found", "Name"},
                   .rows = {line("Every row undone", "all, each seen by another"),
                            line("Signature read again at " + name_of_end(d, "controller"), or_dash(signature)),
                            line("Signature read again at " + name_of_end(d, "device"), or_dash(signature)),
                            line("Distance measured on the floor (mm)", "at least " + needed),
                            line("Rows not done, and why", "-"), line("Remarks", "-")},
                   .look = "form"});
    sheet.blocks.emplace_back(
        SheetTable{.caption = "Signatures",
                   .columns = {"Who", "Name", "Date", "Signature"},
                   .rows = {{"Competent person", SheetCell::blank(), SheetCell::blank(), SheetCell::blank()},
                            {"Second person", SheetCell::blank(), SheetCell::blank(), SheetCell::blank()},
                            {"Operator of the plant", SheetCell::blank(), SheetCell::blank(), SheetCell::blank()}},
                   .look = "form"});
}

}  // namespace

Sheet acceptance_sheet_of(const Dossier& d) {
    Sheet sheet{.title = title_of(d) + ": acceptance sheet", .blocks = {}};
    head(sheet, d);
    before(sheet);
    cautions(sheet, d);
    rows(sheet, d);
    ten_measurements(sheet, d);
    closing(sheet, d);
    sheet.foot =
        "Supplements the validation plan and never replaces it. Allowed times come from the calculation; a shorter "
        "measured time proves nothing about faults that were not tried.";
    return sheet;
}

}  // namespace tools
