#pragma once
#include <string>

#include "tools/program/command.hpp"

namespace tools {

/// Three lines: what it is, what to try, where the help is.
std::string greeting();
std::string version_lines();
std::string help_of_program();
std::string help_of(const Command& command);

}  // namespace tools
