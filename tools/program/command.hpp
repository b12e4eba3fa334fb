#pragma once
// One command of the program: what the help says about it, what may be typed, and what it does.
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "proto/result.hpp"
#include "tools/program/arguments.hpp"
#include "tools/program/failure.hpp"
#include "tools/text/page.hpp"
#include "tools/text/value.hpp"

namespace tools {

/// Takes a piece of output; false: no more can be written.
using Out = std::function<bool(std::string_view)>;

/// What a command made: a document for programs and a page for people. The frame prints one of them.
struct Finished {
    Status status = Status::done;
    Value document;
    Page page{Columns{}};
    // for what is too long to be kept: made piece by piece while it is printed
    std::function<void(const Out&)> rows = {};        ///< after the page
    std::function<void(const Out&)> whole_json = {};  ///< in place of the document
};

/// What every command is told.
struct Request {
    Arguments arguments;
    std::optional<std::uint64_t> seed;
    std::optional<std::string> out;
    unsigned jobs = 1;
    Columns columns;
};

struct Command {
    enum class Group : std::uint8_t { use_first, then, tools };
    std::string_view name;
    Group group = Group::use_first;
    std::string_view does;  ///< one sentence for the help
    PositionalSpec positional;
    std::vector<OptionSpec> options;
    std::vector<std::string_view> without = {};  ///< common options that would do nothing here, and are refused
    std::string_view first = {};                 ///< what makes the files that the example names, if they do not ship
    std::string_view example;                    ///< one worked line
    std::vector<std::string_view> notes;         ///< further lines of its help
    proto::Result<Finished, Failure> (*run)(const Request& request);
};

/// The common options that do something in that command.
std::vector<OptionSpec> common_options_of(const Command& command);

/// All commands, in the order of the help.
std::span<const Command> commands();
/// The command of that name, or nullptr.
const Command* find_command(std::string_view name);

// The commands' own entries, one in each command_*.cpp.
Command check_command();
Command run_command();
Command watchdog_command();
Command response_command();
Command campaign_command();
Command endurance_command();
Command roundtrips_command();
Command residual_command();
Command measures_command();
Command report_command();
Command train_command();
Command desk_command();
Command crc_command();
Command decode_command();
Command distance_command();
Command sheet_command();
Command new_command();
Command examples_command();
Command schema_command();
Command completion_command();
Command help_command();
Command version_command();

}  // namespace tools
