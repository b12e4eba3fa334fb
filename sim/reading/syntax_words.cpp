#include "sim/reading/syntax_words.hpp"

#include <algorithm>
#include <array>
#include <optional>

#include "sim/reading/section.hpp"
#include "sim/reading/text_lines.hpp"
#include "sim/scenario/units.hpp"

namespace sim {
namespace {

using Said = std::optional<SyntaxFault>;

bool has(std::string_view text, std::string_view part) { return text.find(part) != std::string_view::npos; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_bare(char c) { return is_digit(c) || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_' || c == '-'; }

/// A text as it can be shown in a message, without its quotes.
std::string shown(std::string_view text) {
    const std::string quoted = in_quotes(text);
    return quoted.substr(1, quoted.size() - 2);
}

/// What a library quotes at the end of its description, if it is a dotted key of letters.
std::string quoted_in(std::string_view description) {
    const std::size_t last = description.rfind('\'');
    if (last == std::string_view::npos || last == 0) return {};
    const std::size_t before = description.rfind('\'', last - 1);
    if (before == std::string_view::npos) return {};
    const std::string_view name = description.substr(before + 1, last - before - 1);
    const bool right =
        !name.empty() && std::all_of(name.begin(), name.end(), [](char c) { return is_bare(c) || c == '.'; });
    return right ? std::string(name) : std::string();
}

/// Bare or quoted, how a key would be written again.
std::string key_of(const TextLine& line) {
    const bool right = !line.key.empty() &&
                       std::all_of(line.key.begin(), line.key.end(), [](char c) { return is_bare(c) || c == '.'; });
    return right && line.key.size() <= 60 ? std::string(line.key) : "KEY";
}

/// What stands in the file for the second time, or as something else than before.
Said stands_already(std::string_view description, int line) {
    const std::string name = quoted_in(description);
    if (has(description, "as array-of-tables"))
        return SyntaxFault{
            line, has(description, "existing table")
                      ? "stands with single brackets further up, and here with double ones; write [[" + name +
                            "]] at each of them"
                      : "\"" + name + "\" stands further up as a key, and here as a table; write one of the two"};
    if (has(description, "existing array") && has(description, "as table"))
        return SyntaxFault{line, "stands with double brackets further up, and here with single ones; write [[" + name +
                                     "]] at each of them"};
    if (has(description, "as table"))
        return SyntaxFault{line,
                           "\"" + name + "\" stands further up as a key, and here as a table; write one of the two"};
    if (has(description, "cannot redefine existing") || has(description, "cannot insert"))
        return SyntaxFault{line, (name.empty() ? std::string() : "\"" + name + "\" ") +
                                     "stands there twice; write it once" +
                                     (has(description, "existing table") ? ", with all that belongs to it" : "")};
    return std::nullopt;
}

/// Bytes that a text editor does not show.
Said odd_bytes(std::string_view text, int line) {
    constexpr std::string_view mark = "\xEF\xBB\xBF", wide_blank = "\xC2\xA0";
    if (has(text, mark))
        return SyntaxFault{line, "has a byte order mark in it, which no editor shows; write the line anew"};
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (byte == '\r')
            return SyntaxFault{line, "has line ends of carriage returns alone; write the file with LF or CR LF"};
        if ((byte < 0x20 && byte != '\t') || byte == 0x7F)
            return SyntaxFault{line, "has the byte " + written_hex(byte, 2) +
                                         " in it, which is no letter; write the line anew without it"};
    }
    if (has(text, wide_blank))
        return SyntaxFault{line,
                           "has a blank that is none on a keyboard (U+00A0); write the line anew with plain blanks"};
    constexpr std::array curly{"\u201C", "\u201D", "\u201E", "\u2018", "\u2019", "\u00AB", "\u00BB"};
    if (std::any_of(curly.begin(), curly.end(), [&](const char* one) { return has(text, one); }))
        return SyntaxFault{line, "has curly quotes; write straight ones, such as KEY = \"VALUE\""};
    return std::nullopt;
}

/// A line that begins with a bracket, as a table does.
Said header(std::string_view text, int line) {
    const std::string_view whole = bare_text(text.substr(0, text.find('#')));
    if (!whole.starts_with('[') || whole.find('=') != std::string_view::npos) return std::nullopt;
    const bool many = whole.starts_with("[[");
    std::string_view name = whole.substr(many ? 2 : 1);
    name = bare_text(name.substr(0, name.find(']')));
    const std::string meant = name.empty() ? "link" : shown(name);
    const std::string right = many ? "[[" + meant + "]]" : "[" + meant + "]";
    if (name.empty()) return SyntaxFault{line, "is a table without a name; write one, such as " + right};
    const std::size_t closed = whole.find(']');
    if (closed == std::string_view::npos) return SyntaxFault{line, "is a table that is not closed; write " + right};
    const std::string_view behind = whole.substr(closed);
    if (many && !behind.starts_with("]]"))
        return SyntaxFault{line, "opens a table with two brackets and closes it with one; write " + right};
    if (behind != (many ? "]]" : "]"))
        return SyntaxFault{
            line, "goes on behind the name of its table; write " + right + ", and what follows in lines of its own"};
    return SyntaxFault{line,
                       "is no name of a table; write letters, digits, - and _ between the brackets, such as [link]"};
}

/// A key without its value, a value without its key, or something else where = belongs.
Said no_pair(const TextLine& parts, std::string_view text, int line) {
    if (parts.open_quote != 0) return std::nullopt;
    if (parts.has_equals && parts.key.empty())
        return SyntaxFault{line, "has a value and no key before it; write KEY = \"VALUE\""};
    if (parts.has_equals && parts.value.empty())
        return SyntaxFault{line, "has no value; write " + key_of(parts) + " = \"VALUE\""};
    if (parts.has_equals && parts.value.front() == '=')
        return SyntaxFault{line, "has = twice; write " + key_of(parts) + " = \"VALUE\""};
    if (parts.has_equals) return std::nullopt;
    const std::size_t colon = text.find(':');
    if (colon != std::string_view::npos) {
        const std::string_view key = bare_text(text.substr(0, colon)), value = bare_text(text.substr(colon + 1));
        const bool is_key = !key.empty() && std::all_of(key.begin(), key.end(), is_bare);
        if (is_key && !value.empty())
            return SyntaxFault{line, "has a : where = belongs; write " + shown(key) + " = " + shown(value)};
    }
    return SyntaxFault{line, "has no = between key and value; write KEY = \"VALUE\""};
}

/// A key with something in it that no key has.
Said odd_key(const TextLine& parts, int line) {
    if (!parts.has_equals || parts.key.find_first_of("\"'") != std::string_view::npos) return std::nullopt;
    if (parts.key.starts_with('{'))
        return SyntaxFault{line,
                           "begins as a row of a list does, and no list is open above it; write KEY = [ there, or take "
                           "the line away"};
    std::string meant;
    for (const char c : parts.key)
        if (is_bare(c) || c == '.' || c == ' ') meant += c == ' ' ? '_' : c;
    if (meant == parts.key) return std::nullopt;
    return SyntaxFault{line, in_quotes(parts.key) + " is no key, which has letters, digits, - and _; write " +
                                 (meant.empty() ? "KEY" : shown(meant)) + " = " + shown(parts.value)};
}

/// A number as nobody reads it here; `value` is what stands behind the =.
Said number(std::string_view description, const TextLine& parts, std::string_view text, int line) {
    const std::string_view value = parts.value;
    const auto say = [&](std::string message) { return SyntaxFault{line, std::move(message)}; };
    if (const std::size_t slashes = value.find("//");
        slashes != std::string_view::npos && parts.open_quote == 0 && !has(value, "\""))
        return say("has // where a comment begins; write " + key_of(parts) + " = " +
                   shown(bare_text(value.substr(0, slashes))) + " and # before the comment");
    if (parts.open_quote != 0 && value.ends_with(parts.open_quote) &&
        std::count(value.begin(), value.end(), parts.open_quote) == 1)
        return say("has a quote behind its value and none before it; write " + key_of(parts) + " = \"" +
                   shown(value.substr(0, value.size() - 1)) + "\"");
    if (has(description, "leading zeroes"))
        return say("has a number that begins with 0; write it without the 0, or \"0x17\" if it counts by 16");
    for (std::size_t i = 1; i + 1 < text.size(); ++i)
        if (text[i] == ',' && is_digit(text[i - 1]) && is_digit(text[i + 1]) && !value.starts_with('[') &&
            !value.starts_with('{') && !value.starts_with('"'))
            return say("has a comma in a number; write a point, such as 12.5");
    if (value.empty()) return std::nullopt;
    const bool sign = value.front() == '-' || value.front() == '+';
    const std::string_view digits = value.substr(sign ? 1 : 0);
    if (digits.starts_with('.')) return say("has a number that begins with a point; write 0" + shown(digits));
    if (digits.empty() || !is_digit(digits.front())) return std::nullopt;
    std::size_t end = 0;
    while (end < digits.size() && (is_digit(digits[end]) || digits[end] == '.')) ++end;
    if (end == digits.size() && digits.ends_with('.'))
        return say("has a number that ends with a point; write " + shown(digits) + "0");
    if (end == digits.size() && std::count(digits.begin(), digits.end(), '.') > 1)
        return say("has a number with two points; write " + key_of(parts) + " = \"" + shown(value) +
                   "\" if it is a place or a name");
    const std::string_view unit = bare_text(digits.substr(end));
    if (!unit.empty() &&
        std::all_of(unit.begin(), unit.end(), [](char c) { return is_bare(c) || c == '/' || c == ' '; }) &&
        !digits.starts_with("0x"))
        return say("has a value with a unit that stands in no quotes; write " + key_of(parts) + " = \"" + shown(value) +
                   "\"");
    if (has(description, "not representable") || has(description, "length limit") || has(description, "too long"))
        return say("has a number that is too long; write a smaller one, or one in quotes with a larger unit");
    if (has(description, "underscore"))
        return say("has a _ in a number that stands between no two digits; write the digits alone");
    return say("has a number that cannot be read; write digits such as 12.5, or " + key_of(parts) + " = \"" +
               shown(value) + "\"");
}

/// A word that stands in no quotes.
Said word(const TextLine& parts, int line) {
    const std::string_view value = parts.value;
    if (value.empty() || !is_bare(value.front())) return std::nullopt;
    std::string small;
    for (const char c : value) small += static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
    for (const char* flag : {"true", "false"})
        if (small == flag || (small == "yes" && flag[0] == 't') || (small == "no" && flag[0] == 'f'))
            return SyntaxFault{
                line, "has " + shown(value) + " where true or false belongs; write " + key_of(parts) + " = " + flag};
    if (std::all_of(value.begin(), value.end(), [](char c) { return is_bare(c) || c == ' ' || c == '.' || c == '/'; }))
        return SyntaxFault{
            line, "has a text that stands in no quotes; write " + key_of(parts) + " = \"" + shown(value) + "\""};
    return std::nullopt;
}

Said brackets(std::string_view description, std::string_view text, int line) {
    const std::string_view here = line_at(text, line);
    if (const auto open = open_bracket(text, line)) {
        const TextLine parts = taken_apart(line_at(text, open->line));
        const bool inside = open->line == line;
        if (open->bracket == '{')
            return SyntaxFault{open->line, "has a { that is not closed on its line; write " + key_of(parts) +
                                               " = { ... } in one line, or a table [" + key_of(parts) + "]"};
        if (!inside || has(description, "end-of-file") || has(description, "closing ']'"))
            return SyntaxFault{open->line, "has a [ that is not closed; write " + key_of(parts) +
                                               " = [\"A\", \"B\"], with a comma between and ] at the end"};
    }
    const TextLine parts = taken_apart(here);
    if (parts.value.starts_with('[') || parts.value.starts_with('{'))
        return SyntaxFault{line, parts.value.starts_with('[')
                                     ? "has a list that cannot be read; write " + key_of(parts) +
                                           " = [\"A\", \"B\"], with a comma between"
                                     : "has a table in braces that cannot be read; write " + key_of(parts) +
                                           " = { KEY = \"VALUE\", KEY = \"VALUE\" }, without a comma at the end"};
    return std::nullopt;
}

/// Text in quotes that goes wrong inside them, or behind them.
Said quotes(std::string_view description, const TextLine& parts, std::string_view text, int line) {
    if (parts.open_quote != 0 && !has(text, "\"\"\"") && !has(text, "'''"))
        return SyntaxFault{line, std::string("has a quote that is not closed on its line; write ") +
                                     (parts.has_equals ? key_of(parts) : "KEY") + " = \"VALUE\""};
    if (has(description, "escape") || has(description, "hex digit") || has(description, "U+"))
        return SyntaxFault{
            line, "has a \\ in its quotes that means nothing; write \\\\ for one, or the text between single quotes"};
    if (has(text, "\"\"\"") || has(text, "'''"))
        return SyntaxFault{
            line, "has three quotes that are not closed by three more; write \"\"\" at the end of the text too"};
    if (parts.value.starts_with('"') || parts.value.starts_with('\''))
        return SyntaxFault{
            line, "goes on behind its closing quote; write one KEY = \"VALUE\" in a line, and a comment behind #"};
    return std::nullopt;
}

}  // namespace

SyntaxFault syntax_fault(std::string_view description, std::string_view text, int line) {
    const std::string_view here = line_at(text, line);
    if (Said said = stands_already(description, line)) return *said;
    if (Said said = odd_bytes(here, line)) return *said;
    const TextLine parts = taken_apart(here);
    const bool in_list = open_bracket(text, line - 1).has_value();
    if (has(description, "depth")) return {line, "has lists within lists without end; write fewer brackets"};
    if (has(description, "end-of-file") && parts.open_quote == 0)
        if (Said said = brackets(description, text, line)) return *said;
    if (!in_list) {
        if (Said said = header(here, line)) return *said;
        if (Said said = no_pair(parts, here, line)) return *said;
        if (Said said = odd_key(parts, line)) return *said;
        if (Said said = number(description, parts, here, line)) return *said;
        if (Said said = word(parts, line)) return *said;
    }
    if (Said said = quotes(description, parts, here, line)) return *said;
    if (Said said = brackets(description, text, line)) return *said;
    return {line, "cannot be read; write one KEY = \"VALUE\" in a line, with texts in straight quotes"};
}

}  // namespace sim
