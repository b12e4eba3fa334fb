#include "sim/reading/written_keys.hpp"

#include <algorithm>
#include <charconv>
#include <cstdint>

#include "sim/scenario/units.hpp"

namespace sim {
namespace {

bool is_bare(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
}

void append_utf8(std::string& text, std::uint32_t point) {
    const auto put = [&text](std::uint32_t byte) { text += static_cast<char>(static_cast<unsigned char>(byte)); };
    if (point < 0x80) return put(point);
    if (point < 0x800) {
        put(0xC0U | point >> 6);
    } else {
        if (point < 0x10000) {
            put(0xE0U | point >> 12);
        } else {
            put(0xF0U | point >> 18);
            put(0x80U | (point >> 12 & 0x3FU));
        }
        put(0x80U | (point >> 6 & 0x3FU));
    }
    put(0x80U | (point & 0x3FU));
}

/// What an escape stands for; `at` is on the letter behind the backslash, and then behind it all.
bool append_escape(std::string& to, std::string_view text, std::size_t& at) {
    if (at >= text.size()) return false;
    constexpr std::string_view letters = "btnfre\"\\", meant = "\b\t\n\f\r\x1B\"\\";
    const char letter = text[at++];
    if (const std::size_t found = letters.find(letter); found != std::string_view::npos) {
        to += meant[found];
        return true;
    }
    const std::size_t digits = letter == 'u' ? 4 : letter == 'U' ? 8 : letter == 'x' ? 2 : 0;
    if (digits == 0 || at + digits > text.size()) return false;
    std::uint32_t point = 0;
    const auto [end, error] = std::from_chars(text.data() + at, text.data() + at + digits, point, 16);
    if (error != std::errc{} || end != text.data() + at + digits) return false;
    at += digits;
    append_utf8(to, point);
    return true;
}

/// Behind a text in three quotes, which may end in up to two quotes of its own.
bool skip_long_text(std::string_view text, std::size_t& at, char quote) {
    const std::string three(3, quote);
    for (at += 3; at < text.size(); ++at) {
        if (quote == '"' && text[at] == '\\') {
            ++at;
        } else if (text.substr(at).starts_with(three)) {
            at += 3;
            for (int more = 0; more < 2 && at < text.size() && text[at] == quote; ++more) ++at;
            return true;
        }
    }
    return false;
}

}  // namespace

std::optional<std::string> read_key(std::string_view text, std::size_t& at) {
    if (at >= text.size()) return std::nullopt;
    std::string key;
    const char quote = text[at];
    if (quote != '"' && quote != '\'') {
        const std::size_t begin = at;
        while (at < text.size() && is_bare(text[at])) ++at;
        if (at == begin) return std::nullopt;
        key = text.substr(begin, at - begin);
        return key;
    }
    for (++at; at < text.size() && text[at] != '\n';) {
        const char c = text[at++];
        if (c == quote) return key;
        if (quote == '\'' || c != '\\')
            key += c;
        else if (!append_escape(key, text, at))
            return std::nullopt;
    }
    return std::nullopt;
}

bool skip_scalar(std::string_view text, std::size_t& at) {
    if (at >= text.size()) return false;
    const char quote = text[at];
    if (quote == '"' || quote == '\'') {
        if (text.substr(at).starts_with(std::string(3, quote))) return skip_long_text(text, at, quote);
        for (++at; at < text.size() && text[at] != '\n'; ++at) {
            if (quote == '"' && text[at] == '\\') {
                ++at;
            } else if (text[at] == quote) {
                ++at;
                return true;
            }
        }
        return false;
    }
    const std::size_t begin = at;
    at = std::min(text.find_first_of(",]}#\r\n", at), text.size());
    while (at > begin && (text[at - 1] == ' ' || text[at - 1] == '\t')) --at;
    return at > begin;
}

std::optional<WrittenPath> path_in(std::string_view path) {
    constexpr std::size_t steps_most = 64;  // far more than lead to any key
    WrittenPath steps;
    for (std::size_t at = 0; steps.size() < steps_most;) {
        std::optional<std::string> key;
        if (at < path.size() && (path[at] == '"' || path[at] == '\'')) {
            key = read_key(path, at);
        } else {
            const std::size_t end = std::min(path.find_first_of(".[", at), path.size());
            if (end > at) key = std::string(path.substr(at, end - at));
            at = end;
        }
        if (!key) return std::nullopt;
        steps.push_back({.key = std::move(*key)});
        while (at < path.size() && path[at] == '[' && steps.size() < steps_most) {
            PathStep step;
            const char* const first = path.data() + at + 1;
            const auto [end, error] = std::from_chars(first, path.data() + path.size(), step.index);
            at = static_cast<std::size_t>(end - path.data());
            if (error != std::errc{} || step.index == 0 || at >= path.size() || path[at] != ']') return std::nullopt;
            ++at;
            steps.push_back(std::move(step));
        }
        if (at == path.size()) return steps;
        if (path[at++] != '.') return std::nullopt;
    }
    return std::nullopt;
}

std::string path_in_words(const WrittenPath& path) {
    std::string words;
    for (const PathStep& step : path)
        if (step.index == 0) words += (words.empty() ? "" : ".") + step.key;
    // a drill is laid over by its variants, and over a plant, which is a scenario
    for (const std::string_view over : {"variant.", "scenario."})
        if (words.starts_with(over)) words.erase(0, over.size());
    return words;
}

std::string key_written(std::string_view key) {
    if (!key.empty() && std::all_of(key.begin(), key.end(), is_bare)) return std::string(key);
    return text_written(key);
}

std::string text_written(std::string_view text) {
    std::string written = "\"";
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (c == '"' || c == '\\') {
            written += '\\';
            written += c;
        } else if (c == '\n') {
            written += "\\n";
        } else if (c == '\t') {
            written += "\\t";
        } else if (byte < 0x20 || byte == 0x7F) {
            written += "\\u00" + written_hex(byte, 2).substr(2);
        } else {
            written += c;
        }
    }
    return written + "\"";
}

}  // namespace sim
