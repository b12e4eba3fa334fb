#include "tools/report/acceptance_forms.hpp"

#include <string>
#include <utility>
#include <vector>

#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

using Cells = std::vector<SheetCell>;

constexpr unsigned deviations = 5;

/// What stands there, and as many blanks.
Cells line(std::string what, unsigned blanks) {
    Cells cells{SheetCell(std::move(what))};
    for (unsigned i = 0; i < blanks; ++i) cells.push_back(SheetCell::blank());
    return cells;
}

std::string joined(const Value::List& texts, const char* between) {
    std::string out;
    for (const Value& text : texts) out += (out.empty() ? "" : between) + std::string(text.text());
    return out;
}

/// By their names: two of one link, of a cell the controller and one for each.
std::vector<std::string> names_of_stations(const Dossier& d) {
    std::vector<std::string> names{name_of_end(d, "controller")};
    if (d.links.empty()) names.push_back(name_of_end(d, "device"));
    for (const Dossier& link : d.links) names.push_back(name_of_end(link, "device"));
    return names;
}

std::string stations_of(const Dossier& d) {
    std::string out;
    for (const std::string& name : names_of_stations(d)) out += (out.empty() ? "" : ", ") + name;
    return out;
}

void document(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetTable{.caption = "Document",
                   .columns = {"Plant", "Machine no.", "Project, customer", "Document no., revision",
                               "Validation plan no.", "Stations", "Identity of the rehearsal"},
                   .rows = {{or_dash(look_up_text(d.plant, "plant")), SheetCell::blank(), SheetCell::blank(),
                             SheetCell::blank(), SheetCell::blank(), stations_of(d),
                             look_up_text(d.result, "scenario") + ", " + look_up_text(d.result, "digest")}},
                   .look = "form"});
}

std::string asked_by(const Value& function) {
    std::string words;
    for (const Value& must : look_up_list(function, "must")) {
        words += (words.empty() ? "" : "; ") + look_up_text(must, "machine") + ": " + look_up_text(must, "must");
        if (const Value& within = look_up(must, "within_ms"); !is_null(within))
            words += " within " + tenths(within, Rounding::down) + " ms";
    }
    return words;
}

void functions(Sheet& sheet, const Dossier& d) {
    SheetTable table{.caption = "Safety functions that the rows are about",
                     .columns = {"No", "Safety function", "Guards, each alone", "Must", "Level", "Speed returns",
                                 "No. in the validation plan", "Level reached, by whom verified"},
                     .rows = {},
                     .look = "form"};
    for (const Value& function : look_up_list(d.acceptance, "functions")) {
        const std::string level = look_up_text(function, "level");
        table.rows.push_back({"F" + scalar_text(look_up(function, "no")), look_up_text(function, "name"),
                              joined(look_up_list(function, "safeguards"), ", "), asked_by(function),
                              level.empty() ? SheetCell::blank() : SheetCell(level), look_up_text(function, "returns"),
                              SheetCell::blank(), SheetCell::blank()});
    }
    if (table.rows.empty())
        sheet.blocks.emplace_back(SheetText{
            SheetText::Kind::strong,
            "Nothing states what the guards must do: the rows go by the wiring. Fill in the validation plan first."});
    else
        sheet.blocks.emplace_back(std::move(table));
}

void present(Sheet& sheet) {
    sheet.blocks.emplace_back(
        SheetTable{.caption = "Present",
                   .columns = {"Role", "Name", "Company", "Initials", "Role", "Name", "Company", "Initials"},
                   .rows = {{"Competent person", SheetCell::blank(), SheetCell::blank(), SheetCell::blank(),
                             "Second person, watches", SheetCell::blank(), SheetCell::blank(), SheetCell::blank()},
                            {"Operator of the plant", SheetCell::blank(), SheetCell::blank(), SheetCell::blank(),
                             "Called when a row fails", SheetCell::blank(), SheetCell::blank(), SheetCell::blank()}},
                   .look = "form halves"});
}

void seen_to(Sheet& sheet) {
    const auto two = [](const char* one, const char* other) {
        return Cells{one, SheetCell::blank(), SheetCell::blank(), other, SheetCell::blank(), SheetCell::blank()};
    };
    sheet.blocks.emplace_back(SheetTable{
        .caption = "Seen to, before the first row",
        .columns = {"What", "Done: how, or number", "Name", "What", "Done: how, or number", "Name"},
        .rows = {two("Zone barred and seen empty", "Emergency stop tried first"),
                 two("Lock-out for every row that touches a wire", "Settings saved, checksums noted"),
                 two("Instrument for times, date of calibration", "Instrument for speeds, date of calibration")},
        .look = "form halves"});
}

/// What nobody finds by these rows, so that nobody believes to have found it.
void cautions(Sheet& sheet, const Dossier& d) {
    SheetList list;
    std::string failing;
    for (const Value& row : look_up_list(d.acceptance, "rows")) {
        const Value& passes = look_up(row, "rehearsal_passes");
        if (is_null(passes) || passes.is_true()) continue;
        failing += (failing.empty() ? "" : ", ") + scalar_text(look_up(row, "no"));
    }
    if (!failing.empty())
        list.items.push_back("The plant as it is written down FAILS in the rehearsal, at row " + failing +
                             ": mend it before anybody goes to the machine.");
    for (const char* key : {"problems", "cautions"})
        for (const Value& text : look_up_list(d.plant, key))
            list.items.push_back(as_sentence(std::string(text.text())));
    for (const Value& text : look_up_list(d.plant, "undetectable"))
        list.items.push_back(
            as_sentence((d.links.empty() ? "No measure of this link sees: " : "No measure of a link sees: ") +
                        std::string(text.text())));
    if (!d.links.empty())
        list.items.emplace_back(
            "Not on this sheet, and to be added by the validation plan: broken wires, two guards at once, a guard that "
            "is free again, a station switched off, settings mistyped on purpose.");
    if (list.items.empty()) return;
    sheet.blocks.emplace_back(SheetHeading{.level = 3, .margin = {}, .text = "To bear in mind", .id = {}});
    sheet.blocks.emplace_back(std::move(list));
}

/// Of a cell each link has a row of its own, both its ends in it.
void found_at_links(Sheet& sheet, const Dossier& d) {
    SheetTable table{.caption = "Settings as found, each read at the end itself",
                     .columns = {"Link, and what", "at " + name_of_end(d, "controller"), "at its station",
                                 "By the plan, or the link sheet", "Equal, or fits?"},
                     .rows = {},
                     .look = "form"};
    for (const Dossier& link : d.links) {
        const std::string name = look_up_text(link.result, "link") + ": ";
        table.rows.push_back(line(name + "signature of the safety settings, as the maker's tool shows it", 4));
        table.rows.push_back(line(name + "network address, station name, and those of the other end", 4));
    }
    sheet.blocks.emplace_back(std::move(table));
}

void found(Sheet& sheet, const Dossier& d) {
    const std::string controller = name_of_end(d, "controller"), device = name_of_end(d, "device");
    const std::string machine = look_up_text(d.plant, "machine", "name");
    sheet.blocks.emplace_back(SheetHeading{.margin = "A", .text = "Found at the machine", .id = "found"});
    SheetTable parts{.caption = "Parts",
                     .columns = {"Part", "Maker, type", "Serial no.", "Software, version", "Firmware, version",
                                 "Checksum of the safety program", "Read by"},
                     .rows = {},
                     .look = "form"};
    for (const std::string& station : names_of_stations(d)) parts.rows.push_back(line(station, 6));
    if (d.links.empty()) parts.rows.push_back(line(machine.empty() ? "output" : "drive of the " + machine, 6));
    for (const Dossier& link : d.links)
        if (const std::string of = look_up_text(link.plant, "machine", "name"); !of.empty())
            parts.rows.push_back(line("drive of the " + of, 6));
    sheet.blocks.emplace_back(std::move(parts));
    if (!d.links.empty()) return found_at_links(sheet, d);
    sheet.blocks.emplace_back(SheetTable{
        .caption = "Settings as found, each read at the end itself",
        .columns = {"What", "at " + controller, "at " + device, "By the plan, or the link sheet", "Equal, or fits?"},
        .rows = {line("signature of the safety settings, as the maker's tool shows it", 4),
                 line("network address, mask, gateway", 4), line("station name", 4),
                 line("address and name of the other end, as entered here", 4),
                 line("module, slot, bytes in and out", 4)},
        .look = "form"});
}

}  // namespace

void add_acceptance_head(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.level = 1, .margin = {}, .text = "Acceptance sheet: " + title_of(d), .id = {}});
    document(sheet, d);
    functions(sheet, d);
    sheet.blocks.emplace_back(SheetHeading{.margin = "", .text = "Before you begin", .id = "before"});
    sheet.blocks.emplace_back(
        SheetText{SheetText::Kind::warning,
                  "Moving machine. Nobody may be in the zone while it can move. Measure from outside the barrier. Lock "
                  "out before a wire is touched. Failure to do so can kill."});
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::caution,
        "An unexpected stop may drop a load or throw a workpiece. Begin without a workpiece, and slowly where the "
        "machine can."});
    present(sheet);
    seen_to(sheet);
    cautions(sheet, d);
    found(sheet, d);
}

void add_deviations(Sheet& sheet) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "X", .text = "Deviations, each with its re-test", .id = "deviations"});
    SheetTable table{.caption = "What was not as a row asks",
                     .columns = {"No", "Row", "What was found", "What was changed, by whom", "Rows done again",
                                 "Re-test", "Name", "Date", "Signature"},
                     .rows = {},
                     .look = "form deviations"};
    for (unsigned i = 1; i <= deviations; ++i) {
        Cells cells = line(std::to_string(i), 4);
        cells.push_back({"P / F", SheetCell::Kind::choice});
        for (unsigned k = 0; k < 3; ++k) cells.push_back(SheetCell::blank());
        table.rows.push_back(std::move(cells));
    }
    sheet.blocks.emplace_back(std::move(table));
}

void add_distances(Sheet& sheet, const Dossier& d) {
    SheetTable table{.caption = "Distances measured on the floor, in mm",
                     .columns = {"Of", "At least", "In the scenario", "Measured", "Instrument no.", "Pass", "Name"},
                     .rows = {},
                     .look = "form"};
    const auto add = [&](const std::string& of, const Value& from) {
        const Value& needed = look_up(from, "needed_mm");
        if (is_null(needed)) return;
        table.rows.push_back({of,
                              SheetCell::number(tenths(needed, Rounding::up)),
                              SheetCell::number(tenths(look_up(from, "there_mm"), Rounding::down)),
                              SheetCell::blank(),
                              SheetCell::blank(),
                              {"P / F", SheetCell::Kind::choice},
                              SheetCell::blank()});
    };
    add("the guard of the scenario's distance", d.acceptance);
    for (const Value& function : look_up_list(d.acceptance, "functions")) {
        const std::string from = look_up_text(function, "distance_from");
        add("F" + scalar_text(look_up(function, "no")) + ", " + joined(look_up_list(function, "safeguards"), ", ") +
                (from.empty() ? "" : ": " + from),
            function);
    }
    if (!table.rows.empty()) sheet.blocks.emplace_back(std::move(table));
}

void add_closing(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "Z", .text = "Closing", .id = "closing", .page = SheetHeading::Page::together});
    SheetTable table{.caption = "Before the machine is handed over",
                     .columns = {"What", "Must be", "Found", "Name"},
                     .rows = {},
                     .look = "form closing"};
    const auto must = [&](std::string what, SheetCell what_must) {
        table.rows.push_back({std::move(what), std::move(what_must), SheetCell::blank(), SheetCell::blank()});
    };
    must("Every row undone, every deviation tested again", "all, each seen by another");
    for (const std::string& station : names_of_stations(d))
        must("Signature of the safety settings read again at " + station, "as found before the first row");
    must("Rows not done, and why", SheetCell("-"));
    must("Remarks", SheetCell("-"));
    sheet.blocks.emplace_back(std::move(table));
    sheet.blocks.emplace_back(
        SheetTable{.caption = "Signatures",
                   .columns = {"Who", "Name", "Date", "Signature"},
                   .rows = {line("Competent person", 3), line("Second person", 3), line("Operator of the plant", 3)},
                   .look = "form closing"});
}

}  // namespace tools
