#pragma once
// What is wrong with a line that is no TOML, in words about the file.
#include <string>
#include <string_view>

namespace sim {

/// `description`: what the library says of it; `line`: the text of that line. Always says what to write.
std::string syntax_message(std::string_view description, std::string_view line);

}  // namespace sim
