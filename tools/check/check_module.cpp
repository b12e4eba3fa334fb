#include "tools/check/check_module.hpp"

#include <string>
#include <utility>

#include "sim/scenario/network.hpp"
#include "tools/text/text.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

/// As the file has it.
std::string place_of(const sim::ModuleField& field) {
    const std::string byte = std::to_string(field.place.byte);
    return field.type ? byte : byte + "." + std::to_string(field.place.bit);
}

std::string type_of(const sim::ModuleField& field) {
    return field.type ? std::string(name_of(*field.type)) : std::string("bit");
}

}  // namespace

Value describe(const sim::ModuleLayout& layout) {
    Value::List fields;
    for (const sim::ModuleField& field : layout.fields)
        fields.push_back(Value::Object{{"name", field.name},
                                       {"direction", name_of_way(field.direction)},
                                       {"type", type_of(field)},
                                       {"at", place_of(field)}});
    return Value::Object{{"ok", true},
                         {"kind", "module"},
                         {"compared", 0},
                         {"signature", Value()},
                         {"differences", Value::List{}},
                         {"problems", Value::List{}},
                         {"undetectable", Value::List{}},
                         {"cautions", Value::List{}},
                         {"module", Value::Object{{"name", layout.name},
                                                  {"to_device_bytes", layout.to_device},
                                                  {"to_controller_bytes", layout.to_controller},
                                                  {"fields", std::move(fields)}}}};
}

Page page_of(const sim::ModuleLayout& layout, Columns columns) {
    Page page(columns);
    page.headline("MODULE READ", Hue::good,
                  plain(layout.name) + ": " + counted(layout.to_device, "byte", "bytes") + " to the device, " +
                      counted(layout.to_controller, "byte", "bytes") + " to the controller.");
    page.blank();
    for (const sim::Direction way : {sim::Direction::to_device, sim::Direction::to_controller}) {
        const std::string to = way == sim::Direction::to_device ? "To the device      " : "To the controller  ";
        if (!layout.describes(way)) page.paragraph(to, "nothing is said but its length");
        for (const sim::ModuleField& field : layout.fields)
            if (field.direction == way)
                page.paragraph(to, plain(field.name) + ", " + type_of(field) + " at " + place_of(field));
    }
    return page;
}

}  // namespace tools
