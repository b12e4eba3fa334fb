// Section 7 of the report: what each demand of a guard showed; and near its top what that comes to for each function.
#include <algorithm>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {
namespace {

using Row = std::vector<SheetCell>;

constexpr std::size_t rows_shown = 400;

SheetCell up(const Value& value) { return SheetCell::number(tenths(value, Rounding::up)); }
SheetCell down(const Value& value) { return SheetCell::number(tenths(value, Rounding::down)); }

SheetCell met_cell(const Value& met) { return {word_for_met(met), SheetCell::Kind::text, mark_of_met(met)}; }

std::string did_in_words(const Value& demand) {
    const std::string did = look_up_text(demand, "machine_did");
    // of several links each machine is told by its name
    const Value::List& hops = look_up_list(demand, "hops");
    const bool several = !hops.empty() && !look_up_text(hops.front(), "link").empty();
    const std::string name = several ? look_up_text(demand, "machine") : "";
    const std::string who = name.empty() ? "" : name + " ";
    if (did == "stopped") return who + "stops";
    if (did == "slowed") return who + "slows";
    if (did == "ran-on") return who + "ran on";
    if (did == "stood") return who + "stood already";
    return "-";
}

/// A demand that nothing obeys, or that did not keep its function.
bool is_bad(const Value& demand) {
    const Value& met = look_up(demand, "met");
    if (is_null(met)) return !look_up(demand, "reaches_output").is_true();
    return word_for_met(met) == "NOT MET";
}

std::string function_and_why(const Value& demand) {
    const std::string function = look_up_text(demand, "function"), why = look_up_text(demand, "why");
    if (function.empty()) return why.empty() ? "-" : as_sentence(why);
    return why.empty() ? function : function + ": " + why;
}

/// The table's columns: those of a demand, between them those of a hop.
std::vector<std::string> columns() {
    return {"Guard, and its signals",
            "Contact opened (s)",
            "Computed (ms)",
            "Sent 1→0 (ms)",
            "Received 1→0 (ms)",
            "Command (ms)",
            "Machine",
            "Reduced (ms)",
            "Stands (ms)",
            "Allowed (ms)",
            "Met?",
            "Function, and why"};
}

Row demand_row(const Value& demand, bool first) {
    const auto once = [&](SheetCell cell) { return first ? std::move(cell) : SheetCell{}; };
    // its mark here too: on a phone the column of the word is out of sight at first
    Row row{once({look_up_text(demand, "safeguard"), SheetCell::Kind::text,
                  is_bad(demand) ? Mark::dangerous : mark_of_met(look_up(demand, "met"))}),
            once(SheetCell::number(seconds(look_up_number(demand, "contact_ms")))), SheetCell::number(""),
            SheetCell::number(""), SheetCell::number("")};
    row.insert(row.end(), {once(up(look_up(demand, "command_ms"))), once({did_in_words(demand)}),
                           once(up(look_up(demand, "reduced_ms"))), once(up(look_up(demand, "standstill_ms"))),
                           down(look_up(demand, "allowed_ms")), met_cell(look_up(demand, "met")),
                           SheetCell{function_and_why(demand)}});
    return row;
}

Row hop_row(const Value& hop) {
    const bool was_zero = look_up(hop, "was_zero").is_true();
    const std::string link = look_up_text(hop, "link");
    Row row{"↳\u00A0" + (link.empty() ? "" : link + ": ") + look_up_text(hop, "signal"), SheetCell::number(""),
            up(look_up(hop, "computed_ms")), up(look_up(hop, "sent_ms")),
            was_zero ? SheetCell::number("was 0") : up(look_up(hop, "received_ms"))};
    row.resize(columns().size());
    return row;
}

void add_demand(SheetTable& table, const Value& demand, bool first) {
    table.rows.push_back(demand_row(demand, first));
    if (!first) return;
    for (const Value& hop : look_up_list(demand, "hops")) table.rows.push_back(hop_row(hop));
}

/// Columns without meaning in this plant are left out: a reduced speed, what a function asks, a machine.
void leave_out_empty(SheetTable& table) {
    const auto tells = [&](std::size_t column) {
        return std::any_of(table.rows.begin(), table.rows.end(),
                           [&](const Row& row) { return !row[column].text.empty() && row[column].text != "-"; });
    };
    const bool machine = tells(6);
    for (std::size_t column = table.columns.size(); column-- > 5;) {
        const bool of_machine = column == 5 || column == 6 || column == 8;
        if (of_machine ? machine : tells(column)) continue;
        const auto at = static_cast<std::ptrdiff_t>(column);
        table.columns.erase(table.columns.begin() + at);
        for (Row& row : table.rows) row.erase(row.begin() + at);
    }
}

/// Those that are not as they must be first, whatever their time.
SheetTable table_of(const Value::List& demands) {
    SheetTable table{.caption = "What each demand showed; times count from the opening of the contact",
                     .columns = columns(),
                     .rows = {},
                     .look = "guards"};
    const auto id_of = [](const Value& demand) { return scalar_text(look_up(demand, "id")); };
    std::vector<std::string> bad;
    for (const Value& demand : demands)
        if (is_bad(demand)) bad.push_back(id_of(demand));
    for (const bool wanted : {true, false}) {
        std::string last;
        for (const Value& demand : demands) {
            const bool is = std::find(bad.begin(), bad.end(), id_of(demand)) != bad.end();
            if (is != wanted) continue;
            add_demand(table, demand, id_of(demand) != last);
            last = id_of(demand);
        }
    }
    return table;
}

}  // namespace

void add_functions(Sheet& sheet, const Dossier& d) {
    const Value::List& functions = look_up_list(d.result, "functions");
    if (functions.empty() || link_only(d)) return;
    SheetTable table{.caption = "What each guard must do; times count from the demand, sensor included",
                     .columns = {"Function", "Level", "Met?", "Worst (ms)", "Within (ms)", "Why"},
                     .rows = {},
                     .look = "functions"};
    for (const Value& function : functions) {
        const Value& met = look_up(function, "met");
        table.rows.push_back({look_up_text(function, "name"), or_dash(look_up_text(function, "level")), met_cell(met),
                              up(look_up(function, "worst_ms")), down(look_up(function, "within_ms")),
                              or_dash(look_up_text(function, "why"))});
    }
    sheet.blocks.emplace_back(std::move(table));
}

void add_guards(Sheet& sheet, const Dossier& d) {
    sheet.blocks.emplace_back(SheetHeading{.margin = d.links.empty() ? "7" : "4", .text = "Guards", .id = "guards"});
    const Value::List& demands = look_up_list(d.result, "demands");
    if (demands.empty()) {
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::plain, "No guard was demanded."});
        return;
    }
    if (link_only(d))
        sheet.blocks.emplace_back(
            SheetText{SheetText::Kind::strong,
                      "Nothing states what the guards must do, so nothing here is met or not met; "
                      "[[function]] in the scenario states it."});
    SheetTable table = table_of(demands);
    const std::size_t all = table.rows.size();
    table.rows.resize(std::min(all, rows_shown));
    leave_out_empty(table);
    sheet.blocks.emplace_back(std::move(table));
    if (all > rows_shown)
        sheet.blocks.emplace_back(SheetText{SheetText::Kind::strong, "The first " + std::to_string(rows_shown) +
                                                                         " of " + std::to_string(all) +
                                                                         " rows; all of them are in demands.csv."});
    const std::string reduced = reduced_speed_of(d);
    sheet.blocks.emplace_back(SheetText{
        SheetText::Kind::soft,
        "↳ a signal on its way: 0 computed by its sender, sent, in use at its receiver. " +
            (reduced.empty() ? std::string() : "Reduced: from then on at " + reduced + " or under it. ") +
            "Stands: speed 0 with a stop in force. Not shown: the demand proves nothing, for the reason given."});
}

}  // namespace tools
