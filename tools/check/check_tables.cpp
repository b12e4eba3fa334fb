#include "tools/check/check_tables.hpp"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "sim/studies/cross_check.hpp"
#include "sim/studies/function_check.hpp"
#include "tools/text/addresses.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

using Row = std::vector<std::string>;
constexpr std::size_t indent = 4;

/// On one line where it fits, else its last cell on the next, or all of it as a list.
void write_row(Page& page, const Row& row, const std::vector<std::size_t>& width) {
    std::size_t before_last = indent;
    std::string aligned(indent, ' '), listed;
    for (std::size_t i = 0; i + 1 < row.size(); ++i) {
        before_last += width[i] == 0 ? 0 : width[i] + 2;
        if (width[i] != 0) aligned += left_aligned(plain(row[i]), width[i]) + "  ";
        if (!row[i].empty()) listed += (listed.empty() ? "" : ", ") + plain(row[i]);
    }
    const std::string last = plain(row.back());
    if (before_last + last.size() <= page.columns().count) return page.line(aligned + last);
    if (before_last <= page.columns().count)
        page.line(aligned);
    else
        page.paragraph(std::string(indent, ' '), listed);
    page.paragraph(std::string(indent + 4, ' '), last);
}

/// Rows under a head, each column as wide as it must be; a row that is too long goes on below itself. `headings`: what
/// stands over each row, said where it changes.
void columns_of(Page& page, const std::vector<Row>& rows, const std::vector<std::string>& headings = {}) {
    std::vector<std::size_t> width(rows.front().size(), 0);
    for (const Row& row : rows)
        for (std::size_t i = 0; i < row.size(); ++i) width[i] = std::max(width[i], plain(row[i]).size());
    for (std::size_t r = 0; r < rows.size(); ++r) {
        if (r != 0 && !headings.empty() && headings[r] != headings[r - 1]) page.paragraph("  ", headings[r]);
        write_row(page, rows[r], width);
    }
}

std::string or_dash(const std::string& text) { return text.empty() ? "-" : text; }

/// What stands over the rows of a function's guards.
std::string heading_of(const sim::FunctionCheckRow& row) {
    if (row.stated()) return row.function;
    return row.ok && !row.why.empty() ? "needed by no function" : "in no function";
}

/// The settings, and for each way without a signal that both ends use no bit of it, which is compared too.
std::vector<sim::ComparedSetting> settings_of(const sim::CrossCheck& check) {
    std::vector<sim::ComparedSetting> settings = check.settings;
    while (check.differences.empty() && settings.size() < check.compared) {
        sim::ComparedSetting none;
        none.setting = "bits of the way without signals";
        none.controller = none.device = "none";
        settings.push_back(std::move(none));
    }
    return settings;
}

/// An address with the base in which it was typed, anything else as text.
Value typed_at_end(const std::vector<sim::TypedAddress>& addresses, const std::string& text) {
    return addresses.size() == 1 ? describe(addresses.front()) : Value(text);
}
Value meant_by(const sim::ComparedSetting& setting) {
    if (setting.meant_address) return describe(*setting.meant_address);
    return Value::text_or_null(setting.meant.value_or(""));
}

}  // namespace

Value describe_guards(const sim::FunctionCheck& check) {
    Value::List rows;
    for (const sim::FunctionCheckRow& row : check.rows)
        rows.push_back(Value::Object{{"name", Value::text_or_null(row.function)},
                                     {"stated", row.stated()},
                                     {"safeguard", row.safeguard},
                                     {"machine", Value::text_or_null(row.machine)},
                                     {"must", Value::text_or_null(row.must)},
                                     {"does", row.does},
                                     {"level", Value::text_or_null(row.level)},
                                     {"ok", row.ok},
                                     {"why", Value::text_or_null(row.why)}});
    return rows;
}

void guards_table(Page& page, const sim::FunctionCheck& check) {
    if (check.rows.empty()) return;
    page.blank();
    page.line("Guards, by wiring");
    std::vector<std::vector<std::string>> rows{{"guard", "machine", "must", "does", "level", ""}};
    std::vector<std::string> headings{""};
    for (const sim::FunctionCheckRow& row : check.rows) {
        rows.push_back({row.safeguard, or_dash(row.machine), or_dash(row.must), row.does, or_dash(row.level),
                        !row.ok        ? "WRONG"
                        : row.stated() ? ""
                                       : row.why});
        headings.push_back(heading_of(row));
    }
    columns_of(page, rows, headings);
}

Value::List describe_settings(const sim::CrossCheck& check, const std::string& link) {
    Value::List settings;
    for (const sim::ComparedSetting& each : settings_of(check))
        settings.push_back(Value::Object{{"link", Value::text_or_null(link)},
                                         {"setting", each.setting},
                                         {"meant", meant_by(each)},
                                         {"controller", typed_at_end(each.controller_addresses, each.controller)},
                                         {"device", typed_at_end(each.device_addresses, each.device)},
                                         {"same", each.same()}});
    return settings;
}

void settings_table(Page& page, const sim::CrossCheck& check, const EndNames& names, const std::string& link) {
    page.blank();
    page.line("Settings compared" + (link.empty() ? "" : " of link " + plain(link)));
    const std::vector<sim::ComparedSetting> settings = settings_of(check);
    const bool any_meant = std::any_of(settings.begin(), settings.end(),
                                       [](const sim::ComparedSetting& each) { return each.meant.has_value(); });
    std::vector<std::vector<std::string>> rows{
        {"setting", any_meant ? "meant" : "", names.controller, "", names.device}};
    for (const sim::ComparedSetting& each : settings)
        rows.push_back({each.setting, any_meant ? or_dash(each.meant.value_or("")) : "", each.controller,
                        each.same() ? "=" : "DIFFERS", each.device});
    columns_of(page, rows);
}

}  // namespace tools
