#pragma once
#include <optional>
#include <string_view>

#include "tools/web/web_server.hpp"

namespace tools {

/// A page by its path below tools/, with a word in its head for each module that its script imports, in the end: so
/// that all of them are asked for at once, not one after the other.
std::optional<WebReply> served_page(std::string_view path);

/// A page, script or style that is built into the program, by its path below tools/; nothing if there is none.
std::optional<WebReply> served_file(std::string_view path);

}  // namespace tools
