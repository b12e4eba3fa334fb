#include "tools/desk/rows_told.hpp"

#include <algorithm>
#include <array>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/reading/patch.hpp"
#include "sim/scenario/units.hpp"
#include "tools/desk/address_edit.hpp"
#include "tools/desk/bits_told.hpp"
#include "tools/desk/typed_cell.hpp"
#include "tools/desk/typed_plant.hpp"

namespace tools {
namespace {

/// One thing that is typed at both ends: where it stands, and what check calls it. Names of the ends are filled in for
/// {c} and {d}.
struct RowSpec {
    std::string_view group;
    std::string_view setting;     ///< as check names it
    std::string_view meant;       ///< key in [link]; empty: the file has no place for it
    std::string_view controller;  ///< key in [controller]; empty: it is not typed there
    std::string_view device;
    bool always = true;  ///< else only where something is typed of it
};

/// In place of a key of [link]: what is meant is what an end has as its own, while the other has nothing else typed.
constexpr std::string_view own_address = "=";

constexpr std::array specs{
    RowSpec{"link", "telegram profile", "profile", "profile", "profile"},
    RowSpec{"link", "address of {c}", own_address, "address", "peer_address"},
    RowSpec{"link", "address of {d}", own_address, "peer_address", "address"},
    RowSpec{"link", "exchange", "exchange", "exchange", "exchange"},
    RowSpec{"link", "cycle", "cycle", "cycle", "cycle"},
    RowSpec{"link", "watchdog", "watchdog", "watchdog", "watchdog"},
    RowSpec{"link", "watchdog of {c}", "controller_watchdog", "controller_watchdog", "controller_watchdog", false},
    RowSpec{"link", "watchdog of {d}", "device_watchdog", "device_watchdog", "device_watchdog", false},
    RowSpec{"link", "claimed safety integrity level", "claimed_sil", "claimed_sil", "claimed_sil"},
    RowSpec{"link", "missing telegrams allowed", "missing_allowed", "missing_allowed", "missing_allowed", false},
    RowSpec{"link", "reaction to a rejected telegram", "reaction", "reaction", "reaction"},
    RowSpec{"link", "role of {c}", "", "role", "", false},
    RowSpec{"link", "role of {d}", "", "", "role", false},
    RowSpec{"network", "IP address of {c}", "", "network.ip", "network.peer_ip"},
    RowSpec{"network", "IP address of {d}", "", "network.peer_ip", "network.ip"},
    RowSpec{"network", "subnet", "", "network.mask", "network.mask"},
    RowSpec{"network", "gateway", "", "network.gateway", "network.gateway", false},
    RowSpec{"network", "station name of {c}", "", "network.station", "network.peer_station"},
    RowSpec{"network", "station name of {d}", "", "network.peer_station", "network.station"},
    RowSpec{"module", "module", "module", "module", "module"},
    RowSpec{"module", "slot", "slot", "slot", "slot", false},
    RowSpec{"module", "firmware of {c}", "", "firmware", "peer_firmware", false},
    RowSpec{"module", "firmware of {d}", "", "peer_firmware", "firmware", false},
    RowSpec{"module", "checksum of {c}", "", "checksum", "peer_checksum", false},
    RowSpec{"module", "checksum of {d}", "", "peer_checksum", "checksum", false},
    RowSpec{"payload", "payload", "payload", "payload", "payload"},
    RowSpec{"payload", "payload to {d}", "payload_to_device", "payload_to_device", "payload_to_device", false},
    RowSpec{"payload", "payload to {c}", "payload_to_controller", "payload_to_controller", "payload_to_controller",
            false},
    RowSpec{"payload", "byte order", "byte_order", "byte_order", "byte_order"},
};

struct Group {
    std::string_view id, title;
};
constexpr std::array groups{Group{"link", "Link"}, Group{"network", "Network"}, Group{"module", "Module, firmware"},
                            Group{"payload", "Payload"}};

std::string filled(std::string_view words, const sim::Scenario& link) {
    std::string text(words);
    for (const auto& [mark, name] : {std::pair{"{c}", &link.controller.name}, {"{d}", &link.device.name}})
        if (const std::size_t at = text.find(mark); at != std::string::npos) text.replace(at, 3, *name);
    return text;
}

/// Everything that is needed for the rows of one link.
class LinkRows {
  public:
    LinkRows(const TypedPlant& typed, std::size_t number, const sim::WrittenFile& file)
        : link_(typed.link(number)), check_(typed.ends(number)), paths_(paths_of(typed, number)), file_(file) {}

    Value told() {
        Value::List all;
        for (const Group& group : groups) {
            Value::List rows;
            for (const RowSpec& spec : specs)
                if (spec.group == group.id && is_shown(spec)) rows.push_back(row(spec));
            if (group.id == std::string_view("link")) add_unplaced(rows);
            all.push_back(Value::Object{{"id", group.id}, {"title", group.title}, {"rows", std::move(rows)}});
        }
        all.push_back(signature());
        return all;
    }

  private:
    [[nodiscard]] TypedPlace meant_place(const RowSpec& spec) const {
        return spec.meant.empty() || spec.meant == own_address ? TypedPlace{}
                                                               : TypedPlace{paths_.link + std::string(spec.meant), ""};
    }
    [[nodiscard]] TypedPlace controller_place(const RowSpec& spec) const {
        if (spec.controller.empty()) return {};
        const std::string key(spec.controller);
        return {paths_.controller + key, paths_.in_cell ? "controller." + key : std::string()};
    }
    [[nodiscard]] TypedPlace device_place(const RowSpec& spec) const {
        return spec.device.empty() ? TypedPlace{} : TypedPlace{paths_.device + std::string(spec.device), ""};
    }
    [[nodiscard]] bool is_shown(const RowSpec& spec) const {
        return spec.always || is_typed(file_, meant_place(spec)) || is_typed(file_, controller_place(spec)) ||
               is_typed(file_, device_place(spec)) || difference_of(filled(spec.setting, link_)) != nullptr;
    }

    [[nodiscard]] const sim::ComparedSetting* compared(const std::string& setting) const {
        for (const sim::ComparedSetting& one : check_.settings)
            if (one.setting == setting) return &one;
        return nullptr;
    }
    [[nodiscard]] const sim::Difference* difference_of(const std::string& setting) const {
        for (const sim::Difference& one : check_.differences)
            if (one.setting == setting) return &one;
        return nullptr;
    }

    /// What is typed there; empty: nothing.
    [[nodiscard]] std::string words_at(const TypedPlace& place) const {
        const Value cell = cell_told(file_, place, "");
        return std::string(cell.find("shown")->text());
    }

    /// An address: what is meant, and at each end. Where only its own end has it, both are as meant.
    void add_address(Value::Object& told, const RowSpec& spec, const sim::TypedValues* values) const {
        const bool of_controller = spec.controller == "address";
        const TypedPlace at_controller = controller_place(spec), at_device = device_place(spec);
        const TypedPlace &own = of_controller ? at_controller : at_device,
                         &peer = of_controller ? at_device : at_controller;
        const AddressPaths paths{path_to_type(file_, own), path_to_type(file_, peer)};
        const bool alone = !is_typed(file_, peer), same = values != nullptr && values->same();
        const auto cell = [&](const TypedPlace& place, bool controller) {
            Value found = values == nullptr
                              ? cell_told(file_, place, "")
                              : cell_told(file_, place, controller ? values->controller : values->device,
                                          controller ? values->controller_addresses : values->device_addresses);
            return found;
        };
        Value meant = cell(own, of_controller), own_cell = meant;
        set_member(meant, "path", both_paths(paths));
        if (alone)
            set_member(own_cell, "typed", Value());
        else if (!same)
            for (const char* const key : {"typed", "shown", "other"}) set_member(meant, key, Value(""));
        Value peer_cell = cell(peer, !of_controller);
        told.push_back({"meant", std::move(meant)});
        told.push_back({"controller", of_controller ? own_cell : peer_cell});
        told.push_back({"device", of_controller ? std::move(peer_cell) : std::move(own_cell)});
    }
    static void set_member(Value& object, std::string_view key, Value value) {
        Value::Object members = *object.object();
        for (Value::Member& member : members)
            if (member.key == key) member.value = value;
        object = std::move(members);
    }

    Value row(const RowSpec& spec) {
        std::string setting = filled(spec.setting, link_);
        const sim::ComparedSetting* found = compared(setting);
        // one key for both ways, which are compared one by one
        if (found == nullptr && spec.setting == "payload") found = compared("payload to " + link_.device.name);
        const sim::Difference* const differs = difference_of(setting);
        const sim::TypedValues* const values =
            differs != nullptr ? static_cast<const sim::TypedValues*>(differs) : found;
        const std::string as_meant = words_at(meant_place(spec));
        const auto shown = [&](const std::string sim::TypedValues::*end) {
            return values != nullptr ? values->*end : as_meant;
        };
        const auto addresses = [&](const std::vector<sim::TypedAddress> sim::TypedValues::*end) {
            return values != nullptr ? values->*end : std::vector<sim::TypedAddress>();
        };
        Value::Object told{
            {"id", std::string(spec.group) + "-" + std::string(spec.device.empty() ? spec.controller : spec.device) +
                       (spec.setting.find("{c}") != std::string_view::npos ? "-c" : "")},
            {"setting", setting}};
        if (spec.meant == own_address) {
            add_address(told, spec, values);
        } else {
            told.push_back({"meant", spec.meant.empty()
                                         ? fixed_cell("")
                                         : cell_told(file_, meant_place(spec),
                                                     found != nullptr ? found->meant.value_or("") : std::string())});
            told.push_back({"controller", cell_told(file_, controller_place(spec), shown(&sim::TypedValues::controller),
                                                    addresses(&sim::TypedValues::controller_addresses))});
            told.push_back({"device", cell_told(file_, device_place(spec), shown(&sim::TypedValues::device),
                                                addresses(&sim::TypedValues::device_addresses))});
        }
        add_difference(told, differs, &spec);
        return told;
    }

    void add_difference(Value::Object& told, const sim::Difference* differs, const RowSpec* spec) const {
        told.push_back({"same", differs == nullptr});
        if (differs == nullptr) return;
        told.push_back({"seen_at_controller", differs->seen_at_controller});
        told.push_back({"seen_at_device", differs->seen_at_device});
        told.push_back({"mend", differs->mend});
        told.push_back({"mend_fields", mend_of(*differs, spec)});
        told.push_back({"note", differs->note});
    }

    /// What one press would type: nothing where only the design knows which is right.
    [[nodiscard]] Value mend_of(const sim::Difference& differs, const RowSpec* spec) const {
        if (spec == nullptr || differs.mend_at == sim::MendAt::design || differs.mend_at == sim::MendAt::both)
            return {};
        const bool at_controller = differs.mend_at == sim::MendAt::controller;
        const TypedPlace place = at_controller ? controller_place(*spec) : device_place(*spec);
        const std::string path = path_to_type(file_, place);
        // what was typed at that end goes, and what is meant holds there
        if (spec->meant.empty() || !is_typed(file_, meant_place(*spec)) || !is_typed(file_, place)) return {};
        const std::string& name = at_controller ? link_.controller.name : link_.device.name;
        return Value::Object{{"path", path}, {"value", ""}, {"words", "As meant at " + name}};
    }

    /// What differs and has no row: several settings at once, such as own and other address.
    void add_unplaced(Value::List& rows) {
        if (check_.apart) {
            const sim::KeptApart& apart = *check_.apart;
            rows.push_back(Value::Object{{"id", "apart"},
                                         {"setting", apart.setting},
                                         {"meant", fixed_cell("")},
                                         {"controller", fixed_cell(apart.controller)},
                                         {"device", fixed_cell(apart.device)},
                                         {"same", false},
                                         {"seen_at_controller", sim::no_answer_shown},
                                         {"seen_at_device", sim::no_answer_shown},
                                         {"mend", apart.mend},
                                         {"mend_fields", Value()},
                                         {"note", "THE ENDS ARE APART: " + apart.why}});
        }
        for (const sim::Difference& one : check_.differences) {
            const bool of_bits = one.setting.starts_with("byte ") || one.setting.starts_with("value ");
            const bool has_row = std::any_of(specs.begin(), specs.end(), [&](const RowSpec& spec) {
                return filled(spec.setting, link_) == one.setting;
            });
            if (of_bits || has_row) continue;
            Value::Object told{{"id", "other-" + std::to_string(rows.size())},
                               {"setting", one.setting},
                               {"meant", fixed_cell("")},
                               {"controller", fixed_cell(one.controller)},
                               {"device", fixed_cell(one.device)}};
            add_difference(told, &one, nullptr);
            rows.emplace_back(std::move(told));
        }
    }

    [[nodiscard]] Value signature() const {
        const std::string words =
            check_.signature ? sim::written_hex(*check_.signature, 8) : "none while the ends differ";
        Value::List rows;
        rows.push_back(Value::Object{{"id", "signature"},
                                     {"setting", "parameter signature of the rehearsal"},
                                     {"meant", fixed_cell("")},
                                     {"controller", fixed_cell(words)},
                                     {"device", fixed_cell(words)},
                                     {"same", true},
                                     {"note", "linkdrill's own number: no maker's tool shows it"}});
        return Value::Object{{"id", "signature"}, {"title", "Signature"}, {"rows", std::move(rows)}};
    }

    const sim::Scenario& link_;
    const sim::CrossCheck& check_;
    LinkPaths paths_;
    const sim::WrittenFile& file_;
};

}  // namespace

Value links_told(const TypedPlant& typed, const sim::WrittenFile& file) {
    Value::List links;
    for (std::size_t i = 0; i < typed.links(); ++i) {
        const sim::Scenario& link = typed.link(i);
        links.push_back(Value::Object{{"name", typed.link_name(i)},
                                      {"controller", link.controller.name},
                                      {"device", link.device.name},
                                      {"groups", LinkRows(typed, i, file).told()},
                                      {"bits", bits_told(typed, i)},
                                      {"signals", signals_told(typed, i, file)}});
    }
    return links;
}

}  // namespace tools
