#include "tools/text/csv.hpp"

#include <string_view>
#include <vector>

namespace tools {
namespace {

struct Column {
    std::string key, inner;  ///< inner: the key within a nested object, or empty
    std::string name;
};

/// "safe_state_ms" -> "safe_state", and the unit " (ms)" apart.
std::string_view split_unit(std::string& key) {
    constexpr std::string_view ending = "_ms";
    if (key.size() <= ending.size() || !std::string_view(key).ends_with(ending)) return "";
    key.resize(key.size() - ending.size());
    return " (ms)";
}

std::vector<Column> columns_of(const Value& pattern) {
    std::vector<Column> columns;
    const Value::Object* members = pattern.object();
    if (members == nullptr) return columns;
    for (const Value::Member& member : *members) {
        std::string name = member.key;
        const std::string_view unit = split_unit(name);
        if (const Value::Object* nested = member.value.object()) {
            for (const Value::Member& inner : *nested)
                columns.push_back({member.key, inner.key, name + " " + inner.key + std::string(unit)});
        } else {
            columns.push_back({member.key, "", name + std::string(unit)});
        }
    }
    return columns;
}

std::string quoted(std::string_view text) {
    if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
    std::string out = "\"";
    for (const char c : text) {
        if (c == '"') out += '"';
        out += c;
    }
    return out + '"';
}

std::string guarded(std::string text) {
    // A spreadsheet skips leading blanks before it looks for a formula.
    const std::size_t first = text.find_first_not_of(' ');
    if (first != std::string::npos && std::string_view("=+-@\t\r\n").find(text[first]) != std::string_view::npos)
        text.insert(0, 1, '\'');
    return text;
}

std::string cell(const Value* value) {
    if (value == nullptr) return {};
    if (const Value::List* list = value->list()) {
        std::string joined;
        for (const Value& item : *list) joined += (joined.empty() ? "" : " ") + scalar_text(item);
        return quoted(guarded(joined));
    }
    std::string text = scalar_text(*value);
    const bool is_text = std::holds_alternative<std::string>(value->content());
    return quoted(is_text ? guarded(std::move(text)) : text);
}

}  // namespace

std::string to_csv(const Value::List& rows, const Value& pattern) {
    const std::vector<Column> columns = columns_of(pattern);
    std::string out;
    const auto end_cell = [&](const Column& column) { out += &column == &columns.back() ? "\r\n" : ","; };
    for (const Column& column : columns) {
        out += quoted(column.name);
        end_cell(column);
    }
    for (const Value& row : rows) {
        for (const Column& column : columns) {
            const Value* value = row.find(column.key);
            if (value != nullptr && !column.inner.empty()) value = value->find(column.inner);
            out += cell(value);
            end_cell(column);
        }
    }
    return out;
}

}  // namespace tools
