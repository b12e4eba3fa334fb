// The table of commands. A new command is a command_*.cpp, its entry in command.hpp and a line here.
#include <algorithm>
#include <array>

#include "tools/program/command.hpp"

namespace tools {

std::span<const Command> commands() {
    static const std::array table{check_command(),     run_command(),      watchdog_command(),   response_command(),
                                  distance_command(),  residual_command(), measures_command(),   campaign_command(),
                                  endurance_command(), report_command(),   crc_command(),        decode_command(),
                                  train_command(),     desk_command(),     roundtrips_command(), sheet_command(),
                                  new_command(),       examples_command(), schema_command(),     completion_command(),
                                  help_command(),      version_command()};
    return table;
}

const Command* find_command(std::string_view name) {
    for (const Command& command : commands())
        if (command.name == name) return &command;
    return nullptr;
}

std::vector<OptionSpec> common_options_of(const Command& command) {
    std::vector<OptionSpec> options = common_options();
    std::erase_if(options, [&](const OptionSpec& option) {
        return std::find(command.without.begin(), command.without.end(), option.name) != command.without.end();
    });
    return options;
}

}  // namespace tools
