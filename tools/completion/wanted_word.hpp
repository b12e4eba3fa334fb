#pragma once
// What a shell may offer in the place of a value.
#include <string>
#include <string_view>
#include <vector>

#include "tools/program/command.hpp"

namespace tools {

struct WantedWord {
    enum class Kind : std::uint8_t { nothing, words, file, folder };
    Kind kind = Kind::nothing;
    std::vector<std::string> words = {};         ///< of Kind::words
    std::vector<std::string_view> endings = {};  ///< of Kind::file: without a dot; none: any file
};

WantedWord wanted_word(const OptionSpec& option);
WantedWord wanted_word(const PositionalSpec& positional);

/// Its own options, those of most commands that it takes, and --help.
std::vector<OptionSpec> offered_options(const Command& command);

/// The words with blanks between them.
std::string joined(const std::vector<std::string>& words, std::string_view between = " ");

/// The text with each of `special` led by a backslash.
std::string escaped(std::string_view text, std::string_view special);

}  // namespace tools
