// Sections 12 and 13 of the report: residual error, and which measure catches which error.
#include <algorithm>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

SheetCell met_cell(const Value& met, const std::string& why) {
    if (is_null(met)) return {"not judged", SheetCell::Kind::text, Mark::unknown};
    if (met.is_true()) return {"yes", SheetCell::Kind::text, Mark::running};
    return {"NO: " + why, SheetCell::Kind::text, Mark::stopped};
}

/// Of both receivers of the link, by the level of its functions.
void residual_of_link(Sheet& sheet, const Value& r) {
    if (is_null(r)) return;
    const std::string function = look_up_text(r, "function");
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::plain,
        (function.empty() ? "The link claims " : "\"" + function + "\" asks for the highest level over this link, ") +
            look_up_text(r, "level") + ". Per link, and for the sum over all links (here one), its share is " +
            figure(look_up_number(r, "share_per_hour")) + " an hour: " + look_up_text(r, "share_source") + "."});
    SheetTable table{.caption = "Residual error rate of the link, both receivers added up",
                     .columns = {"Method", "Source, confidence", "Rate per hour", "Share per hour", "Kept?"},
                     .rows = {}};
    for (const Value& m : look_up_list(r, "sum"))
        table.rows.push_back({look_up_text(m, "name"), look_up_text(m, "source") + "; " + look_up_text(m, "confidence"),
                              SheetCell::number(figure(look_up_number(m, "rate_per_hour"))),
                              SheetCell::number(figure(look_up_number(m, "share_per_hour"))),
                              met_cell(look_up(m, "met"), look_up_text(m, "why"))});
    sheet.blocks.emplace_back(std::move(table));
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::soft, "These are " + look_up_text(r, "left_out") + "."});
}

void residual(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "12", .text = "Residual error", .id = "residual"});
    residual_of_link(sheet, d.link_residual);
    const Value& r = d.residual;
    if (is_null(r)) {
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::soft,
                                            "Not reckoned yet. It is by linkdrill residual with the telegram's profile "
                                            "and the folder of this report as "
                                            "--out, and then linkdrill report. The scenario uses the profile " +
                                                look_up_text(d.plant, "profile", "name") + "."});
        return;
    }
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::plain, "Telegram " + look_up_text(r, "name") + ": CRC of " + scalar_text(look_up(r, "width")) +
                                    " bits, polynomial " + look_up_text(r, "polynomial") + ", " +
                                    scalar_text(look_up(r, "data_bits")) + " protected bits. Hamming distance " +
                                    (look_up(r, "hd_is_bound").is_true() ? "at least " : "") +
                                    scalar_text(look_up(r, "hd")) + ". Largest residual error " +
                                    figure(look_up_number(r, "maximum", "value")) +
                                    " at p = " + figure(look_up_number(r, "maximum", "p")) + "."});
    sheet.blocks.emplace_back(
        SheetChart{"residual", "Residual error R over the bit error rate p",
                   "Both axes by powers of ten. The exact line and the customary estimate by 2 to the power of -r "
                   "lie apart where the estimate is too low."});
    SheetTable rates{.caption = "Residual error at bit error rates",
                     .columns = {"Bit error rate", "R exact", "R by 2^-r", "Factor"},
                     .rows = {}};
    for (const Value& row : look_up_list(r, "residual")) {
        const auto value = look_up_number(row, "value");
        const std::string exact =
            value ? figure(value)
                  : figure(look_up_number(row, "at_least")) + " to " + figure(look_up_number(row, "at_most"));
        rates.rows.push_back({SheetCell::number(figure(look_up_number(row, "p"))), SheetCell::number(exact),
                              SheetCell::number(figure(look_up_number(row, "customary"))),
                              SheetCell::number(figure(look_up_number(row, "factor")))});
    }
    sheet.blocks.emplace_back(std::move(rates));
    const Value::List& methods = look_up_list(r, "methods");
    if (methods.empty()) return;
    sheet.blocks.emplace_back(SheetChart{"methods", "Rate of undetected errors an hour, by method, against the share",
                                         "Each method's rate beside the share of the claimed level that one link may "
                                         "use up, as an ink line. By powers of ten."});
    SheetTable table{.caption = "Methods for the rate of undetected errors",
                     .columns = {"Method", "Source, confidence", "Rate per hour", "Share per hour", "Met?"},
                     .rows = {}};
    for (const Value& m : methods)
        table.rows.push_back({look_up_text(m, "name"), look_up_text(m, "source") + "; " + look_up_text(m, "confidence"),
                              SheetCell::number(figure(look_up_number(m, "rate_per_hour"))),
                              SheetCell::number(figure(look_up_number(m, "share_per_hour"))),
                              met_cell(look_up(m, "met"), look_up_text(m, "why"))});
    sheet.blocks.emplace_back(std::move(table));
}

std::string published(const Value& cell, const std::vector<std::string>& sources, std::size_t which) {
    if (which >= sources.size()) return "-";
    const Value& said = look_up(cell, "published", std::string_view(sources[which]));
    return is_null(said) ? "-" : said.is_true() ? "yes" : "no";
}

/// What one measure alone did with one error.
SheetCell caught(const Value& cell) {
    const std::string share = look_up_text(cell, "caught");
    const bool any = look_up(cell, "simulated").is_true();
    if (share == "all" || (share.empty() && any)) return {"catches", SheetCell::Kind::text, Mark::running};
    return any ? SheetCell{"some", SheetCell::Kind::text, Mark::starting} : SheetCell{"no"};
}

/// Errors down, measures across.
void matrix(Sheet& sheet, const std::vector<const Value*>& cells) {
    std::vector<std::string> errors, measures;
    const auto note = [](std::vector<std::string>& names, const std::string& name) {
        if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
    };
    for (const Value* cell : cells) {
        note(errors, look_up_text(*cell, "error"));
        note(measures, look_up_text(*cell, "measure"));
    }
    SheetTable table{.caption = "Which measure alone catches which error, as simulated",
                     .columns = {"Error"},
                     .rows = {},
                     .look = "dense",
                     .narrow = SheetTable::Narrow::scroll};
    for (const std::string& measure : measures) table.columns.push_back(word_for_measure(measure));
    for (const std::string& error : errors) {
        std::vector<SheetCell> row{error};
        for (const std::string& measure : measures) {
            SheetCell found{"-"};
            for (const Value* cell : cells)
                if (look_up_text(*cell, "error") == error && look_up_text(*cell, "measure") == measure)
                    found = caught(*cell);
            row.push_back(found);
        }
        table.rows.push_back(std::move(row));
    }
    sheet.blocks.emplace_back(std::move(table));
}

/// Beside what is published, cell by cell.
void beside_published(Sheet& sheet, const Value& document, const std::vector<const Value*>& cells) {
    std::vector<std::string> sources;
    if (const Value::Object* said = look_up(*cells.front(), "published").object())
        for (const Value::Member& source : *said) sources.push_back(source.key);
    SheetTable table{.caption = "Simulated beside published",
                     .columns = {"Error", "Measure", "Trials", "Caught", "Simulated"},
                     .rows = {},
                     .look = "dense",
                     .narrow = SheetTable::Narrow::scroll};
    for (const std::string& source : sources) table.columns.push_back(source);
    table.columns.insert(table.columns.end(), {"Agrees?", "Why not"});
    for (const Value* cell : cells) {
        std::vector<SheetCell> row{look_up_text(*cell, "error"), word_for_measure(look_up_text(*cell, "measure")),
                                   SheetCell::number(scalar_text(look_up(*cell, "trials"))),
                                   SheetCell::number(scalar_text(look_up(*cell, "detected"))),
                                   look_up(*cell, "simulated").is_true() ? "yes" : "no"};
        for (std::size_t i = 0; i < sources.size(); ++i) row.emplace_back(published(*cell, sources, i));
        row.emplace_back(yes_or_no(look_up(*cell, "agrees")));
        row.emplace_back(or_dash(look_up_text(*cell, "why")));
        table.rows.push_back(std::move(row));
    }
    sheet.blocks.emplace_back(std::move(table));
    std::string references;
    for (const Value& reference : look_up_list(document, "references"))
        references += (references.empty() ? "Published: " : "; ") + look_up_text(reference, "reference");
    if (!references.empty()) sheet.blocks.emplace_back(SheetText{SheetText::Kind::soft, as_sentence(references)});
}

/// Without a study of the measures: this run's own share of it.
void caught_in_run(Sheet& sheet, const Dossier& d) {
    SheetTable table{.caption = "Which measure caught which error in this run",
                     .columns = {"Error", "Injection", "Caught by"},
                     .rows = {}};
    for (const Value& i : look_up_list(d.result, "injections")) {
        const std::string by = look_up_text(i, "detected_by");
        std::string error = look_up_text(i, "error");
        if (error.empty()) error = look_up_text(i, "fault");
        table.rows.push_back(
            {error, SheetCell::number(scalar_text(look_up(i, "id"))), by.empty() ? "nobody" : word_for_measure(by)});
    }
    if (table.rows.empty())
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::plain, "Nothing was injected, so nothing was caught."});
    else
        sheet.blocks.emplace_back(std::move(table));
}

void measures(Sheet& sheet, const Dossier& d) {
    // of the exchange that this link uses; the study may have tried others
    const std::string exchange = look_up_text(d.plant, "exchange");
    std::vector<const Value*> cells;
    for (const Value& cell : look_up_list(d.measures, "cells")) {
        const std::string of_cell = look_up_text(cell, "exchange");
        if (of_cell.empty() || of_cell == exchange) cells.push_back(&cell);
    }
    // a page across for the study's wide tables only; the few lines of one run would leave it empty
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "13",
                     .text = "Errors and measures",
                     .id = "measures",
                     .page = cells.empty() ? SheetHeading::Page::same : SheetHeading::Page::next_wide});
    if (cells.empty()) return caught_in_run(sheet, d);
    matrix(sheet, cells);
    beside_published(sheet, d.measures, cells);
}

}  // namespace

void add_of_profile(Sheet& sheet, const Dossier& dossier) {
    if (!is_null(dossier.residual)) residual(sheet, dossier);
    if (!is_null(dossier.measures)) measures(sheet, dossier);
}

void add_residual_of_link(Sheet& sheet, const Dossier& dossier) {
    if (is_null(dossier.link_residual)) return;
    sheet.blocks.emplace_back(SheetHeading{.margin = "12", .text = "Residual error", .id = "residual"});
    residual_of_link(sheet, dossier.link_residual);
}

void add_errors(Sheet& sheet, const Dossier& dossier) {
    residual(sheet, dossier);
    measures(sheet, dossier);
}

}  // namespace tools
