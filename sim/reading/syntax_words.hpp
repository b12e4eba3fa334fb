#pragma once
// What is wrong with a text that is no TOML, in words about the file: no word of the library that found it comes into
// them.
#include <string>
#include <string_view>

namespace sim {

struct SyntaxFault {
    int line = 0;  ///< 1..: where it is to be mended, which may lie before where it was found
    std::string message;
};

/// `description`: what the library says of it; `line`: where it found it, in `text`. Always says what to write.
SyntaxFault syntax_fault(std::string_view description, std::string_view text, int line);

}  // namespace sim
