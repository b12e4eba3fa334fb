#pragma once
// Plain text for terminals: safe characters, widths, numbers with units. ASCII only comes out of here.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "proto/time.hpp"

namespace tools {

/// Printable ASCII: line ends and tabs become blanks, other control characters and every character outside ASCII
/// become one '?'. Names come out of files and are never trusted.
std::string plain(std::string_view text);

/// The text with every control character (also of the C1 block, and DEL) replaced by '?', UTF-8 kept.
std::string on_one_line(std::string_view text);

/// on_one_line(), between double quotes.
std::string in_quotes(std::string_view text);

/// A word as a shell reads it back: in single quotes where it needs them.
std::string shell_word(const std::string& word);
/// In single quotes for a shell that joins neighbouring quoted pieces.
std::string in_single_quotes(std::string_view text);

/// Lines of at most `width` characters (at least 1), broken at blanks, or within a word that is longer. Blanks
/// between two words of a line stay. Never empty.
std::vector<std::string> wrapped(std::string_view text, std::size_t width);

std::string left_aligned(std::string text, std::size_t width);
std::string right_aligned(std::string text, std::size_t width);

/// 120000 -> "120 000".
std::string grouped(std::uint64_t number);
/// "1 stop", "2 stops".
std::string counted(std::uint64_t number, std::string_view one, std::string_view many);

enum class Rounding : std::uint8_t { up, down };

/// A span of time in ms: one decimal under 10 ms, else whole ms,
/// rounded as said: what was seen never looks shorter, what is allowed never looks longer.
std::string in_ms(proto::Duration time, Rounding rounding);
/// The same, always with one decimal.
std::string in_tenths_of_ms(proto::Duration time, Rounding rounding);
/// A point of the run: "11.000 s", cut after the millisecond.
std::string in_s(proto::Duration time);

/// "9c1e 04b7 52ad e310".
std::string fingerprint(std::uint64_t digest);

}  // namespace tools
