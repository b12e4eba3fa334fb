#include "sim/reading/cell_parts.hpp"

#include <algorithm>
#include <string_view>

#include "sim/reading/parts.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/whole_cell.hpp"

namespace sim {
namespace {

bool is_list(const Node* node) { return node != nullptr && node->kind == Node::Kind::array; }

std::string nearest_name(const std::vector<std::string>& names, std::string_view name) {
    return names.empty() ? std::string() : "; " + offered_for(name, names);
}

/// Reads what tells the links of one file apart.
class PartsReader {
  public:
    PartsReader(Section& top, CellParts& parts) : top_(top), parts_(parts) {}

    void read() {
        if (std::optional<Section> controller = top_.table("controller"))
            parts_.controller = controller->text("name").value_or("controller");
        else
            top_.missing("controller", "{ address = \"0x0010\" }, or a table [controller]");
        read_links();
        if (top_.problems().any()) return;
        read_machines();
        read_stations();
        read_signals();
        read_faults();
        read_acts();
    }

  private:
    Section& top_;
    CellParts& parts_;

    [[nodiscard]] std::vector<std::string> link_names() const {
        std::vector<std::string> names;
        for (const CellParts::Link& link : parts_.links) names.push_back(link.name);
        return names;
    }
    [[nodiscard]] std::vector<std::string> stations() const {
        std::vector<std::string> names{parts_.controller};
        for (const CellParts::Link& link : parts_.links) names.push_back(link.device);
        return names;
    }

    void read_links() {
        for (Section& section : top_.tables("link")) {
            if (parts_.links.size() == cell_links_max)
                return top_.problems().say(section.place(), "is one too many; write at most 8 links");
            CellParts::Link link;
            link.name = section.text("name").value_or("");
            if (link.name.empty() || link.name.size() > 60)
                section.say("name", "a link of a cell needs a name of 1 to 60 letters; write name = \"infeed\"");
            for (const CellParts::Link& other : parts_.links)
                if (other.name == link.name)
                    section.say("name", in_quotes(link.name) + " is taken by another link; write another name");
            link.device = link.name;
            if (std::optional<Section> device = section.table("device"))
                link.device = device->text("name").value_or(link.name);
            else
                section.say("device", "is missing; write [link.device] with its address");
            for (const std::string& other : stations())
                if (other == link.device)
                    section.problems().say(section.place(), "the station " + in_quotes(link.device) +
                                                                " is there already; write another name in its "
                                                                "[link.device]");
            parts_.links.push_back(std::move(link));
        }
        if (parts_.links.empty()) top_.problems().say({0, "link"}, "there is none; write [[link]] tables");
    }

    /// The link at whose device that station is, nothing for the controller; says so if it is none.
    bool station(Section& section, std::string_view key, std::optional<std::size_t>& link) {
        const std::optional<std::string> typed = section.text(key);
        holds(section, key, KeyShape::of(KeyShape::Kind::any_text));
        if (!typed) return section.has(key);
        link.reset();
        if (*typed == parts_.controller || *typed == "controller") return true;
        for (std::size_t i = 0; i < parts_.links.size(); ++i)
            if (parts_.links[i].device == *typed) link = i;
        if (!link) section.say(key, in_quotes(*typed) + " is no station" + nearest_name(stations(), *typed));
        return true;
    }

    /// The link named under `link`; nothing if none is.
    std::optional<std::size_t> link_of(Section& section) {
        const std::optional<std::string> typed = section.text("link");
        if (!typed) return std::nullopt;
        for (std::size_t i = 0; i < parts_.links.size(); ++i)
            if (parts_.links[i].name == *typed) return i;
        section.say("link", in_quotes(*typed) + " is no link" + nearest_name(link_names(), *typed));
        return std::nullopt;
    }

    void read_machines() {
        std::vector<bool> taken(parts_.links.size());
        std::vector<Section> sections = top_.tables("machine");
        for (Section& section : sections) {
            if (parts_.machines.size() == cell_links_max)
                return top_.problems().say(section.place(), "is one too many; write at most 8 machines");
            CellParts::Machine machine;
            machine.name = section.text("name").value_or("");
            if (machine.name.empty()) section.say("name", "a machine of a cell needs one; write name = \"saw\"");
            for (const CellParts::Machine& other : parts_.machines)
                if (other.name == machine.name)
                    section.say("name", in_quotes(machine.name) + " is taken; write another name");
            std::optional<std::size_t> at;
            if (!station(section, "at", at))
                section.say("at", "is missing; write the station that commands it, such as at = " +
                                      in_quotes(parts_.links.front().device));
            if (section.has("at") && !section.wrong("at") && !at)
                section.say("at",
                            "in a file with several links each machine is commanded by a station of its own; write a "
                            "device's name, such as at = " +
                                in_quotes(parts_.links.front().device));
            machine.home = at.value_or(0);
            if (at && taken[*at])
                section.say("at", "another machine is commanded there already; write one machine a station");
            if (at) taken[*at] = true;
            parts_.machines.push_back(std::move(machine));
        }
    }

    void read_stations() {
        for (Section& section : top_.tables("safeguard")) {
            std::optional<std::size_t> at;
            if (!station(section, "at", at))
                section.say("at", "is missing; write the station that reads it, such as at = " +
                                      in_quotes(parts_.links.front().device));
            parts_.safeguards.push_back(at);
        }
    }

    void read_signals() {
        for (Section& section : top_.tables("signal")) {
            const std::optional<std::size_t> link = link_of(section);
            if (!section.has("link"))
                section.say("link", "is missing; write which link carries it, such as link = " +
                                        in_quotes(parts_.links.front().name));
            parts_.signals.push_back(link.value_or(0));
        }
        for (Section& section : top_.tables("value")) {
            const std::optional<std::size_t> link = link_of(section);
            if (!section.has("link"))
                section.say("link", "is missing; write which link carries it, such as link = " +
                                        in_quotes(parts_.links.front().name));
            parts_.values.push_back(link.value_or(0));
        }
        check_sources();
        check_reduced_speeds();
    }

    /// A machine hears of what its own link carries only.
    void check_reduced_speeds() {
        std::vector<Section> values = top_.tables("value");
        std::vector<Section> machines = top_.tables("machine");
        for (std::size_t m = 0; m < machines.size() && m < parts_.machines.size(); ++m) {
            const std::string from = machines[m].text("reduced_speed_from").value_or("");
            for (std::size_t i = 0; i < values.size() && i < parts_.values.size(); ++i) {
                if (from.empty() || values[i].text("name").value_or("") != from) continue;
                if (parts_.values[i] == parts_.machines[m].home) continue;
                machines[m].say(
                    "reduced_speed_from",
                    in_quotes(from) + " is carried by link " + in_quotes(parts_.links[parts_.values[i]].name) +
                        ", and this machine hears of link " + in_quotes(parts_.links[parts_.machines[m].home].name) +
                        " only; write a [[value]] of that link with from = " + in_quotes(from) + ", and its name here");
            }
        }
    }

    /// A safeguard is a source where it is read only: in another link's view it would seem to be one at the controller.
    void check_sources() {
        std::vector<std::string> names;
        for (Section& section : top_.tables("safeguard")) names.push_back(section.text("name").value_or(""));
        std::vector<Section> sections = top_.tables("signal");
        for (std::size_t i = 0; i < sections.size() && i < parts_.signals.size(); ++i) {
            const bool out = sections[i].text("direction").value_or("") == "to-device";
            std::optional<Section> muted = sections[i].has("muted_by") ? sections[i].table("muted_by") : std::nullopt;
            for (const char* key : {"all_of", "any_of", "sensors"}) {
                Section* const at_key = std::string_view(key) == "sensors" ? (muted ? &*muted : nullptr) : &sections[i];
                if (at_key == nullptr || !at_key->has(key)) continue;
                for (const std::string& source : at_key->texts(key)) {
                    const auto found = std::find(names.begin(), names.end(), source);
                    if (found == names.end()) continue;
                    const std::optional<std::size_t> at =
                        parts_.safeguards[static_cast<std::size_t>(found - names.begin())];
                    const bool there = out ? !at : at == parts_.signals[i];
                    if (there) continue;
                    at_key->say(key, in_quotes(source) + " is read at " + station_name(at) +
                                         ", but this signal is sent by " +
                                         station_name(out ? std::nullopt : std::optional(parts_.signals[i])) +
                                         "; send it there with a signal of its own, and write that signal here");
                }
            }
        }
    }
    [[nodiscard]] const std::string& station_name(std::optional<std::size_t> link) const {
        return link ? parts_.links[*link].device : parts_.controller;
    }

    void read_faults() {
        for (Section& section : top_.tables("fault")) {
            const std::optional<std::size_t> link = link_of(section);
            const bool of_controller = section.text("at_end").value_or("") == "controller";
            if (!section.has("link") && !of_controller)
                section.say("link", "is missing; write which link it strikes, such as link = " +
                                        in_quotes(parts_.links.front().name));
            if (section.has("link") && of_controller)
                section.say("link", "a fault of the controller strikes all its links; take it away");
            parts_.faults.push_back(of_controller ? std::nullopt : std::optional(link.value_or(0)));
            parts_.other_links.push_back(other_link(section, parts_.faults.back()));
        }
    }
    /// Of a fault that needs a second link: the one named, or the next one unless there is a foreign neighbour.
    std::optional<std::size_t> other_link(Section& section, std::optional<std::size_t> own) {
        const std::string way = section.text("way").value_or("");
        const bool named = section.has("other_link");
        const bool needs_one = way == "neighbour" || way == "swap" || way == "misdeliver";
        if (!own || !needs_one) return std::nullopt;
        if (!named) {
            const bool foreign = top_.tables("link")[*own].has("neighbour");
            if (foreign || parts_.links.size() < 2) return std::nullopt;
            return (*own + 1) % parts_.links.size();
        }
        const std::optional<std::string> typed = section.text("other_link");
        for (std::size_t i = 0; typed && i < parts_.links.size(); ++i) {
            if (parts_.links[i].name != *typed) continue;
            if (i == *own) section.say("other_link", in_quotes(*typed) + " is the link itself; write another one");
            return i;
        }
        if (typed) section.say("other_link", in_quotes(*typed) + " is no link" + nearest_name(link_names(), *typed));
        return std::nullopt;
    }

    void read_acts() {
        for (Section& section : top_.tables("operator")) {
            const std::string does = section.text("does").value_or("");
            if (does == "acknowledge" || does == "hold-acknowledge")
                parts_.acts.push_back(link_of_acknowledging(section));
            else if (does == "start-machine")
                parts_.acts.push_back(link_of_start(section));
            else
                parts_.acts.push_back(for_all(section));
        }
    }
    std::optional<std::size_t> link_of_acknowledging(Section& section) {
        if (!section.has("link"))
            section.say("link", "is missing; write which link is acknowledged, such as link = " +
                                    in_quotes(parts_.links.front().name) + ", or link = \"all\"");
        if (section.text("link").value_or("") == "all") return std::nullopt;
        return link_of(section).value_or(0);
    }
    std::optional<std::size_t> link_of_start(Section& section) {
        std::vector<std::string> names;
        for (const CellParts::Machine& machine : parts_.machines) names.push_back(machine.name);
        if (section.has("link"))
            section.say("link", "a machine is started once its own link runs; take it away, or write at = \"2 s\"");
        const std::optional<std::string> typed = section.text("machine");
        if (!typed && parts_.machines.size() == 1) return parts_.machines.front().home;
        if (!typed) {
            section.say("machine",
                        "is missing; write which one is started" +
                            (names.empty() ? std::string() : ", such as machine = " + in_quotes(names.front())));
            return 0;
        }
        for (const CellParts::Machine& machine : parts_.machines)
            if (machine.name == *typed) return machine.home;
        section.say("machine", in_quotes(*typed) + " is no machine" + nearest_name(names, *typed));
        return 0;
    }
    std::optional<std::size_t> for_all(Section& section) {
        if (section.has("link")) section.say("link", "means nothing for this act; take it away");
        if (section.has("on"))
            section.say("on", "in a cell a reset and a change of mode come at a time; write at = \"2 s\"");
        return std::nullopt;
    }
};

}  // namespace

bool is_cell(const Node& document) { return is_list(document.find("link")) || is_list(document.find("machine")); }

CellParts cell_parts(Section& top) {
    CellParts parts;
    PartsReader(top, parts).read();
    return parts;
}

}  // namespace sim
