#include "tools/training/trainee_name.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

namespace tools {
namespace {

struct Range {
    char32_t first, last;
};
/// Characters that do not show, or change how others stand: by their properties in Unicode 15 (Cc, Cf, Zl, Zp,
/// Default_Ignorable_Code_Point), with the blank Braille pattern and what is for private use or no character.
constexpr auto unseen = std::to_array<Range>(
    {{0x0000, 0x001F},   {0x007F, 0x009F},   {0x00AD, 0x00AD},   {0x034F, 0x034F},   {0x0600, 0x0605},
     {0x061C, 0x061C},   {0x06DD, 0x06DD},   {0x070F, 0x070F},   {0x0890, 0x0891},   {0x08E2, 0x08E2},
     {0x115F, 0x1160},   {0x17B4, 0x17B5},   {0x180B, 0x180F},   {0x200B, 0x200F},   {0x2028, 0x202E},
     {0x2060, 0x206F},   {0x2800, 0x2800},   {0x3164, 0x3164},   {0xD800, 0xF8FF},   {0xFDD0, 0xFDEF},
     {0xFE00, 0xFE0F},   {0xFEFF, 0xFEFF},   {0xFFA0, 0xFFA0},   {0xFFF0, 0xFFFF},   {0x110BD, 0x110BD},
     {0x110CD, 0x110CD}, {0x13430, 0x1343F}, {0x1BCA0, 0x1BCA3}, {0x1D173, 0x1D17A}, {0xE0000, 0x10FFFF}});
/// Blanks of any width.
constexpr auto blanks = std::to_array<Range>({{0x0020, 0x0020},
                                              {0x00A0, 0x00A0},
                                              {0x1680, 0x1680},
                                              {0x2000, 0x200A},
                                              {0x202F, 0x202F},
                                              {0x205F, 0x205F},
                                              {0x3000, 0x3000}});

template <class Ranges>
bool is_in(const Ranges& ranges, char32_t c) {
    return std::any_of(ranges.begin(), ranges.end(), [&](Range one) { return c >= one.first && c <= one.last; });
}

struct Character {
    char32_t code = 0;
    std::size_t bytes = 0;  ///< 0: no UTF-8
};
Character first_of(std::string_view text) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    if (byte(0) < 0x80) return {byte(0), 1};
    const std::size_t bytes = byte(0) >= 0xF0 ? 4 : byte(0) >= 0xE0 ? 3 : 2;
    if (byte(0) < 0xC2 || byte(0) > 0xF4 || text.size() < bytes) return {};
    char32_t code = byte(0) & (0x7FU >> bytes);
    for (std::size_t i = 1; i < bytes; ++i) {
        if ((byte(i) & 0xC0) != 0x80) return {};
        code = (code << 6) | (byte(i) & 0x3FU);
    }
    constexpr std::array<char32_t, 5> least{0, 0, 0x80, 0x800, 0x10000};
    if (code < least[bytes] || code > 0x10FFFF) return {};
    return {code, bytes};
}

}  // namespace

std::optional<std::string> name_typed(std::string_view text) {
    std::string name;
    bool blank = false;
    while (!text.empty()) {
        const Character c = first_of(text);
        if (c.bytes == 0 || is_in(unseen, c.code)) return std::nullopt;
        if (is_in(blanks, c.code)) {
            blank = !name.empty();
        } else {
            if (blank) name += ' ';
            blank = false;
            name += text.substr(0, c.bytes);
        }
        text.remove_prefix(c.bytes);
    }
    return name;
}

}  // namespace tools
