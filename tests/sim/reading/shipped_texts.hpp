#pragma once
// The texts of all TOML files that ship, as they are and bent in ways that change no value; and all that stands in one.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "sim/reading/patch.hpp"

namespace patched {

struct ShippedText {
    std::string name, text;
};

inline std::vector<ShippedText> shipped_texts() {
    std::vector<ShippedText> all;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(LINKDRILL_SOURCE_DIR "/scenarios")) {
        if (entry.path().extension() != ".toml") continue;
        std::ifstream in(entry.path(), std::ios::binary);
        all.push_back({std::filesystem::relative(entry.path(), LINKDRILL_SOURCE_DIR).string(),
                       {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()}});
    }
    std::sort(all.begin(), all.end(), [](const ShippedText& a, const ShippedText& b) { return a.name < b.name; });
    return all;
}

inline std::string with_carriage_returns(const std::string& text) {
    std::string bent;
    for (const char c : text) {
        if (c == '\n') bent += '\r';
        bent += c;
    }
    return bent;
}
inline std::string with_mark(const std::string& text) { return "\xEF\xBB\xBF" + text; }

/// A text of the file, one of its strings a longer one and one of its comments too, with letters of two and four bytes.
inline std::string with_long_letters(const std::string& text) {
    std::string bent =
        "# Gr\xC3\xB6\xC3\x9F"
        "e \xF0\x9F\x98\x80\n";
    bool first = true;
    for (std::size_t at = 0; at < text.size(); ++at) {
        bent += text[at];
        if (text[at] == '"' && first) bent += "\xC3\xBC\xF0\x9F\x98\x80 ";
        first = first != (text[at] == '"');
        if (text[at] == '\n') first = true;
        if (text[at] == '#' && text.compare(at, 2, "#:") != 0) bent += " \xC3\xA4\xF0\x9F\x94\xA9";
    }
    return bent;
}

/// The path of a part, as messages call it.
inline std::string path_of(const sim::WrittenParts& parts, std::size_t part) {
    const sim::WrittenPart& one = parts[part];
    if (one.above == sim::WrittenPart::none) return "";
    const std::string above = path_of(parts, one.above);
    const sim::WrittenPart& list = parts[one.above];
    if (list.kind == sim::WrittenPart::Kind::blocks || list.kind == sim::WrittenPart::Kind::list) {
        const auto place = std::find(list.below.begin(), list.below.end(), part) - list.below.begin();
        return above + "[" + std::to_string(place + 1) + "]";
    }
    return above + (above.empty() ? "" : ".") + sim::key_written(one.key);
}

inline std::string slice(const std::string& text, const sim::Stretch& stretch) {
    return text.substr(stretch.begin, stretch.size());
}

}  // namespace patched
