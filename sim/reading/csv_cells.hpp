#pragma once
// Lines of tables as spreadsheets and engineering tools write them: separated by commas, semicolons or tabs, with or
// without quotes and a byte order mark, in UTF-8 or Latin-1.
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace sim {

/// Without blanks, tabs and carriage returns around it.
std::string_view without_blanks(std::string_view text);

/// A line taken apart; nothing if a quote is left open. Two quotes within quotes are one.
std::optional<std::vector<std::string>> cells_of(std::string_view line, char separator);

/// The first of semicolon, tab and comma that stands in the line; 0 if none does.
char separator_in(std::string_view line);

/// As UTF-8, without a byte order mark: what is no UTF-8 is taken for Latin-1 (ISO/IEC 8859-1). Nothing of UTF-16.
std::optional<std::string> as_utf8(std::string_view bytes);

}  // namespace sim
