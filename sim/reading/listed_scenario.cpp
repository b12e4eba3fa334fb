#include "sim/reading/listed_scenario.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string_view>
#include <utility>

#include "sim/reading/cell_parts.hpp"
#include "sim/reading/document.hpp"
#include "sim/reading/parts.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/network.hpp"

namespace sim {
namespace {

/// What may be typed at an end besides its bits; `needed`: nothing agrees unless both lists have it.
struct Setting {
    std::string_view name;
    bool needed = false;
    enum class Kind : std::uint8_t { other, word, count, address } kind = Kind::other;
    /// An end may have it without the other one.
    enum class Alone : std::uint8_t { says_something, may_be } alone = Alone::says_something;
};
using Kind = Setting::Kind;
constexpr std::array settings{Setting{"address", true, Kind::address},
                              Setting{"peer_address", true, Kind::address},
                              Setting{"profile", true, Kind::word},
                              Setting{"exchange", false, Kind::word},
                              Setting{"cycle", true},
                              Setting{"controller_watchdog", true},
                              Setting{"device_watchdog", true},
                              Setting{"payload_to_device", true, Kind::count},
                              Setting{"payload_to_controller", true, Kind::count},
                              Setting{"byte_order", true, Kind::word},
                              Setting{"claimed_sil", true, Kind::count},
                              Setting{"reaction", false, Kind::word},
                              Setting{"error_interval"},
                              Setting{"answers", false, Kind::word},
                              Setting{"missing_allowed", false, Kind::count},
                              Setting{"max_lag", false, Kind::count},
                              Setting{"max_age"},
                              Setting{"max_early"},
                              Setting{"network.ip", false, Kind::word},
                              Setting{"network.mask", false, Kind::word},
                              Setting{"network.gateway", false, Kind::word, Setting::Alone::may_be},
                              Setting{"network.station", false, Kind::word},
                              Setting{"network.peer_ip", false, Kind::word, Setting::Alone::may_be},
                              Setting{"network.peer_station", false, Kind::word, Setting::Alone::may_be},
                              Setting{"module", false, Kind::word},
                              Setting{"slot", false, Kind::count},
                              Setting{"firmware", false, Kind::word, Setting::Alone::may_be},
                              Setting{"checksum", false, Kind::word, Setting::Alone::may_be},
                              Setting{"peer_firmware", false, Kind::word, Setting::Alone::may_be},
                              Setting{"peer_checksum", false, Kind::word, Setting::Alone::may_be}};
/// Each stands for two of the above.
struct Both {
    std::string_view name, first, second;
};
constexpr std::array both_of{Both{"watchdog", "controller_watchdog", "device_watchdog"},
                             Both{"payload", "payload_to_device", "payload_to_controller"}};

constexpr std::string_view of_bits = "bits.";
constexpr std::string_view of_network = "network.";

/// A setting of ours with what a list says of it.
struct Typed {
    std::string setting;
    std::string word, value;
    int line = 0;
};

const Setting* setting_called(std::string_view name) {
    const auto found = std::find_if(settings.begin(), settings.end(), [&](const Setting& s) { return s.name == name; });
    return found == settings.end() ? nullptr : &*found;
}

/// By 10, or by 16 with 0x in front.
std::optional<std::uint32_t> address_in(std::string_view text) {
    const bool by_16 = text.starts_with("0x") || text.starts_with("0X");
    if (by_16) text.remove_prefix(2);
    std::uint32_t value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value, by_16 ? 16 : 10);
    if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
    return value;
}

Node node_of(const Typed& typed) {
    Node node;
    node.line = typed.line;
    node.kind = Node::Kind::text;
    node.text = typed.value;
    const Setting* const setting = setting_called(typed.setting);
    constexpr std::size_t digits_max = 18;
    const bool whole = typed.value.find_first_not_of("0123456789") == std::string::npos;
    if (setting == nullptr || setting->kind == Kind::word || !whole || typed.value.empty() ||
        typed.value.size() > digits_max)
        return node;
    node.kind = Node::Kind::integer;
    node.integer = std::stoll(typed.value);
    return node;
}

/// One list in our settings; what it says that is none of them, or otherwise than before, is a finding.
class ListReader {
  public:
    ListReader(const SettingList& list, const WordMap& map, const std::vector<std::string>& signals,
               std::vector<ListFinding>& findings)
        : list_(list), map_(map), signals_(signals), findings_(findings) {}

    std::vector<Typed> read() {
        for (const ListedSetting& one : list_.settings) take(one);
        return std::move(typed_);
    }

  private:
    void take(const ListedSetting& one) {
        const WordMap::Word* const mapped = map_.find(one.word);
        std::string name = mapped != nullptr ? mapped->ours : one.word;
        if (name == "-") return;
        Typed typed{name, one.word, one.value, one.line};
        // a name or a version is no number, whatever stands in it
        if (sim::is_around_setting(name) && name != "slot") typed.value = one.as_it_stands;
        if (mapped != nullptr && !mapped->unit.empty() && is_bare_number(typed.value))
            typed.value += " " + mapped->unit;
        if (one.word.empty())
            return say(ListFinding::Kind::not_understood, one, "a line without a setting; write which");
        if (typed.value.empty()) return say(ListFinding::Kind::not_understood, one, "has no value; write it");
        for (const Both& both : both_of) {
            if (!is_same_word(name, both.name)) continue;
            typed.setting = both.first;
            put(typed);
            typed.setting = both.second;
            return put(typed);
        }
        for (const Setting& setting : settings)
            if (is_same_word(name, setting.name)) {
                typed.setting = setting.name;
                return put(typed);
            }
        const std::string_view signal = std::string_view(name).starts_with(of_bits)
                                            ? std::string_view(name).substr(of_bits.size())
                                            : std::string_view(name);
        if (std::find(signals_.begin(), signals_.end(), signal) != signals_.end()) {
            typed.setting = std::string(of_bits) + std::string(signal);
            return put(typed);
        }
        say(ListFinding::Kind::not_understood, one,
            "is no setting" + nearest(name) +
                "; map the word to a setting, or to - if the link does not "
                "depend on it");
    }

    void put(Typed typed) {
        const Setting* const setting = setting_called(typed.setting);
        if (setting != nullptr && setting->kind == Kind::count) {
            const std::size_t blank = typed.value.find(' ');
            const std::string unit = blank == std::string::npos ? std::string() : typed.value.substr(blank + 1);
            if (is_same_word(unit, "byte") || is_same_word(unit, "bytes")) typed.value.resize(blank);
            if (typed.value.find_first_not_of("0123456789") != std::string::npos)
                return say(ListFinding::Kind::not_understood, {typed.word, typed.value, typed.line},
                           in_quotes(typed.value) + " is no whole number; write one, such as 4");
        }
        if (setting != nullptr && setting->kind == Kind::address && !take_one_base(typed)) return;
        if (typed.setting == "profile" &&
            (typed.value.find('/') != std::string::npos || typed.value.ends_with(".toml")))
            return say(ListFinding::Kind::not_understood, {typed.word, typed.value, typed.line},
                       in_quotes(typed.value) + " is no name of a profile; write the name, or map it");
        for (const Typed& known : typed_) {
            if (known.setting != typed.setting) continue;
            if (known.value != typed.value)
                findings_.push_back({ListFinding::Kind::twice, list_.file, typed.line, typed.word,
                                     "says " + in_quotes(typed.value) + ", and line " + std::to_string(known.line) +
                                         " says " + in_quotes(known.value) + "; look which one is typed"});
            return;
        }
        typed_.push_back(typed);
    }

    /// "0x0017 (23)" as lists of ours have it: one address in both bases. False, and said, where they are two.
    bool take_one_base(Typed& typed) {
        const std::size_t open = typed.value.find('(');
        if (open == std::string::npos || !typed.value.ends_with(')')) return true;
        const std::string whole = typed.value, beside = whole.substr(open + 1, whole.size() - open - 2);
        typed.value = whole.substr(0, whole.find_last_not_of(' ', open - 1) + 1);
        const std::optional<std::uint32_t> first = address_in(typed.value), second = address_in(beside);
        if (first && first == second) return true;
        say(ListFinding::Kind::not_understood, {typed.word, whole, typed.line},
            in_quotes(whole) + " is not one address in two bases; write it in one of them");
        return false;
    }

    [[nodiscard]] std::string nearest(const std::string& name) const {
        std::vector<std::string> names;
        for (const Setting& setting : settings) names.emplace_back(setting.name);
        for (const std::string& signal : signals_) names.push_back(std::string(of_bits) + signal);
        return ", nearest is " + in_quotes(names[nearest_of(name, names)]);
    }

    void say(ListFinding::Kind kind, const ListedSetting& one, std::string message) {
        findings_.push_back({kind, list_.file, one.line, one.word, std::move(message)});
    }

    const SettingList& list_;
    const WordMap& map_;
    const std::vector<std::string>& signals_;
    std::vector<ListFinding>& findings_;
    std::vector<Typed> typed_;
};

const Typed* typed_as(const std::vector<Typed>& all, std::string_view setting) {
    const auto found = std::find_if(all.begin(), all.end(), [&](const Typed& t) { return t.setting == setting; });
    return found == all.end() ? nullptr : &*found;
}

/// What was typed at an end gives way to the list.
void type_as_listed(Node& document, const char* end, const std::vector<Typed>& typed) {
    Node table;
    if (const Node* there = document.find(end)) table = *there;
    // without an address of its own an end is none; that it was not compared is told
    const bool no_address = typed_as(typed, "address") == nullptr;
    std::erase_if(table.members, [&](const Member& member) {
        if (no_address && member.key == "address") return false;
        const bool both =
            std::any_of(both_of.begin(), both_of.end(), [&](const Both& b) { return b.name == member.key; });
        return both || setting_called(member.key) != nullptr || member.key == "bits" || member.key == "network";
    });
    Node bits, network;
    for (const Typed& one : typed) {
        if (one.setting.starts_with(of_bits))
            put(bits, std::string_view(one.setting).substr(of_bits.size()), node_of(one));
        else if (one.setting.starts_with(of_network))
            put(network, std::string_view(one.setting).substr(of_network.size()), node_of(one));
        else
            put(table, one.setting, node_of(one));
    }
    if (!bits.members.empty()) put(table, "bits", std::move(bits));
    if (!network.members.empty()) put(table, "network", std::move(network));
    put(document, end, std::move(table));
}

std::vector<std::string> names_of_signals(const Node& document) {
    std::vector<std::string> names;
    const Node* signals = document.find("signal");
    if (signals == nullptr) return names;
    for (const Node& signal : signals->items)
        if (const Node* name = signal.find("name")) names.push_back(name->text);
    return names;
}

using BothTyped = std::array<std::vector<Typed>, 2>;

/// A setting of network or module that the file types at that end, or for both alike: what it meant to have compared.
bool in_file_at(const Node& document, std::string_view setting, std::size_t end) {
    if (!is_around_setting(setting)) return false;
    const bool network = setting.starts_with(of_network);
    for (const std::string_view name :
         {std::string_view("link"), std::string_view(end == 0 ? "controller" : "device")}) {
        const Node* table = document.find(name);
        if (table != nullptr && network) table = table->find("network");
        if (table != nullptr && table->find(network ? setting.substr(of_network.size()) : setting) != nullptr)
            return true;
    }
    return false;
}
bool in_file(const Node& document, std::string_view setting) {
    return in_file_at(document, setting, 0) || in_file_at(document, setting, 1);
}

/// What cannot be compared, since a list lacks it.
void compare_what_is_there(const Node& document, const ListFiles& files, const BothTyped& typed,
                           const std::vector<std::string>& signals, std::vector<ListFinding>& findings) {
    struct Asked {
        std::string setting;
        bool needed, may_be_alone;
    };
    std::vector<Asked> all;
    for (const Setting& setting : settings)
        all.push_back({std::string(setting.name), setting.needed || in_file(document, setting.name),
                       setting.alone == Setting::Alone::may_be});
    for (const std::string& signal : signals) all.push_back({std::string(of_bits) + signal, true, false});
    for (const auto& [setting, needed, may_be_alone] : all) {
        const std::array<const Typed*, 2> there{typed_as(typed[0], setting), typed_as(typed[1], setting)};
        if (there[0] == nullptr && there[1] == nullptr) {
            if (needed)
                findings.push_back({ListFinding::Kind::missing,
                                    {},
                                    0,
                                    setting,
                                    "stands in neither list; export it, or map the words that it has there"});
            continue;
        }
        for (std::size_t end = 0; end < 2; ++end)
            if (there[end] == nullptr && (!may_be_alone || in_file_at(document, setting, end)))
                findings.push_back({ListFinding::Kind::one_end_only, files[1 - end], there[1 - end]->line, setting,
                                    "stands in this list only; look in " + files[end] + " what it is called there"});
    }
}

/// An error about what came from a list is told with the list's line.
FileError in_list(FileError error, const ListFiles& files, const BothTyped& typed) {
    constexpr std::array<std::string_view, 2> tables{"controller.", "device."};
    for (std::size_t end = 0; end < 2; ++end) {
        if (!error.key.starts_with(tables[end])) continue;
        const Typed* one = typed_as(typed[end], std::string_view(error.key).substr(tables[end].size()));
        if (one == nullptr) continue;
        error.file = files[end];
        error.line = one->line;
        error.key = one->word;
        break;
    }
    return error;
}

/// What both ends of the file have alike; where they have not, what its [link] says.
template <class T>
void take_agreed(std::optional<T>& meant, const T& controller, const T& device) {
    if (controller == device) meant = controller;
}

/// The file says what was meant: by what its ends have alike, bits that they have at the same places among it.
Meant meant_by(const Scenario& file) {
    const proto::LinkSettings &c = file.controller.link, &d = file.device.link;
    Meant meant = file.meant;
    meant.file = std::filesystem::path(file.file).filename().string();
    take_agreed(meant.profile, file.controller.profile_file, file.device.profile_file);
    take_agreed(meant.exchange, c.exchange, d.exchange);
    take_agreed(meant.payload_to_device, c.payload_sent, d.payload_received);
    take_agreed(meant.payload_to_controller, c.payload_received, d.payload_sent);
    take_agreed(meant.byte_order, c.byte_order, d.byte_order);
    take_agreed(meant.cycle, c.cycle, d.cycle);
    take_agreed(meant.controller_watchdog, c.watchdog, d.peer_watchdog);
    take_agreed(meant.device_watchdog, c.peer_watchdog, d.watchdog);
    take_agreed(meant.missing_allowed, c.missing_allowed, d.missing_allowed);
    take_agreed(meant.claimed_level, c.claimed_level, d.claimed_level);
    if (c.own_address == d.peer_address) meant.controller_address = file.controller.own_address();
    if (c.peer_address == d.own_address) meant.device_address = file.device.own_address();
    for (const TypedBit& bit : file.controller.bits) {
        const auto same = [&](const TypedBit& other) { return other.signal == bit.signal; };
        if (std::any_of(file.device.bits.begin(), file.device.bits.end(),
                        [&](const TypedBit& other) { return same(other) && other.place == bit.place; })) {
            std::erase_if(meant.bits, same);
            meant.bits.push_back(bit);
        }
    }
    return meant;
}

}  // namespace

proto::Result<ListedScenario, FileError> read_listed_scenario(const std::string& path, const ListFiles& lists,
                                                              const std::string& map) {
    const auto document = read_document(path);
    if (!document) return document.error();
    if (is_cell(document.value()))
        return FileError{.file = path,
                         .line = 0,
                         .key = "link",
                         .message =
                             "this file has several links, and two lists "
                             "are of one; write a file with that link"};
    WordMap words;
    if (!map.empty()) {
        auto read = read_word_map(map);
        if (!read) return read.error();
        words = std::move(read).value();
    }
    ListedScenario found;
    const std::vector<std::string> signals = names_of_signals(document.value());
    BothTyped typed;
    Node listed = document.value();
    for (std::size_t end = 0; end < 2; ++end) {
        const auto list = read_setting_list(lists[end]);
        if (!list) return list.error();
        typed[end] = ListReader(list.value(), words, signals, found.findings).read();
        type_as_listed(listed, end == 0 ? "controller" : "device", typed[end]);
    }
    compare_what_is_there(document.value(), lists, typed, signals, found.findings);
    auto scenario = scenario_from(listed, path);
    if (!scenario) return in_list(scenario.error(), lists, typed);
    found.scenario = std::move(scenario).value();
    // one whose ends are in the lists only cannot be read alone: then its [link] says what was meant
    if (const auto alone = scenario_from(document.value(), path)) found.scenario.meant = meant_by(alone.value());
    for (const SafeValue& value : found.scenario.values.all)
        found.findings.push_back({ListFinding::Kind::missing,
                                  {},
                                  0,
                                  "values." + value.name,
                                  "is no setting of a list: compare its place, type, order and scale at both ends by "
                                  "the scenario file alone"});
    return found;
}

}  // namespace sim
