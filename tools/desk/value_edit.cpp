#include "tools/desk/value_edit.hpp"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <limits>
#include <utility>

#include "sim/scenario/nearest.hpp"
#include "tools/desk/address_edit.hpp"

namespace tools {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return std::isalpha(static_cast<unsigned char>(c)) != 0; }

std::string_view trimmed(std::string_view text) {
    constexpr std::string_view around = " \t\"'";
    const std::size_t from = text.find_first_not_of(around);
    if (from == std::string_view::npos) return {};
    return text.substr(from, text.find_last_not_of(around) - from + 1);
}

/// A number at the begin of a text, and the unit behind it: "200 ms; ..." gives "200 ms".
std::string_view quantity_in(std::string_view text) {
    if (text.starts_with("0x")) return {};  // the end of a range of addresses is nobody's
    std::size_t end = 0;
    while (end < text.size() &&
           (is_digit(text[end]) || (text[end] == '.' && end + 1 < text.size() && is_digit(text[end + 1]))))
        ++end;
    if (end == 0) return {};
    std::size_t unit = end;
    if (unit < text.size() && text[unit] == ' ') ++unit;
    const std::size_t begin = unit;
    while (unit < text.size() && (is_letter(text[unit]) || text[unit] == '/')) ++unit;
    return text.substr(0, unit > begin ? unit : end);
}

/// The number alone: "200" of "200 telegrams".
std::string_view number_in(std::string_view quantity) {
    return quantity.substr(0, std::min(quantity.find(' '), quantity.size()));
}

std::string_view unit_of(std::string_view typed) {
    const std::string_view quantity = quantity_in(typed);
    std::size_t at = 0;
    while (at < quantity.size() && !is_letter(quantity[at])) ++at;
    return quantity.substr(at);
}

void add(std::vector<std::string>& all, std::string one, std::string_view typed) {
    if (one.empty() || one == typed || std::find(all.begin(), all.end(), one) != all.end()) return;
    all.push_back(std::move(one));
}

/// A word of those that the refusal lists, if somebody may have meant that.
void add_word(std::vector<std::string>& all, std::string_view typed, std::string_view refusal) {
    for (const std::string_view before : {"nearest is \"", "did you mean \""})
        if (const std::size_t at = refusal.find(before); at != std::string_view::npos) {
            const std::string_view rest = refusal.substr(at + before.size());
            add(all, std::string(rest.substr(0, std::min(rest.find('"'), rest.size()))), typed);
        }
    constexpr std::string_view listed = "is none of ";
    std::size_t at = refusal.find(listed);
    if (at == std::string_view::npos) return;
    std::string_view rest = refusal.substr(at + listed.size());
    rest = rest.substr(0, std::min(rest.find(';'), rest.size()));
    std::vector<std::string> words;
    for (; !rest.empty(); rest = at == std::string_view::npos ? std::string_view() : rest.substr(at + 2)) {
        at = rest.find(", ");
        words.emplace_back(rest.substr(0, at));
    }
    if (words.empty()) return;
    const std::string& nearest = words[sim::nearest_of(typed, words)];
    if (sim::looks_like(typed, nearest)) add(all, nearest, typed);
}

std::optional<double> value_of(std::string_view number) {
    double value = 0;
    const auto [end, failed] = std::from_chars(number.data(), number.data() + number.size(), value);
    if (failed != std::errc{} || number.empty() || end != number.data() + number.size()) return std::nullopt;
    return value;
}

/// The bounds that the refusal names; of two the one that is nearer.
void add_bounds(std::vector<std::string>& all, std::string_view typed, std::string_view refusal) {
    std::vector<std::string> bounds;
    for (const std::string_view before : {"at most ", "at least ", "write ", "to "})
        for (std::size_t at = refusal.find(before); at != std::string_view::npos; at = refusal.find(before, at + 1)) {
            std::string_view rest = refusal.substr(at + before.size());
            if (!rest.empty() && rest.front() == '"') rest.remove_prefix(1);
            const std::string_view quantity = quantity_in(rest);
            if (quantity.empty()) continue;
            add(bounds, std::string(quantity), typed);
            add(bounds, std::string(number_in(quantity)), typed);
        }
    if (const auto wanted = value_of(number_in(quantity_in(typed))); wanted && unit_of(typed).empty()) {
        const auto distance = [&](const std::string& one) {
            const auto value = value_of(one);
            return value ? std::abs(*value - *wanted) : std::numeric_limits<double>::infinity();
        };
        const auto nearest = std::min_element(bounds.begin(), bounds.end(),
                                              [&](const auto& a, const auto& b) { return distance(a) < distance(b); });
        const bool within = std::any_of(bounds.begin(), bounds.end(),
                                        [&](const auto& one) { return value_of(one) && *value_of(one) < *wanted; }) &&
                            std::any_of(bounds.begin(), bounds.end(),
                                        [&](const auto& one) { return value_of(one) && *value_of(one) > *wanted; });
        // between them neither is what was meant
        if (within)
            bounds.clear();
        else if (nearest != bounds.end())
            bounds = {std::string(*nearest)};
    }
    for (std::string& one : bounds) add(all, std::move(one), typed);
}

bool is_hexadecimal(std::string_view text) {
    return !text.empty() &&
           std::all_of(text.begin(), text.end(), [](unsigned char c) { return std::isxdigit(c) != 0; });
}

}  // namespace

std::string in_words(const sim::FileError& error) {
    std::string words = error.key.empty() ? std::string() : error.key + ": ";
    words += error.message;
    if (error.line > 0) words += " (line " + std::to_string(error.line) + ")";
    return words;
}

proto::Result<std::string, sim::FileError> text_with(const sim::WrittenFile& file, const std::string& path,
                                                     const std::string& typed) {
    if (auto address = with_address(file, path, typed)) return std::move(*address);
    if (typed.find_first_not_of(" \t") == std::string::npos) {
        if (!sim::value_at(file, path)) return file.text();
        return sim::without(file, path);
    }
    if (auto both = with_one_watchdog(file, path, typed)) return std::move(*both);
    const auto as_file = sim::as_toml(file, path, typed);
    if (!as_file) return as_file.error();
    return sim::with_value(file, path, as_file.value());
}

std::optional<std::string> typed_at(const Value& links, std::string_view path) {
    if (const Value::List* const list = links.list()) {
        for (const Value& one : *list)
            if (auto found = typed_at(one, path)) return found;
    } else if (const Value::Object* const object = links.object()) {
        const Value* const own = links.find("path");
        const Value* const typed = links.find("typed");
        if (own != nullptr && typed != nullptr && own->text() == path) return std::string(typed->text());
        for (const Value::Member& member : *object)
            if (auto found = typed_at(member.value, path)) return found;
    }
    return std::nullopt;
}

bool is_same_typed(std::string_view a, std::string_view b) { return trimmed(a) == trimmed(b); }

std::vector<std::string> perhaps_meant(std::string_view typed, std::string_view before, std::string_view refusal) {
    std::vector<std::string> all;
    const std::string given(trimmed(typed));
    const std::string_view quantity = quantity_in(given);
    if (quantity == given && unit_of(given).empty())
        if (const std::string_view unit = unit_of(trimmed(before)); !unit.empty())
            add(all, given + " " + std::string(unit), typed);
    if (std::string point = given; point.find(',') != std::string::npos) {
        std::replace(point.begin(), point.end(), ',', '.');
        add(all, std::move(point), typed);
    }
    if (quantity == given && !unit_of(given).empty()) {
        std::string small = given;
        std::transform(small.begin(), small.end(), small.begin(),
                       [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
        add(all, std::move(small), typed);
    }
    add_word(all, given, refusal);
    add_bounds(all, given, refusal);
    if (is_hexadecimal(given) && given.find_first_of("abcdefABCDEF") != std::string::npos)
        add(all, "0x" + given, typed);
    return all;
}

}  // namespace tools
