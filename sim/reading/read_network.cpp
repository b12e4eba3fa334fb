// What is typed at both ends besides the link: network, module, slot, firmware and checksum.
#include <map>
#include <memory>
#include <string>
#include <utility>

#include "sim/reading/found_by_name.hpp"
#include "sim/reading/parts.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/network.hpp"
#include "sim/scenario/scenario.hpp"

namespace sim {
namespace {

constexpr std::size_t text_bytes_max = 255;  // as long as a host's name may be, RFC 1123, 2.1

/// A text as somebody typed it, blanks and all.
std::optional<std::string> typed_text(Section& section, std::string_view key) {
    const std::optional<std::string> text = section.text(key);
    if (text && text->empty()) section.say(key, "is empty; write what is typed there, or leave it out");
    if (text && text->size() > text_bytes_max)
        section.say(key, "has over " + std::to_string(text_bytes_max) + " bytes; write a shorter text");
    return text;
}

std::optional<Ipv4> address_at(Section& section, std::string_view key) {
    const std::optional<std::string> text = section.text(key);
    if (!text) return std::nullopt;
    const std::optional<Ipv4> address = ipv4_from(*text);
    if (!address)
        section.say(key, in_quotes(*text) +
                             " is no address of IPv4; write four numbers of 0 to 255 with dots between and no 0 in "
                             "front, such as \"192.0.2.10\"");
    return address;
}

/// Keys of the network beside the others of an end, and words that people type for them.
void say_misplaced(Section& end) {
    struct Misplaced {
        const char *typed, *key;
    };
    for (const auto& [typed, key] : {Misplaced{"ip", "ip"}, Misplaced{"ip_address", "ip"}, Misplaced{"mask", "mask"},
                                     Misplaced{"subnet_mask", "mask"}, Misplaced{"gateway", "gateway"},
                                     Misplaced{"station", "station"}, Misplaced{"station_name", "station"},
                                     Misplaced{"peer_ip", "peer_ip"}, Misplaced{"peer_station", "peer_station"}})
        if (end.node().find(typed) != nullptr)
            end.say(typed, "is of the network; write " + std::string(key) + " in [" + end.place("network").key + "]");
}

NetworkTyped read_network(Section& end) {
    NetworkTyped typed;
    say_misplaced(end);
    std::optional<Section> table = end.table("network");
    if (!table) return typed;
    typed.ip = address_at(*table, "ip");
    if (const auto text = table->text("mask")) {
        typed.mask = mask_from(*text);
        if (!typed.mask)
            table->say("mask", in_quotes(*text) + R"( is no mask; write "255.255.255.0", or "/24" with 0 to 32)");
    }
    typed.gateway = address_at(*table, "gateway");
    typed.station = typed_text(*table, "station");
    typed.peer_ip = address_at(*table, "peer_ip");
    typed.peer_station = typed_text(*table, "peer_station");
    table->finish();
    return typed;
}

/// Of one table: [link], or an end's own.
FittedTyped read_fitted(Section& section) {
    FittedTyped typed;
    typed.module = typed_text(section, "module");
    if (const auto slot = section.integer("slot", 0, 65535)) typed.slot = static_cast<unsigned>(*slot);
    typed.firmware = typed_text(section, "firmware");
    typed.checksum = typed_text(section, "checksum");
    typed.peer_firmware = typed_text(section, "peer_firmware");
    typed.peer_checksum = typed_text(section, "peer_checksum");
    return typed;
}

template <class T>
void fill(std::optional<T>& own, const std::optional<T>& shared) {
    if (!own) own = shared;
}

/// What both were given alike, under what was typed at an end.
void fill(FittedTyped& own, const FittedTyped& shared) {
    fill(own.module, shared.module);
    fill(own.slot, shared.slot);
    fill(own.firmware, shared.firmware);
    fill(own.checksum, shared.checksum);
    fill(own.peer_firmware, shared.peer_firmware);
    fill(own.peer_checksum, shared.peer_checksum);
}

class Modules {
  public:
    explicit Modules(std::string scenario_file) : scenario_file_(std::move(scenario_file)) {}

    std::optional<ModuleLayout> get(const std::string& name, const Place& where, Problems& problems) {
        if (const auto known = known_.find(name); known != known_.end()) return known->second;
        std::optional<ModuleLayout>& layout = known_[name];
        const std::string found = file_found_by_name(scenario_file_, "modules", name);
        if (found.empty()) {
            const std::vector<std::string> names = names_found(scenario_file_, "modules");
            std::string there;
            for (const std::string& one : names) there += (there.empty() ? "" : ", ") + one;
            problems.say(where,
                         in_quotes(name) + " is no module beside this scenario or in a folder modules near it; " +
                             (names.empty() ? std::string("write a file modules/NAME.toml with its lengths")
                                            : "nearest is \"" + names[nearest_of(name, names)] + "\", and there are " +
                                                  there + "; or write a file modules/NAME.toml with its lengths"));
            return layout;
        }
        auto read = read_module(found);
        if (read)
            layout = std::move(read).value();
        else
            problems.say(read.error());
        return layout;
    }

  private:
    std::string scenario_file_;
    std::map<std::string, std::optional<ModuleLayout>> known_;
};

}  // namespace

void read_around(Section* link, Section& controller, Section& device, Scenario& scenario) {
    FittedTyped shared;
    if (link != nullptr) shared = read_fitted(*link);
    Modules modules(scenario.file);
    for (const auto& [end, section] : {std::pair{&scenario.controller, &controller}, {&scenario.device, &device}}) {
        AroundEnd around;
        around.network = read_network(*section);
        around.fitted = read_fitted(*section);
        const bool own_module = around.fitted.module.has_value();
        fill(around.fitted, shared);
        if (around.fitted.module && !around.fitted.module->empty())
            around.fitted.layout =
                modules.get(*around.fitted.module, own_module ? section->place("module") : link->place("module"),
                            section->problems());
        if (around.network.any() || around.fitted.any()) end->around = std::make_shared<const AroundEnd>(around);
    }
}

}  // namespace sim
