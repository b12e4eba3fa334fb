#include "tools/text/text.hpp"

#include <algorithm>

namespace tools {
namespace {

using proto::Duration;

bool continues_utf8(char c) { return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U; }

/// `ns` in units of `unit` ns, rounded; `ns` may be negative.
std::int64_t rounded(std::int64_t ns, std::int64_t unit, Rounding rounding) {
    std::int64_t whole = ns / unit;
    const std::int64_t rest = ns % unit;
    if (rest > 0 && rounding == Rounding::up) ++whole;
    if (rest < 0 && rounding == Rounding::down) --whole;
    return whole;
}

/// value / 10^decimals, with all its decimals.
std::string fixed_point(std::int64_t value, unsigned decimals) {
    // The magnitude as unsigned: the smallest int64 has no positive counterpart.
    const std::uint64_t size = value < 0 ? 0U - static_cast<std::uint64_t>(value) : static_cast<std::uint64_t>(value);
    std::string digits = std::to_string(size);
    if (digits.size() <= decimals) digits.insert(0, decimals + 1 - digits.size(), '0');
    if (decimals > 0) digits.insert(digits.size() - decimals, 1, '.');
    return (value < 0 ? "-" : "") + digits;
}

constexpr std::int64_t ns_per_ms = 1'000'000;

}  // namespace

std::string plain(std::string_view text) {
    std::string out;
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == '\n' || c == '\r' || c == '\t') {
            out += ' ';
        } else if (byte >= 0x20 && byte < 0x7F) {
            out += c;
        } else if (!continues_utf8(c)) {
            out += '?';
        }
    }
    return out;
}

std::string on_one_line(std::string_view text) {
    std::string out;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto byte = static_cast<unsigned char>(text[i]);
        const bool control_of_c1 =
            byte == 0xC2 && i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) < 0xA0;
        // U+2028 and U+2029 end a line in some viewers.
        const bool line_separator = text.substr(i, 3) == "\xE2\x80\xA8" || text.substr(i, 3) == "\xE2\x80\xA9";
        if (byte < 0x20 || byte == 0x7F) {
            out += '?';
        } else if (control_of_c1) {
            out += '?';
            i += 1;
        } else if (line_separator) {
            out += '?';
            i += 2;
        } else {
            out += text[i];
        }
    }
    return out;
}

std::string in_quotes(std::string_view text) { return "\"" + on_one_line(text) + "\""; }

std::string shell_word(const std::string& word) {
    const bool simple = !word.empty() && word.find_first_not_of(
                                             "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                             "0123456789_-+./=:,@%") == std::string::npos;
    if (simple) return word;
    return in_single_quotes(word);
}

std::string in_single_quotes(std::string_view text) {
    std::string out = "'";
    for (const char c : text) {
        if (c == '\'')
            out += "'\\''";
        else
            out += c;
    }
    return out + "'";
}

std::vector<std::string> wrapped(std::string_view text, std::size_t width) {
    width = std::max<std::size_t>(width, 1);
    std::vector<std::string> lines;
    std::string line;
    std::size_t i = 0;
    while (i < text.size()) {
        const std::size_t word_at = std::min(text.find_first_not_of(' ', i), text.size());
        const std::size_t end = std::min(text.find(' ', word_at), text.size());
        std::string_view word = text.substr(word_at, end - word_at);
        if (word.empty()) break;  // blanks at the end
        std::size_t gap = line.empty() ? 0 : word_at - i;
        i = end;
        if (gap > 0 && line.size() + gap + word.size() > width) {
            lines.push_back(std::move(line));
            line.clear();
            gap = 0;
        }
        line.append(gap, ' ');
        while (line.size() + word.size() > width) {  // only a word longer than a whole line
            lines.emplace_back(word.substr(0, width));
            word.remove_prefix(width);
        }
        line += word;
    }
    if (!line.empty() || lines.empty()) lines.push_back(std::move(line));
    return lines;
}

std::string left_aligned(std::string text, std::size_t width) {
    if (text.size() < width) text.append(width - text.size(), ' ');
    return text;
}

std::string right_aligned(std::string text, std::size_t width) {
    if (text.size() < width) text.insert(0, width - text.size(), ' ');
    return text;
}

std::string grouped(std::uint64_t number) {
    std::string digits = std::to_string(number);
    for (std::size_t from_end = 3; from_end < digits.size(); from_end += 4)
        digits.insert(digits.size() - from_end, 1, ' ');
    return digits;
}

std::string counted(std::uint64_t number, std::string_view one, std::string_view many) {
    return grouped(number) + " " + std::string(number == 1 ? one : many);
}

std::string in_ms(Duration time, Rounding rounding) {
    const bool small = time.ns < 10 * ns_per_ms && time.ns > -10 * ns_per_ms;
    if (small) return in_tenths_of_ms(time, rounding);
    return std::to_string(rounded(time.ns, ns_per_ms, rounding)) + " ms";
}

std::string in_tenths_of_ms(Duration time, Rounding rounding) {
    return fixed_point(rounded(time.ns, ns_per_ms / 10, rounding), 1) + " ms";
}

std::string in_s(Duration time) { return fixed_point(rounded(time.ns, ns_per_ms, Rounding::down), 3) + " s"; }

std::string fingerprint(std::uint64_t digest) {
    std::string out;
    for (unsigned nibble = 0; nibble < 16; ++nibble) {
        if (nibble > 0 && nibble % 4 == 0) out += ' ';
        out += "0123456789abcdef"[(digest >> (60 - 4 * nibble)) & 0xFU];
    }
    return out;
}

}  // namespace tools
