// A module: a payload layout with a name, in a file of its own.
#include <filesystem>
#include <string>
#include <utility>

#include "sim/reading/parts.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/network.hpp"

namespace sim {
namespace {

constexpr std::size_t fields_max = 256;

unsigned length_at(Section& top, std::string_view key) {
    const auto bytes = top.integer(key, 1, proto::payload_bytes_max);
    if (!top.has(key)) top.missing(key, "4");
    return static_cast<unsigned>(bytes.value_or(proto::payload_bytes_max));
}

/// A bit lies at "BYTE.BIT", a value at its first byte.
void read_place(Section& section, const ModuleLayout& layout, ModuleField& field) {
    const unsigned bytes = field.direction == Direction::to_device ? layout.to_device : layout.to_controller;
    const unsigned length = field.type ? bytes_of(*field.type) : 1;
    if (!section.has("at")) section.missing("at", field.type ? "2" : "\"0.3\"");
    if (field.type) {
        const auto at = section.integer("at", 0, proto::payload_bytes_max - 1);
        if (at) field.place = {static_cast<unsigned>(*at), 0};
    } else if (const auto typed = section.text("at")) {
        const auto place = bit_place_in(*typed);
        if (!place)
            section.say("at", in_quotes(*typed) + R"( is no place of a bit; write "BYTE.BIT", such as "0.3")");
        else
            field.place = *place;
    }
    if (!section.wrong("at") && !section.in_doubt({"to_device", "to_controller"}) && field.place.byte + length > bytes)
        section.say("at", "lies outside the " + std::to_string(bytes) + " bytes of its way; write a place within them");
}

ModuleField read_field(Section& section, const ModuleLayout& layout) {
    ModuleField field;
    field.name = section.text("name").value_or("");
    if (!section.has("name")) section.missing("name", "\"front_curtain_free\"");
    const auto direction = section.choice<Direction>(
        "direction", {{"to-device", Direction::to_device}, {"to-controller", Direction::to_controller}});
    if (!section.has("direction")) section.missing("direction", "\"to-device\"");
    field.direction = direction.value_or(Direction::to_device);
    field.type = section
                     .choice<std::optional<ValueType>>("type", {{"bit", std::nullopt},
                                                                {"u8", ValueType::u8},
                                                                {"u16", ValueType::u16},
                                                                {"i16", ValueType::i16},
                                                                {"u32", ValueType::u32},
                                                                {"i32", ValueType::i32}})
                     .value_or(std::nullopt);
    if (direction || !section.has("direction")) read_place(section, layout, field);
    section.finish();
    return field;
}

using Document = proto::Result<Node, FileError>;

proto::Result<ModuleLayout, FileError> module_from(const Document& document, const std::string& path) {
    if (!document) return document.error();
    Problems problems(path);
    Section top(document.value(), "", problems);
    ModuleLayout layout;
    read_module_keys(top, path, layout);
    if (problems.any()) return problems.first();
    return layout;
}

}  // namespace

void read_module_keys(Section& top, const std::string& path, ModuleLayout& layout) {
    layout.name = top.text("name").value_or(std::filesystem::path(path).stem().string());
    static_cast<void>(top.text("shows"));
    layout.to_device = length_at(top, "to_device");
    layout.to_controller = length_at(top, "to_controller");
    for (Section& section : top.tables("field")) {
        if (layout.fields.size() == fields_max) {
            top.problems().say(section.place(),
                               "is one too many; write at most " + std::to_string(fields_max) + " fields");
            break;
        }
        layout.fields.push_back(read_field(section, layout));
    }
    top.finish();
}

proto::Result<ModuleLayout, FileError> read_module(const std::string& path) {
    return module_from(read_document(path), path);
}

proto::Result<ModuleLayout, FileError> module_in(const std::string& text, const std::string& path) {
    return module_from(document_from(text, path), path);
}

}  // namespace sim
