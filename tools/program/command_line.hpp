#pragma once
// Reads the command line. The only place that knows the parsing library.
#include <span>
#include <string>
#include <variant>

#include "proto/result.hpp"
#include "tools/program/command.hpp"

namespace tools {

/// What was asked for.
struct Nothing {};  ///< no arguments at all
struct ShowVersion {};
struct ShowHelp {
    const Command* command = nullptr;  ///< nullptr: of the program
};
struct RunCommand {
    const Command* command = nullptr;
    Arguments arguments;
};
using Wanted = std::variant<Nothing, ShowVersion, ShowHelp, RunCommand>;

/// `typed` without the program's name. Common options may stand before or after the command.
proto::Result<Wanted, Failure> read_command_line(std::span<const std::string> typed);

}  // namespace tools
