#pragma once
// A line of a TOML file taken apart as far as that is possible while something in it is wrong.
#include <optional>
#include <string>
#include <string_view>

namespace sim {

/// The text of line `number`, counted from 1, without its end; empty past the end.
std::string_view line_at(std::string_view text, int number);

std::string_view bare_text(std::string_view text);

struct TextLine {
    std::string_view key;    ///< before the first = outside quotes, without blanks; all of it if there is none
    std::string_view value;  ///< behind that =, without blanks and comment
    bool has_equals = false;
    char open_quote = 0;  ///< the one that is not closed on the line; 0: none
};
TextLine taken_apart(std::string_view line);

/// The line with the bracket that is still open behind line `until`, and which one it is; nothing if none is. Brackets
/// of table headers do not count.
struct OpenBracket {
    int line = 0;
    char bracket = 0;
};
std::optional<OpenBracket> open_bracket(std::string_view text, int until);

}  // namespace sim
