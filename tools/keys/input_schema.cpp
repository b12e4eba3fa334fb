#include "tools/keys/input_schema.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>
#include <utility>

#include "sim/reading/key_words.hpp"
#include "tools/keys/key_tree.hpp"
#include "tools/text/json.hpp"

namespace tools {
namespace {

using sim::KeyShape;
using Kind = KeyShape::Kind;
using Object = Value::Object;
using List = Value::List;
using Tables = std::vector<sim::KeyTable>;

/// Kinds that are texts as well: any text is then not what is meant.
bool is_narrow_text(Kind kind) {
    return kind == Kind::quantity || kind == Kind::choice || kind == Kind::pattern || kind == Kind::hex;
}

std::string joined(const std::vector<std::string>& words, std::string_view between) {
    std::string all;
    for (const std::string& word : words) all += (all.empty() ? "" : std::string(between)) + word;
    return all;
}

Object text_of_pattern(std::string pattern) { return {{"type", "string"}, {"pattern", Value(std::move(pattern))}}; }

Object words_of(const KeyShape& shape) {
    if (shape.words.empty()) return {{"type", "string"}};
    return {{"type", "string"}, {"enum", Value::list_of(shape.words)}};
}

Object whole_number(const KeyShape& shape) {
    return {{"type", "integer"}, {"minimum", shape.low}, {"maximum", shape.high}};
}

/// What one reader takes, in JSON; several where it takes one thing or another.
std::vector<Object> forms_of(const KeyShape& shape) {
    // a point between digits, and blanks where people put them
    constexpr const char* digits = "[0-9]+(\\.[0-9]+)?";
    switch (shape.kind) {
        case Kind::named:
        case Kind::table:
        case Kind::tables:
        case Kind::free_table: return {};
        case Kind::text:
        case Kind::any_text: return {{{"type", "string"}}};
        case Kind::flag: return {{{"type", "boolean"}}};
        case Kind::integer: return {whole_number(shape)};
        case Kind::hex: return {whole_number(shape), text_of_pattern("^(0[xX][0-9A-Fa-f]+|[0-9]+)$")};
        case Kind::number: return {{{"type", "number"}, {"minimum", shape.least}, {"maximum", shape.most}}};
        case Kind::quantity:
            return {text_of_pattern("^ *-?" + std::string(digits) + " *(" + joined(shape.words, "|") + ") *$")};
        case Kind::any_quantity:
            return {{{"type", "number"}}, text_of_pattern("^ *-?" + std::string(digits) + "( *[a-z]+[a-z0-9/]*)? *$")};
        case Kind::texts: return {words_of(shape), {{"type", "array"}, {"items", words_of(shape)}}};
        case Kind::integers: return {{{"type", "array"}, {"items", whole_number(shape)}}};
        case Kind::list: return {{{"type", "array"}}};
        case Kind::choice: return {words_of(shape)};
        case Kind::pattern: return {text_of_pattern(shape.words.front())};
    }
    return {};
}

/// Unit and limits of a quantity, in sentences.
std::string limits_of(const KeyShape& shape) {
    if (shape.kind != Kind::quantity) return {};
    std::string text = " Unit: " + joined(shape.words, ", ") + ".";
    if (shape.above_zero) text += " More than 0.";
    const bool times = std::find(shape.words.begin(), shape.words.end(), "min") != shape.words.end();
    if (shape.largest > 0 && times) text += " At most " + sim::written(proto::Duration{shape.largest}) + ".";
    return text;
}

/// The value that a default in Markdown is, where it is one: `"trip"`, `2`, `false`.
std::optional<Value> literal(std::string_view text) {
    if (text.size() < 3 || !text.starts_with('`') || !text.ends_with('`')) return std::nullopt;
    text = text.substr(1, text.size() - 2);
    if (text.find('`') != std::string_view::npos) return std::nullopt;
    auto read = from_json(text);
    if (!read) return std::nullopt;
    return read.value();
}

class SchemaMaker {
  public:
    explicit SchemaMaker(Tables tables) : tables_(std::move(tables)) {}

    /// `all`: what must be there must be there; else it lies over another file that has it.
    Object table(const std::map<std::string, KeyTree>& below, bool all) {
        Object properties;
        List required;
        for (const auto& [key, tree] : below) {
            if (key == "*" || !tree.is_read()) continue;
            properties.push_back({key, property(tree, all)});
            if (all && is_needed(tree)) required.emplace_back(key);
        }
        Object made{{"type", "object"}, {"properties", std::move(properties)}};
        if (const auto any = below.find("*"); any != below.end())
            made.push_back({"patternProperties", Object{{"^.+$", property(any->second, all)}}});
        if (!required.empty()) made.push_back({"required", std::move(required)});
        made.push_back({"additionalProperties", false});
        return made;
    }

    /// A key that is described in another way than by what its reader asks for.
    void holds_instead(const std::string& path, Object form) { instead_.emplace(path, std::move(form)); }

    /// One object for each table, however often it stands.
    Value reference(const std::string& path, Object object, bool all) {
        std::string text = to_json(Value(object));
        const auto known = names_.find(text);
        if (known != names_.end()) return to(known->second);
        std::string name = sim::name_in_words(path);
        std::replace(name.begin(), name.end(), '.', '-');
        std::replace(name.begin(), name.end(), '*', 'x');
        if (!all) name += "-over";
        std::string free = name;
        for (int i = 2; std::any_of(made_.begin(), made_.end(), [&](const auto& m) { return m.key == free; }); ++i)
            free = name + "-" + std::to_string(i);
        made_.push_back({free, std::move(object)});
        names_.emplace(std::move(text), free);
        return to(free);
    }

    Object property(const KeyTree& tree, bool all) {
        Object made = described(tree);
        if (const auto other = instead_.find(tree.path); other != instead_.end()) {
            made.insert(made.end(), other->second.begin(), other->second.end());
            return made;
        }
        List forms;
        const bool narrow = std::any_of(tree.shapes.begin(), tree.shapes.end(),
                                        [](const KeyShape& s) { return is_narrow_text(s.kind); });
        const bool has_rows = !tree.in_rows.empty(), has_table = !tree.below.empty() || holds(tree, Kind::table);
        for (const KeyShape& shape : tree.shapes) {
            if (shape.kind == Kind::text && narrow) continue;
            for (Object& form : forms_of(shape)) forms.emplace_back(std::move(form));
        }
        if (has_table) forms.push_back(reference(tree.path, table(tree.below, all), all));
        if (has_rows)
            forms.emplace_back(
                Object{{"type", "array"}, {"items", reference(tree.path + "[]", table(tree.in_rows, true), true)}});
        if (forms.size() > 1)
            made.push_back({"anyOf", std::move(forms)});
        else if (!forms.empty() && forms.front().find("$ref") != nullptr)
            made.push_back({"allOf", std::move(forms)});  // beside a reference nothing else would count
        else if (!forms.empty())
            for (const Value::Member& member : *forms.front().object()) made.push_back(member);
        return made;
    }

    /// What the references lead to; once, when all is made.
    Object definitions() { return std::move(made_); }

  private:
    Tables tables_;
    Object made_;
    std::map<std::string, std::string> names_;  ///< of what was made, by its text
    std::map<std::string, Object> instead_;

    static Value to(const std::string& name) { return Object{{"$ref", "#/definitions/" + name}}; }
    static bool holds(const KeyTree& tree, Kind kind) {
        return std::any_of(tree.shapes.begin(), tree.shapes.end(), [&](const KeyShape& s) { return s.kind == kind; });
    }

    /// In every file: not a setting that may stand in another table too, nor what only a file with several links needs.
    [[nodiscard]] bool is_needed(const KeyTree& tree) const {
        std::string plain = tree.path;
        std::erase_if(plain, [](char c) { return c == '[' || c == ']'; });
        if (sim::name_in_words(tree.path) != plain) return false;
        const auto rows = sim::rows_of(tables_, plain);
        if (rows.empty() || rows.front().table == "cell" || rows.front().table == "link") return false;
        return rows.front().row.otherwise == "needed";
    }

    [[nodiscard]] Object described(const KeyTree& tree) const {
        std::string text;
        std::optional<Value> otherwise;
        const auto rows = sim::rows_of(tables_, sim::name_in_words(tree.path));
        for (const sim::FoundRow& found : rows)
            text += (text.empty()            ? ""
                     : found.table == "cell" ? " In a file with several links: "
                                             : " Or: ") +
                    std::string(found.row.meaning) + ".";
        for (const KeyShape& shape : tree.shapes) text += limits_of(shape);
        if (!rows.empty() && !rows.front().row.otherwise.empty()) {
            const std::string without(rows.front().row.otherwise);
            text += without.starts_with("needed") ? " N" + without.substr(1) + "." : " Default: " + without + ".";
            otherwise = literal(without);
        }
        Object made;
        if (!text.empty()) made.push_back({"description", text});
        if (otherwise) made.push_back({"default", *otherwise});
        return made;
    }
};

constexpr const char* title_of(sim::KeysOf file) {
    switch (file) {
        case sim::KeysOf::scenario: return "A scenario of linkdrill";
        case sim::KeysOf::profile: return "A telegram profile of linkdrill";
        case sim::KeysOf::module: return "A payload module of linkdrill";
        case sim::KeysOf::drill: return "A drill of linkdrill";
    }
    return "";
}

Tables tables_of(sim::KeysOf file) {
    const auto list = [](std::span<const sim::KeyTable> own) { return Tables(own.begin(), own.end()); };
    switch (file) {
        case sim::KeysOf::scenario: return sim::words_of_scenarios();
        case sim::KeysOf::profile: return list(sim::words_of_profiles());
        case sim::KeysOf::module: return list(sim::words_of_modules());
        case sim::KeysOf::drill: return list(sim::words_of_drills());
    }
    return {};
}

void note_names(const std::map<std::string, KeyTree>& below, std::vector<std::string>& names) {
    for (const auto& [key, tree] : below) {
        if (!tree.is_read()) continue;
        names.push_back(sim::name_in_words(tree.path));
        note_names(tree.below, names);
        note_names(tree.in_rows, names);
    }
}

}  // namespace

Value input_schema(sim::KeysOf file) {
    const KeyTree tree = key_tree(sim::keys_of(file));
    SchemaMaker maker(tables_of(file));
    Object definitions;
    if (file == sim::KeysOf::drill) {
        // what is laid over a plant has the keys of a scenario, and a variant those of the drill
        SchemaMaker of_plant(tables_of(sim::KeysOf::scenario));
        Object plant = of_plant.table(key_tree(sim::keys_of(sim::KeysOf::scenario)).below, false);
        for (Value::Member& one : of_plant.definitions()) definitions.push_back(std::move(one));
        definitions.push_back({"laid-over-plant", std::move(plant)});
        const auto to = [](const char* name) { return Object{{"$ref", std::string("#/definitions/") + name}}; };
        maker.holds_instead("scenario", Object{{"allOf", List{to("laid-over-plant")}}});
        maker.holds_instead("variant", Object{{"type", "array"}, {"items", to("laid-over-drill")}});
        definitions.push_back({"laid-over-drill", maker.table(tree.below, false)});
    }
    Object root = maker.table(tree.below, true);
    for (Value::Member& one : maker.definitions()) definitions.push_back(std::move(one));
    Object schema{{"$schema", "http://json-schema.org/draft-07/schema#"}, {"title", title_of(file)}};
    for (Value::Member& member : root) schema.push_back(std::move(member));
    schema.push_back({"definitions", std::move(definitions)});
    return schema;
}

std::string key_tables(sim::KeysOf file) {
    std::string text;
    for (const sim::KeyTable& table : tables_of(file)) {
        if (table.id.empty()) continue;
        text += "<!-- keys: " + std::string(table.id) + " -->\n| " + std::string(table.head) + " |\n|";
        const bool three = table.head.ends_with("default");
        for (int i = three ? 3 : 2; i > 0; --i) text += " --- |";
        text += '\n';
        for (const sim::KeyRow& row : table.rows) {
            std::string shown(row.shown);
            for (std::string_view keys = row.keys; row.shown.empty() && !keys.empty();) {
                const std::size_t end = std::min(keys.find(' '), keys.size());
                shown += (shown.empty() ? "`" : ", `") + std::string(keys.substr(0, end)) + "`";
                keys.remove_prefix(std::min(end + 1, keys.size()));
            }
            text += "| " + shown + " | " + std::string(row.meaning) + " |";
            if (three) text += row.otherwise.empty() ? " |" : " " + std::string(row.otherwise) + " |";
            text += '\n';
        }
        text += "<!-- end of keys -->\n";
    }
    return text;
}

namespace {

/// Tables of which nothing is known that stands in them: no file of sim/reading/key_probes has one, and the schema
/// would refuse whatever is written there.
void note_empty_tables(const std::map<std::string, KeyTree>& below, std::vector<std::string>& paths) {
    for (const auto& [key, tree] : below) {
        for (const KeyShape& shape : tree.shapes)
            if ((shape.kind == Kind::table && tree.below.empty()) ||
                (shape.kind == Kind::tables && tree.in_rows.empty()))
                paths.push_back(tree.path);
        note_empty_tables(tree.below, paths);
        note_empty_tables(tree.in_rows, paths);
    }
}

}  // namespace

WordsAmiss words_amiss(sim::KeysOf file) {
    WordsAmiss amiss;
    const Tables tables = tables_of(file);
    std::vector<std::string> names;
    const KeyTree tree = key_tree(sim::keys_of(file));
    note_names(tree.below, names);
    note_empty_tables(tree.below, amiss.empty_tables);
    for (const std::string& name : names)
        if (sim::rows_of(tables, name).empty()) amiss.keys.push_back(name);
    for (const sim::KeyTable& table : tables)
        for (const sim::KeyRow& row : table.rows)
            for (std::string_view keys = row.keys; !keys.empty();) {
                const std::size_t end = std::min(keys.find(' '), keys.size());
                const std::string name = std::string(table.prefix) + std::string(keys.substr(0, end));
                if (std::find(names.begin(), names.end(), name) == names.end()) amiss.words.push_back(name);
                keys.remove_prefix(std::min(end + 1, keys.size()));
            }
    return amiss;
}

}  // namespace tools
