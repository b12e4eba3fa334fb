// The report of a cell: what comes first is about all its links, then each link has an entry of its own.
#include <algorithm>
#include <utility>
#include <variant>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using Row = std::vector<SheetCell>;

SheetCell up(const Value& value) { return SheetCell::number(tenths(value, Rounding::up)); }
SheetCell down(const Value& value) { return SheetCell::number(tenths(value, Rounding::down)); }
SheetCell count(const Value& value) { return SheetCell::number(scalar_text(value)); }

std::string name_of_link(const Dossier& link) { return look_up_text(link.result, "link"); }

/// By whatever measure.
SheetCell rejected_at(const Dossier& link, std::string_view end) {
    double sum = 0;
    if (const Value::Object* by_measure = look_up(link.result, "ends", end, "rejected").object())
        for (const Value::Member& one : *by_measure) sum += number_of(one.value).value_or(0);
    return SheetCell::number(grouped(count_of(sum)));
}

/// A link to whose entry: "link-2".
std::string id_of(std::size_t link) { return "link-" + std::to_string(link + 1); }

void verdict(Sheet& sheet, const Dossier& d) {
    const std::string word = look_up_text(d.result, "verdict");
    const Value& counts = look_up(d.result, "counts");
    const auto told = [&](const char* key) { return scalar_text(look_up(counts, key)); };
    sheet.blocks.emplace_back(SheetHeading{.level = 1, .margin = {}, .text = title_of(d), .id = {}});
    std::string sentence = std::to_string(d.links.size()) + " links at one controller. ";
    if (!look_up(d.result, "link_started").is_true())
        sentence += "NOT EVERY LINK RAN, and nothing about one that never did was rehearsed. ";
    sentence +=
        told("injected") + " injected, " + told("as_expected") + " as expected, " + told("dangerous") + " dangerous.";
    if (told("not_fired") != "0") sentence += " " + told("not_fired") + " did not come to act.";
    if (!look_up(d.result, "as_expected").is_true())
        sentence += " This is not what the scenario expects.";
    else if (word != "pass")
        sentence += " The scenario expects this, to show what its links cannot do.";
    if (const std::string trials = campaign_in_words(d.campaign); !trials.empty()) sentence += " Campaign: " + trials;
    const bool limited = link_only(d);
    if (limited) sentence = "Nothing states what the guards must do. " + sentence;
    sheet.blocks.emplace_back(
        SheetVerdict{word_of_verdict(word) + (limited ? ", links only" : ""), mark_of_verdict(word), sentence});
    sheet.blocks.emplace_back(SheetText{SheetText::Kind::strong,
                                        "Rehearsed on a desk. It does not replace the measurements on the machine."});
}

/// Whose machine is whose, and what each link did: the figures by which one of them stands out.
void links(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "1", .text = "Links", .id = "links"});
    SheetTable table{.caption = "Each link: how it is set, and what it did in the run",
                     .columns = {"Link", "Station, its machine", "Exchange", "Cycle, watchdogs", "Stops", "For nothing",
                                 "Rejected at the controller", "Rejected at the station", "Oldest value used (ms)",
                                 "By the settings (ms)", "Required (ms)", "Ends alike?"},
                     .rows = {},
                     .look = "links"};
    for (const Dossier& link : d.links) {
        const bool ran = look_up(link.result, "link_started").is_true();
        const bool alike = !look_up_text(link.plant, "signature").empty();
        const std::string machine = look_up_text(link.plant, "machine", "name");
        const Value& response = look_up(link.result, "response");
        table.rows.push_back({{name_of_link(link), SheetCell::Kind::text, ran ? Mark::none : Mark::stopped},
                              name_of_end(link, "device") + (machine.empty() ? "" : ", drives the " + machine),
                              look_up_text(link.plant, "exchange"),
                              settings_of_link(link),
                              count(look_up(link.result, "stops")),
                              {scalar_text(look_up(link.result, "spurious_trips")), SheetCell::Kind::number},
                              rejected_at(link, "controller"),
                              rejected_at(link, "device"),
                              up(look_up(response, "worst_seen_ms")),
                              down(look_up(response, "bound_ms")),
                              down(look_up(response, "required_ms")),
                              !ran    ? SheetCell{"NEVER RAN", SheetCell::Kind::text, Mark::stopped}
                              : alike ? SheetCell{"alike"}
                                      : SheetCell{"NO", SheetCell::Kind::text, Mark::stopped}});
    }
    sheet.blocks.emplace_back(std::move(table));
}

/// Of the trials over all links together or, with a name, over that link alone.
void dangers_of_campaign(const Value& campaign, const std::string& link_alone, std::vector<Row>& rows) {
    for (const Value& event : look_up_list(campaign, "dangerous")) {
        const std::string struck = look_up_text(event, "link");
        const std::string of = !link_alone.empty() ? "campaign of link " + link_alone
                               : struck.empty()    ? "campaign, all links"
                                                   : "campaign, link " + struck;
        rows.push_back(
            {{of + ", trial " + scalar_text(look_up(event, "trial")), SheetCell::Kind::text, Mark::dangerous},
             SheetCell::number("-"),
             look_up_text(event, "error") + ": " + look_up_text(event, "why"),
             look_up_text(event, "repeat")});
    }
    const std::string more = scalar_text(look_up(campaign, "dangerous_not_listed"));
    if (more.empty() || more == "0") return;
    rows.push_back(
        {{link_alone.empty() ? "campaign" : "campaign of link " + link_alone, SheetCell::Kind::text, Mark::dangerous},
         SheetCell::number("-"),
         more + " more, which are not listed",
         "-"});
}

void dangers(Sheet& sheet, const Dossier& d) {
    std::vector<Row> rows;
    dangers_of_campaign(d.campaign, {}, rows);
    for (const Dossier& link : d.links) {
        const Value::List& events = look_up_list(link.result, "dangerous");
        if (!events.empty()) {
            std::string why = look_up_text(events.front(), "why");
            if (events.size() > 1) why += "; " + std::to_string(events.size() - 1) + " more";
            rows.push_back({{"link " + name_of_link(link), SheetCell::Kind::text, Mark::dangerous},
                            SheetCell::number(seconds(look_up_number(events.front(), "at_ms"))),
                            why,
                            repeat_of(d)});
        }
        dangers_of_campaign(link.campaign, name_of_link(link), rows);
        if (look_up_number(link.endurance, "dangerous").value_or(0) > 0)
            rows.push_back({{"endurance of link " + name_of_link(link), SheetCell::Kind::text, Mark::dangerous},
                            SheetCell::number("-"),
                            scalar_text(look_up(link.endurance, "dangerous")) + " in " +
                                scalar_text(look_up(link.endurance, "years")) + " years",
                            "-"});
    }
    if (rows.empty()) return;
    sheet.blocks.emplace_back(SheetHeading{.margin = "2", .text = "Dangerous outcomes", .id = "dangers"});
    sheet.blocks.emplace_back(SheetTable{.caption = "Dangerous outcomes, each with what repeats it",
                                         .columns = {"Where", "At (s)", "Why", "Repeat"},
                                         .rows = std::move(rows)});
}

std::string became_of(const Value& machine, const Value& stands, const Value& reduced, const Value& allowed) {
    std::string text = look_up_text(machine, "machine");
    if (!is_null(stands))
        text += " stood after " + tenths(stands, Rounding::up);
    else if (!is_null(reduced))
        text += " slow after " + tenths(reduced, Rounding::up);
    else
        return text + (look_up(machine, "moved").is_true() ? " ran on" : " stood already");
    if (!is_null(allowed)) text += " of " + tenths(allowed, Rounding::down);
    return text + " ms";
}

/// What it did to the link's own machine and to those of other links, a machine a line.
SheetCell machines_of(const Dossier& link, const Value& injection) {
    std::string text;
    bool late = false;
    const std::string own = look_up_text(link.plant, "machine", "name");
    const Value &stands = look_up(injection, "standstill_ms"), &reduced = look_up(injection, "reduced_ms");
    if (!own.empty() && (!is_null(stands) || !is_null(reduced)))
        text = became_of(Value::Object{{"machine", own}}, stands, reduced, look_up(injection, "allowed_ms"));
    if (!own.empty() && !look_up(injection, "within_limit").is_true()) late = true;
    for (const Value& machine : look_up_list(injection, "machines")) {
        text += (text.empty() ? "" : "; ") + became_of(machine, look_up(machine, "standstill_ms"),
                                                       look_up(machine, "reduced_ms"), look_up(machine, "allowed_ms"));
        if (look_up(machine, "within_limit").is_true()) continue;
        late = true;
        text += ": " + look_up_text(machine, "why");
    }
    if (late) text = "TOO LATE. " + text;
    return {or_dash(text), SheetCell::Kind::text, late ? Mark::dangerous : Mark::none};
}

Row injection_row(const Dossier& link, const Value& i) {
    const std::string outcome = look_up_text(i, "outcome"), direction = look_up_text(i, "direction"),
                      end = look_up_text(i, "detected_end");
    std::string as_expected = yes_or_no(look_up(i, "as_expected"));
    if (const std::string why = look_up_text(i, "why"); !why.empty()) as_expected += ": " + why;
    std::string caught = or_dash(word_for_measure(look_up_text(i, "detected_by")));
    if (!end.empty()) caught += " at " + name_of_end(link, end);
    const std::string way = direction == "to-device"       ? "C>D"
                            : direction == "to-controller" ? "D>C"
                            : direction.empty()            ? "at " + look_up_text(i, "at_end")
                                                           : direction;
    return {name_of_link(link) + " " + scalar_text(look_up(i, "id")),
            SheetCell::number(seconds(look_up_number(i, "at_ms"))),
            look_up_text(i, "words"),
            way,
            {word_for_outcome(outcome), SheetCell::Kind::text, mark_of_outcome(outcome)},
            caught,
            up(look_up(i, "detect_ms")),
            up(look_up(i, "safe_state_ms", "controller")),
            up(look_up(i, "safe_state_ms", "device")),
            machines_of(link, i),
            or_dash(look_up_text(i, "expected")),
            as_expected};
}

void injections(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(SheetHeading{.margin = "3", .text = "Injections, by link", .id = "injections"});
    SheetTable table{.caption = "What was injected into which link, what caught it, and what became of the machines",
                     .columns = {"Link, no", "At (s)", "What, how and where", "Way", "Outcome", "Caught by",
                                 "Caught after (ms)", "Controller safe after (ms)", "Station safe after (ms)",
                                 "Machines, from the injection", "Expected", "As expected?"},
                     .rows = {},
                     .look = "dense few"};
    for (const Dossier& link : d.links)
        for (const Value& injection : look_up_list(link.result, "injections"))
            table.rows.push_back(injection_row(link, injection));
    if (table.rows.empty()) {
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::plain, "Nothing was injected."});
        return;
    }
    std::stable_partition(table.rows.begin(), table.rows.end(),
                          [](const Row& row) { return row[4].mark == Mark::dangerous; });
    sheet.blocks.emplace_back(std::move(table));
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::soft,
        "C>D: from " + name_of_end(d, "controller") +
            " to the link's station; D>C: back. A fault of the controller stands there once for each link. Everything "
            "\"after\" counts from the injection. Allowed times are calculated from the settings, over all links "
            "between."});
}

void left_to_do(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(
        SheetHeading{.margin = "6", .text = "What must still be done on the machine", .id = "left-to-do"});
    sheet.blocks.emplace_back(
        SheetText{SheetText::Kind::plain, std::to_string(look_up_list(d.acceptance, "rows").size()) +
                                              " acts of the acceptance test, each with what must be seen and what is "
                                              "allowed over its whole way."});
    sheet.blocks.emplace_back(SheetLink{"To fill in on the floor:", "acceptance sheet", "acceptance_sheet.html"});
    for (std::size_t i = 0; i < d.links.size(); ++i)
        sheet.blocks.emplace_back(SheetLink{"What to type at both ends of link " + name_of_link(d.links[i]) + ":",
                                            "link sheet", "link_sheet_" + std::to_string(i + 1) + ".html"});
}

/// An entry of one link: its sections are made as those of a report about it alone, one level down.
void entry_of(Sheet& sheet, const Dossier& link, std::size_t number) {
    const std::string behind = "-" + std::to_string(number + 1);
    Sheet own{.title = {}, .blocks = {}};
    add_settings(own, link);
    add_time_line(own, link);
    add_campaign(own, link);
    add_watchdog(own, link);
    add_residual_of_link(own, link);
    sheet.blocks.emplace_back(SheetHeading{.margin = {}, .text = "Link " + name_of_link(link), .id = id_of(number)});
    SheetList lines;
    for (const Value& line : look_up_list(link.plant, "lines")) lines.items.emplace_back(line.text());
    sheet.blocks.emplace_back(std::move(lines));
    for (SheetBlock& block : own.blocks) {
        if (SheetHeading* heading = std::get_if<SheetHeading>(&block)) {
            heading->level = 3;
            heading->margin.clear();
            heading->id += behind;
            heading->page = SheetHeading::Page::same;
        }
        if (SheetChart* chart = std::get_if<SheetChart>(&block); chart != nullptr && number != 0) chart->name += behind;
        sheet.blocks.push_back(std::move(block));
    }
}

}  // namespace

Sheet report_of_cell(const Dossier& d) {
    Sheet sheet{.title = title_of(d) + ": rehearsal report", .blocks = {}};
    verdict(sheet, d);
    add_functions(sheet, d);
    add_plant(sheet, d);
    links(sheet, d);
    dangers(sheet, d);
    injections(sheet, d);
    add_guards(sheet, d);
    add_campaign(sheet, d);
    add_cautions(sheet, d);
    left_to_do(sheet, d);
    sheet.blocks.emplace_back(SheetHeading{.margin = "7", .text = "Plant", .id = "plant"});
    SheetList list;
    for (const Value& line : look_up_list(d.plant, "lines")) list.items.emplace_back(line.text());
    sheet.blocks.emplace_back(std::move(list));
    if (const std::string shows = look_up_text(d.plant, "shows"); !shows.empty())
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::soft, "The scenario shows: " + shows});
    add_response(sheet, d);
    for (std::size_t i = 0; i < d.links.size(); ++i) entry_of(sheet, d.links[i], i);
    Dossier telegrams = d.links.front();
    telegrams.residual = d.residual;
    telegrams.measures = d.measures;
    telegrams.link_residual = Value();
    add_of_profile(sheet, telegrams);
    add_end(sheet, d);
    return sheet;
}

}  // namespace tools
