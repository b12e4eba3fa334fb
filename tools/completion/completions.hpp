#pragma once
// What shells and manual readers are told of the program, made from the table of commands so that it cannot lag behind.
#include <string>

namespace tools {

/// Scripts that complete commands, options, files and words as the table of commands names them.
std::string bash_completion();
std::string zsh_completion();
std::string fish_completion();

/// The manual page, linkdrill(1), as roff. The same wherever it is made.
std::string manual_page();

}  // namespace tools
