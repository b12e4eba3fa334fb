// In section 9 of the report: what the run showed of values in the payload.
#include <cmath>

#include "tools/report/report_sheet.hpp"
#include "tools/report/report_words.hpp"
#include "tools/text/look_up.hpp"

namespace tools {

void add_values(Sheet& sheet, const Dossier& d) {
    const Value::List& values = look_up_list(d.result, "values");
    if (values.empty()) return;
    SheetTable table{.caption = "Values in the payload, at the end that uses them",
                     .columns = {"Value", "Used at", "In use", "Replaced while running", "Out of range (telegrams)",
                                 "Changes towards safe", "Slowest of them (ms)"},
                     .rows = {}};
    for (const Value& value : values) {
        const bool out = look_up_text(value, "direction") == "to-device";
        const auto number = [&](const char* key) { return SheetCell::number(scalar_text(look_up(value, key))); };
        table.rows.push_back({look_up_text(value, "name"), name_of_end(d, out ? "device" : "controller"),
                              look_up_text(value, "words"), number("substitutes"), number("out_of_range"),
                              number("towards_safe"),
                              SheetCell::number(tenths(look_up(value, "slowest_ms"), Rounding::up))});
    }
    sheet.blocks.emplace_back(std::move(table));
}

}  // namespace tools
