#include "tools/desk/bits_told.hpp"

#include <algorithm>
#include <array>
#include <optional>
#include <utility>
#include <vector>

#include "sim/reading/patch.hpp"
#include "tools/desk/typed_cell.hpp"
#include "tools/desk/typed_plant.hpp"
#include "tools/text/words.hpp"

namespace tools {
namespace {

using sim::Direction;
using sim::End;

constexpr int bits_a_byte = 8;

/// A name as a step of a path.
std::string step(const std::string& name) {
    const bool bare = !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
    });
    return bare ? name : "\"" + name + "\"";
}

Direction way_of(const sim::Scenario& link, const std::string& signal) {
    for (const sim::Signal& one : link.signals)
        if (one.name == signal) return one.direction;
    return Direction::to_device;
}

/// What stands on a bit at an end; empty: nothing.
std::string on_bit(const sim::Scenario& link, End end, Direction way, sim::BitPlace place) {
    for (const sim::TypedBit& bit : link.end(end).bits)
        if (bit.place == place && way_of(link, bit.signal) == way) return bit.signal;
    const sim::Values& values = link.values;
    for (std::size_t i = 0; i < values.all.size(); ++i) {
        if (values.all[i].direction != way) continue;
        const sim::TypedValue& typed = values.at(end, i);
        if (place.byte >= typed.at && place.byte < typed.at + sim::bytes_of(typed.type)) return values.all[i].name;
    }
    return {};
}

unsigned payload_of(const sim::Scenario& link, End end, Direction way) {
    const proto::LinkSettings& settings = link.end(end).link;
    return sim::sender(way) == end ? settings.payload_sent : settings.payload_received;
}

Value byte_told(const sim::Scenario& link, Direction way, unsigned byte) {
    std::array<Value::List, 2> ends;
    for (int bit = bits_a_byte - 1; bit >= 0; --bit) {
        const sim::BitPlace place{byte, static_cast<unsigned>(bit)};
        const std::string controller = on_bit(link, End::controller, way, place);
        const std::string device = on_bit(link, End::device, way, place);
        const auto cell = [&](const std::string& signal) {
            return Value::Object{{"signal", Value::text_or_null(signal)}, {"differs", controller != device}};
        };
        ends[0].push_back(cell(controller));
        ends[1].push_back(cell(device));
    }
    return Value::Object{{"byte", byte}, {"controller", std::move(ends[0])}, {"device", std::move(ends[1])}};
}

/// Up to the last byte that holds something: payloads are mostly empty.
unsigned bytes_in_use(const sim::Scenario& link, Direction way) {
    const unsigned most = std::max(payload_of(link, End::controller, way), payload_of(link, End::device, way));
    unsigned used = 0;
    for (unsigned byte = 0; byte < most; ++byte)
        for (unsigned bit = 0; bit < bits_a_byte; ++bit)
            for (const End end : {End::controller, End::device})
                if (!on_bit(link, end, way, {byte, bit}).empty()) used = byte + 1;
    return used;
}

/// "u16 at byte 2, high byte first, one count 0.1 mm/s".
std::string lies_as(const sim::Scenario& link, End end, std::size_t value) {
    const sim::TypedValue& typed = link.values.at(end, value);
    std::string words = std::string(sim::name_of(typed.type)) + " at byte " + std::to_string(typed.at);
    if (sim::bytes_of(typed.type) > 1) words += ", " + std::string(sim::words_of(typed.order));
    return words + ", one count " + sim::in_words(typed.scale, link.values.all[value].unit);
}

/// Values of one way; where each end has them is typed in the text.
Value values_told(const sim::Scenario& link, Direction way) {
    Value::List rows;
    for (std::size_t i = 0; i < link.values.all.size(); ++i) {
        if (link.values.all[i].direction != way) continue;
        const std::string controller = lies_as(link, End::controller, i), device = lies_as(link, End::device, i);
        rows.push_back(Value::Object{{"name", link.values.all[i].name},
                                     {"direction", name_of_way(way)},
                                     {"meant", fixed_cell("")},
                                     {"controller", fixed_cell(controller)},
                                     {"device", fixed_cell(device)},
                                     {"same", controller == device}});
    }
    return rows;
}

std::string place_of(const sim::Scenario& link, End end, const std::string& signal) {
    for (const sim::TypedBit& bit : link.end(end).bits)
        if (bit.signal == signal) return std::to_string(bit.place.byte) + "." + std::to_string(bit.place.bit);
    return {};
}

}  // namespace

LinkPaths paths_of(const TypedPlant& typed, std::size_t link) {
    if (!typed.is_cell()) return {"link.", "controller.", "device.", "", false};
    const std::string own = "link[" + std::to_string(link + 1) + "].";
    return {own, own + "controller.", own + "device.", own, true};
}

Value bits_told(const TypedPlant& typed, std::size_t number) {
    const sim::Scenario& link = typed.link(number);
    Value::List ways;
    for (const Direction way : {Direction::to_device, Direction::to_controller}) {
        const unsigned used = bytes_in_use(link, way);
        if (used == 0) continue;
        Value::List bytes, differs;
        for (unsigned byte = 0; byte < used; ++byte) bytes.push_back(byte_told(link, way, byte));
        const std::string to = "to " + link.end(sim::receiver(way)).name;
        for (const sim::Difference& one : typed.ends(number).differences) {
            if (!one.setting.ends_with(to) || !(one.setting.starts_with("byte ") || one.setting.starts_with("value ")))
                continue;
            const std::string at_ends = one.setting + ": " + link.controller.name + " " + one.controller + ", " +
                                        link.device.name + " " + one.device;
            differs.emplace_back(
                is_unseen(one)
                    ? at_ends + ". Both ends will show \"" + one.seen_at_controller +
                          "\": no measure of the link sees this. Only a demand on each guard finds it. " + "Mend at " +
                          one.mend
                    : at_ends + ". " + link.device.name + " shows \"" + one.seen_at_device + "\". Mend at " + one.mend);
        }
        const unsigned payload = payload_of(link, End::controller, way);
        ways.push_back(Value::Object{{"direction", name_of_way(way)},
                                     {"to", link.end(sim::receiver(way)).name},
                                     {"payload", payload},
                                     {"bytes", std::move(bytes)},
                                     {"values", values_told(link, way)},
                                     {"differs", std::move(differs)}});
    }
    return ways;
}

Value signals_told(const TypedPlant& typed, std::size_t number, const sim::WrittenFile& file) {
    const sim::Scenario& link = typed.link(number);
    const LinkPaths paths = paths_of(typed, number);
    Value::List rows;
    for (const sim::Signal& signal : link.signals) {
        if (signal.elsewhere) continue;
        const std::string at_controller = place_of(link, End::controller, signal.name),
                          at_device = place_of(link, End::device, signal.name);
        const std::string name = "bits." + step(signal.name);
        const auto place = [&](const std::string& before) { return TypedPlace{before + name, ""}; };
        rows.push_back(Value::Object{{"name", signal.name},
                                     {"direction", name_of_way(signal.direction)},
                                     {"meant", cell_told(file, place(paths.whole), "")},
                                     {"controller", cell_told(file, place(paths.controller), at_controller)},
                                     {"device", cell_told(file, place(paths.device), at_device)},
                                     {"same", at_controller == at_device && !at_controller.empty()}});
    }
    return rows;
}

}  // namespace tools
