// What a person typed as a value of a file.
#include <algorithm>
#include <set>

#include "sim/reading/file_kind.hpp"
#include "sim/reading/heard_keys.hpp"
#include "sim/reading/key_words.hpp"
#include "sim/reading/patch_checked.hpp"
#include "sim/reading/tree_edits.hpp"
#include "sim/reading/utf8_text.hpp"

namespace sim {
namespace {

using Shape = KeyShape::Kind;
using Kind = Node::Kind;

/// Heard once each, when first asked for: that takes some milliseconds.
template <KeysOf kind>
const HeardKeys& heard_once() {
    static const HeardKeys heard = keys_of(kind);
    return heard;
}

const HeardKeys& keys_of_kind(FileKind file) {
    switch (file) {
        case FileKind::scenario: return heard_once<KeysOf::scenario>();
        case FileKind::profile: return heard_once<KeysOf::profile>();
        case FileKind::module: return heard_once<KeysOf::module>();
        case FileKind::drill:
        case FileKind::action_cards: break;
    }
    return heard_once<KeysOf::drill>();
}

bool leads_to_keys(const HeardKeys& keys, const std::string& path) {
    const auto next = keys.all().lower_bound(path);
    return next != keys.all().end() && next->first.starts_with(path);
}

/// By a path that has a "*" wherever the file gives the name.
const HeardKeys::Shapes* shapes_from(const HeardKeys& keys, const WrittenPath& path) {
    std::set<std::string> ways{""};
    for (const PathStep& step : path) {
        std::set<std::string> next;
        for (const std::string& way : ways) {
            const std::string dot = way.empty() ? "" : ".";
            for (const std::string& more : {step.index > 0 ? "[]" : dot + step.key, dot + "*"})
                if (leads_to_keys(keys, way + more)) next.insert(way + more);
        }
        ways = std::move(next);
    }
    // a key's own name counts before any name
    for (auto way = ways.rbegin(); way != ways.rend(); ++way)
        if (const HeardKeys::Shapes* const found = keys.find(*way)) return found;
    return nullptr;
}

HeardKeys::Shapes shapes_of(FileKind file, WrittenPath path) {
    FileKind kind = file;
    if (file == FileKind::drill) {
        if (path.front().key == "variant" && path.size() > 2) path.erase(path.begin(), path.begin() + 2);
        if (path.front().key == "scenario" && path.size() > 1) {
            path.erase(path.begin());
            kind = FileKind::scenario;
        }
    }
    const HeardKeys::Shapes* const found = shapes_from(keys_of_kind(kind), path);
    return found == nullptr ? HeardKeys::Shapes() : *found;
}

/// What a key may hold, as kinds of values.
struct Holds {
    bool known = false, text = false, number = false, flag = false, list = false, table = false;
};

Holds held_by(const HeardKeys::Shapes& shapes) {
    Holds holds;
    for (const KeyShape& shape : shapes) {
        switch (shape.kind) {
            case Shape::named: continue;
            case Shape::text:
            case Shape::any_text:
            case Shape::quantity:
            case Shape::choice:
            case Shape::pattern: holds.text = true; break;
            case Shape::flag: holds.flag = true; break;
            case Shape::integer:
            case Shape::number: holds.number = true; break;
            case Shape::hex:
            case Shape::any_quantity: holds.text = holds.number = true; break;
            case Shape::texts: holds.text = holds.list = true; break;
            case Shape::integers:
            case Shape::list:
            case Shape::tables: holds.list = true; break;
            case Shape::table:
            case Shape::free_table: holds.table = true; break;
        }
        holds.known = true;
    }
    return holds;
}

/// The kind of the first value of a key that means the same, and is called so.
std::optional<Kind> kind_elsewhere(const Node& node, const WrittenPath& path, const std::string& name,
                                   WrittenPath& here) {
    for (const Member& member : node.members) {
        here.push_back({.key = member.key});
        const bool found = member.key == path.back().key && member.value.kind != Kind::table &&
                           name_in_words(path_in_words(here)) == name;
        std::optional<Kind> kind;
        if (found)
            kind = member.value.kind;
        else
            kind = kind_elsewhere(member.value, path, name, here);
        here.pop_back();
        if (kind) return kind;
    }
    for (const Node& item : node.items)
        if (const std::optional<Kind> kind = kind_elsewhere(item, path, name, here)) return kind;
    return std::nullopt;
}

std::optional<Kind> kind_there(const WrittenFile& file, const WrittenPath& path) {
    if (const Node* const node = node_at(file.tree(), path)) return node->kind;
    WrittenPath here;
    return kind_elsewhere(file.tree(), path, name_in_words(path_in_words(path)), here);
}

/// Whether a value that stands without quotes may stand there so.
bool may_stand(Kind typed, const Holds& holds, const std::optional<Kind>& there) {
    switch (typed) {
        case Kind::integer:
        case Kind::number:
            if (!holds.known) return there != Kind::text;
            return holds.number && (!holds.text || there != Kind::text);
        case Kind::boolean: return holds.known ? holds.flag : there != Kind::text;
        case Kind::array: return holds.known ? holds.list : there != Kind::text;
        case Kind::table: return holds.known ? holds.table : there != Kind::text;
        case Kind::text: return true;
        case Kind::date_or_time: break;
    }
    return false;
}

std::string_view trimmed(std::string_view typed) {
    constexpr std::string_view blanks = " \t\r\n";
    const std::size_t begin = std::min(typed.find_first_not_of(blanks), typed.size());
    typed.remove_prefix(begin);
    while (!typed.empty() && blanks.find(typed.back()) != std::string_view::npos) typed.remove_suffix(1);
    return typed;
}

}  // namespace

proto::Result<std::string, FileError> as_toml(const WrittenFile& file, std::string_view path, std::string_view typed) {
    typed = trimmed(typed);
    if (const auto fault = not_utf8("", typed)) return refused(file, path, fault->message);
    const auto steps = path_in(path);
    if (!steps) return refused(file, path, "is no path of a key; write link.watchdog, or fault[3].at");
    const std::optional<Node> value = value_alone(typed);
    if (!value) return text_written(typed);
    HeardKeys::Shapes shapes = shapes_of(kind_of_tree(file.tree()), *steps);
    Holds holds = held_by(shapes);
    // a list, or a table, is known by what is in it
    if (steps->size() > 0 && !holds.list && holds.known) {
        WrittenPath item = *steps;
        item.push_back({.index = 1});
        holds.list = !shapes_of(kind_of_tree(file.tree()), item).empty();
    }
    if (may_stand(value->kind, holds, kind_there(file, *steps))) return std::string(typed);
    return text_written(typed);
}

}  // namespace sim
