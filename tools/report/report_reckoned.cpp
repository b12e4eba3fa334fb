// Sections 10 and 11 of the report: response and distance, the watchdog window; with the years of an endurance test.
#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

using Row = std::vector<SheetCell>;

SheetCell up(const Value& value) { return SheetCell::number(tenths(value, Rounding::up)); }
SheetCell down(const Value& value) { return SheetCell::number(tenths(value, Rounding::down)); }

/// Where a command has left nothing yet.
void missing(Sheet& sheet, const Dossier& d, const std::string& command) {
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::soft,
                                        "Not reckoned yet. It is, with the folder of this report as "
                                        "--out, and then linkdrill report, by:"});
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::command, "linkdrill " + command + " " + file_and_link_of(d)});
}

}  // namespace

void add_response(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = d.links.empty() ? "10" : "8", .text = "Response and distance", .id = "response"});
    const Value& r = d.response;
    if (is_null(r)) return missing(sheet, d, "response");
    const std::string why = look_up_text(r, "why");
    if (!is_null(look_up(r, "met")))
        sheet.blocks.emplace_back(
            SheetVerdict{look_up(r, "met").is_true() ? "MET" : "NOT MET",
                         look_up(r, "met").is_true() ? Mark::running : Mark::stopped,
                         why.empty() ? "Everything that the scenario requires is kept." : as_sentence(why)});
    SheetTable parts{
        .caption = "From the demand on " + or_dash(look_up_text(r, "safeguard")) + " to the output command",
        .columns = {"Part", "No fault (ms)", "One fault (ms)", "Source of the value"},
        .rows = {}};
    for (const Value& part : look_up_list(r, "parts"))
        parts.rows.push_back({look_up_text(part, "name"), up(look_up(part, "delay_ms")),
                              up(look_up(part, "watchdog_ms")), look_up_text(part, "source")});
    sheet.blocks.emplace_back(std::move(parts));
    const Value& distance = look_up(r, "distance");
    const std::string edition =
        is_null(distance) ? "-"
                          : "ISO 13855:" + look_up_text(distance, "edition") + ", " + look_up_text(distance, "case");
    sheet.blocks.emplace_back(SheetTable{
        .caption = "What it adds up to",
        .columns = {"Response (ms)", "Stopping (ms)", "Overall (ms)", "Edition and case", "Formula with numbers",
                    "Needed (mm)", "There (mm)", "Spare (mm)"},
        .rows = {{up(look_up(r, "response_ms")), up(look_up(r, "stopping_ms")), up(look_up(r, "overall_ms")), edition,
                  or_dash(look_up_text(distance, "formula")), up(look_up(distance, "needed_whole_mm")),
                  down(look_up(r, "there_mm")), down(look_up(r, "spare_mm"))}}});
    const Value& link = look_up(r, "link");
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::plain, "The link alone: calculated worst " + tenths(look_up(link, "bound_ms"), Rounding::up) +
                                    " ms; the longest of " + figure(look_up_number(link, "placings")) +
                                    " placings simulated took " + tenths(look_up(link, "worst_seen_ms"), Rounding::up) +
                                    " ms: " + or_dash(look_up_text(link, "worst_placing")) +
                                    ". Longest watchdog that keeps what is required: " +
                                    tenths(look_up(r, "longest_watchdog_ms"), Rounding::down) + " ms."});
}

namespace {

std::string odds_text(const Value& value, const char* otherwise) {
    const auto number = number_of(value);
    if (!number) return otherwise;
    return *number == 0.0 ? "0" : figure(number);
}

/// The headline: one value of the document says it everywhere.
SheetVerdict window_verdict(const Value& w) {
    const Value& window = look_up(w, "window");
    const std::string why = look_up_text(w, "why");
    if (look_up(w, "cannot_be_told").is_true()) return {"CANNOT BE TOLD", Mark::unknown, why};
    if (is_null(window)) return {"NO USABLE WATCHDOG", Mark::stopped, why};
    const bool ideal = look_up(w, "ideal_channel").is_true();
    const Value& suggested = look_up(window, "suggested_ms");
    const Value& to = look_up(window, "to_ms");
    return {(ideal ? "ON AN IDEAL CHANNEL ONLY, USABLE FROM " : "USABLE FROM ") +
                tenths(look_up(window, "from_ms"), Rounding::up) + " ms" +
                (is_null(to) ? "" : " TO " + tenths(to, Rounding::down) + " ms"),
            ideal ? Mark::unknown : Mark::running,
            (is_null(suggested) ? "" : "Suggested " + tenths(suggested, Rounding::down) + " ms. ") + why};
}

void add_openers(Sheet& sheet, const Value& w) {
    const Value::List& openers = look_up_list(w, "openers");
    if (openers.empty()) return;
    const bool not_told = look_up(w, "cannot_be_told").is_true();
    SheetTable table{.caption = not_told ? "What would tell" : "Any one of these opens a window",
                     .columns = {not_told ? "By" : "Change", not_told ? "What" : "To"},
                     .rows = {}};
    for (const Value& opener : openers)
        table.rows.push_back({look_up_text(opener, "change"), look_up_text(opener, "value")});
    sheet.blocks.emplace_back(std::move(table));
}

SheetTable watchdogs_tried(const Value& w) {
    SheetTable table{.caption = "Watchdog times tried",
                     .columns = {"Watchdog (ms)", "Stops for nothing a year", "from", "to", "Method", "Overall (ms)",
                                 "Needed (mm)", "Usable, or why not"},
                     .rows = {},
                     .look = "dense",
                     .narrow = SheetTable::Narrow::scroll};
    for (const Value& p : look_up_list(w, "points")) {
        const bool usable = look_up(p, "usable").is_true();
        const bool told = !is_null(look_up(p, "usable"));
        std::string words = look_up_text(p, "why");
        if (words.empty()) words = usable ? "yes" : "no";
        table.rows.push_back({SheetCell::number(tenths(look_up(p, "watchdog_ms"), Rounding::down)),
                              SheetCell::number(odds_text(look_up(p, "trips_per_year"), "not claimed")),
                              SheetCell::number(odds_text(look_up(p, "low"), "-")),
                              SheetCell::number(odds_text(look_up(p, "high"), "no bound")),
                              look_up_text(p, "method"),
                              up(look_up(p, "overall_ms")),
                              up(look_up(p, "needed_mm")),
                              {words, SheetCell::Kind::text,
                               !told    ? Mark::unknown
                               : usable ? Mark::running
                                        : Mark::stopped}});
    }
    return table;
}

/// Where measured neighbours depend on each other the odds are those of the worse of two models.
void add_models(Sheet& sheet, const Value& w) {
    bool in_blocks = false;
    for (const Value& point : look_up_list(w, "points")) in_blocks = in_blocks || !is_null(look_up(point, "models"));
    if (!in_blocks) return;
    const auto from = [](const Value& lowest) {
        return is_null(lowest) ? std::string("none usable") : "usable from " + tenths(lowest, Rounding::up) + " ms";
    };
    const Value& neighbours = look_up(w, "neighbours");
    sheet.blocks.emplace_back(
        SheetText{SheetText::Kind::plain,
                  "The measured times depend on their neighbours, so each row is the worse of two "
                  "models: each delay drawn alone, " +
                      from(look_up(neighbours, "from_alone_ms")) + "; in blocks as they were measured, " +
                      from(look_up(neighbours, "from_in_blocks_ms")) + "."});
}

void watchdog(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "11", .text = "Watchdog window", .id = "watchdog"});
    const Value& w = d.watchdog;
    if (is_null(w)) return missing(sheet, d, "watchdog");
    sheet.blocks.emplace_back(window_verdict(w));
    add_openers(sheet, w);
    sheet.blocks.emplace_back(
        SheetChart{"watchdog", "Stops for nothing and distance needed, over the watchdog",
                   "A longer watchdog stops the plant for nothing less often, and needs more distance. Ink lines: the "
                   "limit of stops a year, and the distance at hand; dotted: what is set; the hatched part is usable. "
                   "A line up from a point reaches to what may be at most; an open point is not known, or no more than "
                   "a bound.",
                   SheetChart::Tools::none, SheetChart::Made::drawing});
    add_models(sheet, w);
    sheet.blocks.emplace_back(watchdogs_tried(w));
}

void endurance(Sheet& sheet, const Dossier& d) {
    const Value& e = d.endurance;
    if (is_null(e)) return;
    sheet.blocks.emplace_back(SheetHeading{.level = 3, .margin = {}, .text = "Years simulated", .id = {}});
    sheet.blocks.emplace_back(
        SheetTable{.caption = "Stops for nothing in simulated years, with background losses and errors only",
                   .columns = {"Years", "Cycles", "At " + name_of_end(d, "controller"),
                               "At " + name_of_end(d, "device"), "A year", "from", "to", "Dangerous"},
                   .rows = {{SheetCell::number(figure(look_up_number(e, "years"))),
                             SheetCell::number(figure(look_up_number(e, "cycles"))),
                             SheetCell::number(scalar_text(look_up(e, "spurious_trips", "controller"))),
                             SheetCell::number(scalar_text(look_up(e, "spurious_trips", "device"))),
                             SheetCell::number(figure(look_up_number(e, "per_year"))),
                             SheetCell::number(figure(look_up_number(e, "low"))),
                             SheetCell::number(figure(look_up_number(e, "high"))),
                             SheetCell::number(scalar_text(look_up(e, "dangerous")))}}});
}

}  // namespace

void add_watchdog(Sheet& sheet, const Dossier& dossier) {
    watchdog(sheet, dossier);
    endurance(sheet, dossier);
}

void add_reckoned(Sheet& sheet, const Dossier& dossier) {
    add_response(sheet, dossier);
    add_watchdog(sheet, dossier);
}

}  // namespace tools
