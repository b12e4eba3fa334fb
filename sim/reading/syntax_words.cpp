#include "sim/reading/syntax_words.hpp"

#include <algorithm>

namespace sim {
namespace {

bool has(std::string_view text, std::string_view part) { return text.find(part) != std::string_view::npos; }

/// What stands between the last two single quotes of a description.
std::string quoted_in(std::string_view description) {
    const std::size_t last = description.rfind('\'');
    if (last == std::string_view::npos || last == 0) return "...";
    const std::size_t before = description.rfind('\'', last - 1);
    if (before == std::string_view::npos) return "...";
    return std::string(description.substr(before + 1, last - before - 1));
}

bool has_curly_quotes(std::string_view line) {
    const std::string_view curly[] = {"\u201C", "\u201D", "\u201E", "\u2018", "\u2019"};
    return std::any_of(std::begin(curly), std::end(curly), [&](std::string_view mark) { return has(line, mark); });
}

/// A number that goes on after a comma: 1,5.
bool has_decimal_comma(std::string_view line) {
    const auto digit = [&](std::size_t i) { return i < line.size() && line[i] >= '0' && line[i] <= '9'; };
    for (std::size_t i = 1; i < line.size(); ++i)
        if (line[i] == ',' && digit(i - 1) && digit(i + 1)) return true;
    return false;
}

}  // namespace

std::string syntax_message(std::string_view description, std::string_view line) {
    if (has(description, "as array-of-tables"))
        return "stands with single brackets further up, and here with double ones; write [[" + quoted_in(description) +
               "]] at each of them";
    if (has(description, "existing array") && has(description, "as table"))
        return "stands with double brackets further up, and here with single ones; write [[" + quoted_in(description) +
               "]] at each of them";
    if (has(description, "cannot redefine existing")) {
        const std::string name = quoted_in(description);
        return name.empty() || name == "..." ? "stands there twice; write it once"
                                             : "\"" + name + "\" stands there twice; write it once";
    }
    if (has_curly_quotes(line)) return "has curly quotes; write straight ones, such as KEY = \"VALUE\"";
    if (has(description, "control characters") || (has(description, "string") && has(description, "end-of-file")))
        return "has a quote that is not closed on its line; write KEY = \"VALUE\"";
    if (has(description, "leading zeroes"))
        return "has a number that begins with 0; write it without the 0, or \"0x17\" if it counts by 16";
    if (has(description, "saw ','") && has_decimal_comma(line))
        return "has a comma in a number; write a point, such as 12.5";
    if (has(description, "could not determine value type"))
        return "has a value that is no number, no list and stands in no quotes; write KEY = \"VALUE\"";
    if (has(description, "expected a comment or whitespace"))
        return "goes on after its value; write one KEY = \"VALUE\" in a line, and a value with a unit in quotes";
    if (has(description, "expected '='")) return "has no = between key and value; write KEY = \"VALUE\"";
    return std::string(description) + "; write TOML, such as KEY = \"VALUE\"";
}

}  // namespace sim
