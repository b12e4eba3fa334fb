// A cell's file as one of its links sees it.
#include <algorithm>
#include <initializer_list>
#include <string_view>

#include "sim/reading/cell_parts.hpp"
#include "sim/reading/parts.hpp"

namespace sim {
namespace {

Node text_node(std::string text, int line) {
    Node node;
    node.kind = Node::Kind::text;
    node.line = line;
    node.text = std::move(text);
    return node;
}

void take_away(Node& table, std::initializer_list<std::string_view> keys) {
    std::erase_if(table.members,
                  [&](const Member& member) { return std::find(keys.begin(), keys.end(), member.key) != keys.end(); });
}

std::string numbered(std::string_view key, std::size_t index) {
    return std::string(key) + "[" + std::to_string(index + 1) + "]";
}

class Composer {
  public:
    Composer(const Node& document, const CellParts& parts, std::size_t link)
        : document_(document), parts_(parts), link_(link), in_file_(numbered("link", link)) {}

    LinkDocument compose() {
        made_.node.kind = Node::Kind::table;
        made_.node.line = document_.line;
        for (const char* key : {"title", "shows", "plant", "seed", "duration", "expect_verdict", "mode", "demand"})
            if (const Node* found = document_.find(key)) put(made_.node, key, *found);
        put_link();
        put_controller();
        put_safeguards();
        put_signals();
        put_values();
        put_machine();
        put_functions();
        put_faults();
        put_acts();
        return std::move(made_);
    }

  private:
    const Node& document_;
    const CellParts& parts_;
    std::size_t link_;
    std::string in_file_;
    LinkDocument made_;

    void stands(std::string there, std::string in_file) {
        made_.keys.emplace_back(std::move(there), std::move(in_file));
    }
    [[nodiscard]] const Node& typed_link() const { return document_.find("link")->items[link_]; }
    [[nodiscard]] const std::vector<Node>& list(std::string_view key) const {
        static const std::vector<Node> none;
        const Node* found = document_.find(key);
        return found != nullptr && found->kind == Node::Kind::array ? found->items : none;
    }
    /// What stays of a list; nothing is put for an empty one.
    void put_list(std::string_view key, std::vector<std::pair<std::size_t, Node>> items) {
        if (items.empty()) return;
        Node node;
        node.kind = Node::Kind::array;
        node.line = document_.find(key)->line;
        for (auto& [index, item] : items) {
            stands(numbered(key, node.items.size()), numbered(key, index));
            node.items.push_back(std::move(item));
        }
        put(made_.node, key, std::move(node));
    }

    void put_link() {
        Node shared = typed_link();
        stands("link", in_file_);
        for (const char* key : {"device", "bits", "values", "channel", "required", "limit", "neighbour", "part"}) {
            if (const Node* found = shared.find(key)) put(made_.node, key, *found);
            stands(key, in_file_ + "." + key);
        }
        take_away(shared, {"name", "controller", "device", "bits", "values", "channel", "required", "limit",
                           "neighbour", "part"});
        put(made_.node, "link", std::move(shared));
        if (const Node* device = made_.node.find("device"); device != nullptr && device->find("name") == nullptr) {
            Node named = *device;
            put(named, "name", text_node(parts_.links[link_].device, device->line));
            put(made_.node, "device", std::move(named));
        }
    }

    void put_controller() {
        Node controller = *document_.find("controller");
        take_away(controller, {"scan"});
        if (const Node* own = typed_link().find("controller"); own != nullptr && own->kind == Node::Kind::table)
            for (const Member& member : own->members) {
                if (member.key == "network" && put_network(controller, member.value)) continue;
                put(controller, member.key, member.value);
                stands("controller." + member.key, in_file_ + ".controller." + member.key);
            }
        put(made_.node, "controller", std::move(controller));
    }

    /// The controller's network with what it has for this link alone, such as the other station's address.
    bool put_network(Node& controller, const Node& own) {
        const Node* shared = controller.find("network");
        if (shared == nullptr || shared->kind != Node::Kind::table || own.kind != Node::Kind::table) return false;
        Node network = *shared;
        for (const Member& member : own.members) {
            put(network, member.key, member.value);
            stands("controller.network." + member.key, in_file_ + ".controller.network." + member.key);
        }
        put(controller, "network", std::move(network));
        return true;
    }

    void put_safeguards() {
        std::vector<std::pair<std::size_t, Node>> items;
        for (std::size_t i = 0; i < list("safeguard").size(); ++i) {
            Node item = list("safeguard")[i];
            const Node* at = item.find("at");
            put(item, "at", text_node(parts_.safeguards[i] == link_ ? "device" : "controller", at->line));
            items.emplace_back(i, std::move(item));
        }
        put_list("safeguard", std::move(items));
    }

    void put_signals() {
        std::vector<std::pair<std::size_t, Node>> items;
        for (std::size_t i = 0; i < list("signal").size(); ++i) {
            Node item = list("signal")[i];
            take_away(item, {"link"});
            item.elsewhere = parts_.signals[i] != link_;
            items.emplace_back(i, std::move(item));
        }
        put_list("signal", std::move(items));
    }

    void put_values() {
        std::vector<std::pair<std::size_t, Node>> items;
        for (std::size_t i = 0; i < list("value").size(); ++i) {
            if (parts_.values[i] != link_) continue;
            Node item = list("value")[i];
            take_away(item, {"link"});
            if (const Node* from = item.find("from")) item.elsewhere = is_value_of_another(from->text);
            items.emplace_back(i, std::move(item));
        }
        put_list("value", std::move(items));
    }
    [[nodiscard]] bool is_value_of_another(const std::string& called) const {
        for (std::size_t i = 0; i < list("value").size(); ++i) {
            const Node* name = list("value")[i].find("name");
            if (name != nullptr && name->text == called) return parts_.values[i] != link_;
        }
        return false;
    }

    [[nodiscard]] const CellParts::Machine* own_machine() const {
        for (const CellParts::Machine& machine : parts_.machines)
            if (machine.home == link_) return &machine;
        return nullptr;
    }

    void put_machine() {
        const CellParts::Machine* own = own_machine();
        if (own == nullptr) return;
        const auto index = static_cast<std::size_t>(own - parts_.machines.data());
        Node machine = list("machine")[index];
        put(machine, "at", text_node("device", machine.find("at")->line));
        stands("machine", numbered("machine", index));
        if (const Node* stopping = machine.find("stopping")) {
            put(made_.node, "stopping", *stopping);
            stands("stopping", numbered("machine", index) + ".stopping");
            take_away(machine, {"stopping"});
        }
        put(made_.node, "machine", std::move(machine));
    }

    /// What a function asks of this link's machine; nothing if it asks nothing of it.
    [[nodiscard]] std::optional<Node> own_share(const Node& function, const std::string& machine) const {
        const bool alone = parts_.machines.size() == 1;
        const auto is_own = [&](const Node& row) {
            const Node* of = row.find("machine");
            return of != nullptr ? of->text == machine : alone;
        };
        const Node* must = function.find("must");
        Node share = function;
        if (must == nullptr || must->kind != Node::Kind::array)
            return is_own(function) ? std::optional(std::move(share)) : std::nullopt;
        Node rows = *must;
        std::erase_if(rows.items, [&](const Node& row) { return !is_own(row); });
        if (rows.items.empty()) return std::nullopt;
        put(share, "must", std::move(rows));
        return share;
    }

    void put_functions() {
        const CellParts::Machine* own = own_machine();
        if (own == nullptr) return;
        std::vector<std::pair<std::size_t, Node>> items;
        for (std::size_t i = 0; i < list("function").size(); ++i)
            if (auto share = own_share(list("function")[i], own->name)) items.emplace_back(i, std::move(*share));
        put_list("function", std::move(items));
    }

    /// Telegrams of one link arrive at the other: both are struck.
    static bool strikes_both(const Node& fault) {
        const Node* way = fault.find("way");
        return way != nullptr && way->text != "neighbour";
    }
    void put_faults() {
        std::vector<std::pair<std::size_t, Node>> items;
        for (std::size_t i = 0; i < list("fault").size(); ++i) {
            const std::optional<std::size_t>& other = parts_.other_links[i];
            const bool from_other = other == link_ && strikes_both(list("fault")[i]);
            if (parts_.faults[i] && *parts_.faults[i] != link_ && !from_other) continue;
            Node item = list("fault")[i];
            take_away(item, {"link"});
            if (other) {
                Node name = text_node(parts_.links[from_other ? *parts_.faults[i] : *other].name, item.line);
                if (const Node* typed = item.find("other_link")) name.line = typed->line;
                name.elsewhere = true;
                put(item, "other_link", std::move(name));
            }
            // what is expected is expected where it strikes
            if (from_other) take_away(item, {"expect"});
            item.elsewhere = from_other;
            items.emplace_back(i, std::move(item));
        }
        put_list("fault", std::move(items));
    }

    void put_acts() {
        std::vector<std::pair<std::size_t, Node>> items;
        for (std::size_t i = 0; i < list("operator").size(); ++i) {
            if (parts_.acts[i] && *parts_.acts[i] != link_) continue;
            Node item = list("operator")[i];
            take_away(item, {"link", "machine"});
            item.elsewhere = true;
            items.emplace_back(i, std::move(item));
        }
        put_list("operator", std::move(items));
    }
};

bool is_at_or_below(std::string_view key, std::string_view path) {
    return key.starts_with(path) && (key.size() == path.size() || key[path.size()] == '.' || key[path.size()] == '[');
}

}  // namespace

LinkDocument document_of_link(const Node& document, const CellParts& parts, std::size_t link) {
    return Composer(document, parts, link).compose();
}

std::string key_in_file(const LinkDocument& document, const std::string& key) {
    const std::pair<std::string, std::string>* best = nullptr;
    for (const auto& pair : document.keys)
        if (is_at_or_below(key, pair.first) && (best == nullptr || pair.first.size() > best->first.size()))
            best = &pair;
    return best == nullptr ? key : best->second + key.substr(best->first.size());
}

}  // namespace sim
