// [[blocks]] of some kinds in place of those that a text has.
#include <algorithm>

#include "sim/reading/patch_checked.hpp"
#include "sim/reading/section.hpp"
#include "sim/reading/tree_edits.hpp"
#include "sim/reading/written_lines.hpp"

namespace sim {
namespace {

bool is_one_of(std::span<const std::string_view> kinds, std::string_view key) {
    return std::find(kinds.begin(), kinds.end(), key) != kinds.end();
}

/// With the line ends of the file, one at the end, and no blank lines around.
std::string lines_of_blocks(std::string_view blocks, std::string_view line_break) {
    std::string lines;
    while (!blocks.empty()) {
        const std::size_t end = std::min(blocks.find('\n'), blocks.size());
        std::string_view line = blocks.substr(0, end);
        if (line.ends_with('\r')) line.remove_suffix(1);
        if (!lines.empty() || line.find_first_not_of(" \t") != std::string_view::npos) {
            lines += line;
            lines += line_break;
        }
        blocks.remove_prefix(std::min(end + 1, blocks.size()));
    }
    while (lines.ends_with(std::string(line_break) + std::string(line_break)))
        lines.resize(lines.size() - line_break.size());
    return lines;
}

/// All stretches of blocks of these kinds, in the order of the text.
std::vector<Stretch> stretches_of(const WrittenFile& file, std::span<const std::string_view> kinds) {
    std::vector<Stretch> all;
    for (const std::size_t part : file.parts().front().below)
        if (is_one_of(kinds, file.parts()[part].key))
            for (const std::size_t header : headers_in(file.parts(), part))
                all.push_back(block_of(file.text(), file.parts(), header));
    std::sort(all.begin(), all.end(), [](const Stretch& a, const Stretch& b) { return a.begin < b.begin; });
    return all;
}

std::string at_the_end(std::string text, const std::string& lines, const std::string& line_break) {
    if (lines.empty()) return text;
    if (!text.empty() && !text.ends_with('\n')) text += line_break;
    if (!text.ends_with("\n\n") && !text.ends_with("\n\r\n")) text += line_break;
    return text + lines;
}

}  // namespace

proto::Result<std::string, FileError> with_blocks(const WrittenFile& file, std::span<const std::string_view> kinds,
                                                  std::string_view blocks) {
    const std::string line_break(sim::line_break(file.text()));
    std::string lines = lines_of_blocks(blocks, line_break);
    Node meant = file.tree();
    for (const std::string_view kind : kinds) {
        const WrittenPath path{{.key = std::string(kind)}};
        const std::size_t part = part_at(file.parts(), path);
        if (part == WrittenPart::none) continue;
        if (file.parts()[part].kind != WrittenPart::Kind::blocks)
            return refused(file, kind, "is written as a list; write it as [[" + std::string(kind) + "]] blocks");
        take_at(meant, path);
    }
    if (!lines.empty()) {
        const auto more = document_from(lines, file.path());
        if (!more) return refused(file, "", "the new blocks cannot be read: " + more.error().message);
        for (const Member& member : more.value().members) {
            if (!is_one_of(kinds, member.key) || member.value.kind != Node::Kind::array)
                return refused(file, member.key, "is no block of what is replaced");
            put(meant, member.key, member.value);
        }
    }
    std::string text = file.text();
    const std::vector<Stretch> old = stretches_of(file, kinds);
    for (std::size_t i = old.size(); i > 1; --i) cut_block(text, old[i - 1]);
    if (old.empty()) {
        text = at_the_end(std::move(text), lines, line_break);
    } else if (lines.empty()) {
        cut_block(text, old.front());
    } else {
        const Stretch& first = old.front();
        const std::string_view taken = std::string_view(text).substr(first.begin, first.size());
        if (!taken.ends_with('\n')) lines.resize(lines.size() - line_break.size());
        text.replace(first.begin, first.size(), lines);
    }
    return as_meant(file, kinds.empty() ? "" : kinds.front(), std::move(text), meant);
}

}  // namespace sim
