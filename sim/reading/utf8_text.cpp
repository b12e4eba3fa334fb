#include "sim/reading/utf8_text.hpp"

#include <cstddef>

#include "sim/scenario/units.hpp"

namespace sim {
namespace {

/// Length of the UTF-8 sequence (RFC 3629) that begins at `at`, or 0 if there is none.
std::size_t sequence_length(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[at + i]); };
    const unsigned char first = byte(0);
    if (first < 0x80) return 1;
    const std::size_t length = first >= 0xC2 && first <= 0xDF   ? 2
                               : (first & 0xF0U) == 0xE0        ? 3
                               : first >= 0xF0 && first <= 0xF4 ? 4
                                                                : 0;
    if (length == 0 || at + length > text.size()) return 0;
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(i) & 0xC0U) != 0x80) return 0;
    }
    const unsigned char second = byte(1);
    if ((first == 0xE0 && second < 0xA0) || (first == 0xED && second > 0x9F)) return 0;  // overlong, surrogates
    if ((first == 0xF0 && second < 0x90) || (first == 0xF4 && second > 0x8F)) return 0;  // overlong, over U+10FFFF
    return length;
}

}  // namespace

std::optional<FileError> not_utf8(const std::string& path, std::string_view text) {
    int line = 1;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t length = sequence_length(text, at);
        if (length == 0) {
            return FileError{.file = path,
                             .line = line,
                             .key = "",
                             .message = "byte " + written_hex(static_cast<unsigned char>(text[at]), 2) +
                                        " is not UTF-8; save the file as UTF-8 text"};
        }
        if (text[at] == '\n') ++line;
        at += length;
    }
    return std::nullopt;
}

}  // namespace sim
