#pragma once
// Standard output and standard error: written whole or reported, coloured only where a person looks.
#include <optional>
#include <string>
#include <string_view>

#include "tools/text/page.hpp"

namespace tools {

/// Writes all of `text`, or says why not ("no space left on device").
std::optional<std::string> write_out(std::string_view text);
/// To standard error; nobody is left to be told if that fails.
void write_error_line(std::string_view line);

/// Colour on a terminal, unless NO_COLOR is set and not empty or TERM is "dumb".
Colour colour_of_output();
/// Of the terminal; 100 where output is none.
Columns columns_of_output();

}  // namespace tools
