#include "sim/reading/written_lines.hpp"

#include <algorithm>

namespace sim {
namespace {

std::size_t text_begin(std::string_view text) { return text.starts_with("\xEF\xBB\xBF") ? 3 : 0; }

/// The first letter of a line that is no blank; the line's break, or nothing at the text's end.
char first_letter(std::string_view text, std::size_t at) {
    at = text.find_first_not_of(" \t", at);
    return at == std::string_view::npos ? '\0' : text[at];
}

void add_lines(const WrittenParts& parts, std::size_t part, std::size_t header, std::vector<std::size_t>& lines) {
    const WrittenPart& one = parts[part];
    if (one.statement.size() > 0 && one.header == header && part != header) {
        lines.push_back(part);
    } else if (one.kind == WrittenPart::Kind::table && (one.statement.size() == 0 || part == header)) {
        for (const std::size_t below : one.below) add_lines(parts, below, header, lines);
    }
}

void add_headers(const WrittenParts& parts, std::size_t part, std::vector<std::size_t>& headers) {
    const WrittenPart& one = parts[part];
    if (one.kind != WrittenPart::Kind::table && one.kind != WrittenPart::Kind::blocks) return;
    if (one.statement.size() > 0) headers.push_back(part);
    for (const std::size_t below : one.below) add_headers(parts, below, headers);
}

void sort_by_text(const WrittenParts& parts, std::vector<std::size_t>& found) {
    std::sort(found.begin(), found.end(),
              [&](std::size_t a, std::size_t b) { return parts[a].statement.begin < parts[b].statement.begin; });
}

}  // namespace

std::size_t line_begin(std::string_view text, std::size_t at) {
    const std::size_t before = at == 0 ? std::string_view::npos : text.rfind('\n', at - 1);
    return before == std::string_view::npos ? std::min(text_begin(text), at) : before + 1;
}

std::size_t line_end(std::string_view text, std::size_t at) {
    const std::size_t found = text.find('\n', at);
    return found == std::string_view::npos ? text.size() : found + 1;
}

bool is_blank_line(std::string_view text, std::size_t at) {
    if (at >= text.size()) return false;
    const char first = first_letter(text, at);
    return first == '\n' || first == '\r' || first == '\0';
}
bool is_comment_line(std::string_view text, std::size_t at) { return first_letter(text, at) == '#'; }
bool is_header_line(std::string_view text, std::size_t at) { return first_letter(text, at) == '['; }

std::string_view indent_of(std::string_view text, std::size_t at) {
    const std::size_t begin = line_begin(text, at);
    return text.substr(begin, std::min(text.find_first_not_of(" \t", begin), text.size()) - begin);
}

std::string_view line_break(std::string_view text) {
    const std::size_t first = text.find('\n');
    return first != std::string_view::npos && first > 0 && text[first - 1] == '\r' ? "\r\n" : "\n";
}

std::vector<std::size_t> lines_of(const WrittenParts& parts, std::size_t part, std::size_t header) {
    std::vector<std::size_t> lines;
    add_lines(parts, part, header, lines);
    sort_by_text(parts, lines);
    return lines;
}

std::vector<std::size_t> headers_in(const WrittenParts& parts, std::size_t part) {
    std::vector<std::size_t> headers;
    add_headers(parts, part, headers);
    sort_by_text(parts, headers);
    return headers;
}

std::size_t end_of_body(std::string_view text, const WrittenParts& parts, std::size_t header) {
    std::size_t last = header == 0 ? text_begin(text) : line_end(text, parts[header].statement.end);
    const std::vector<std::size_t> lines = lines_of(parts, header, header);
    if (!lines.empty()) last = line_end(text, parts[lines.back()].statement.end);
    std::size_t end = last;
    while (is_comment_line(text, end)) end = line_end(text, end);
    return is_header_line(text, end) ? last : end;
}

Stretch block_of(std::string_view text, const WrittenParts& parts, std::size_t header) {
    Stretch block{line_begin(text, parts[header].statement.begin), end_of_body(text, parts, header)};
    const std::size_t first = text_begin(text);
    std::size_t begin = block.begin;
    while (begin > first) {
        const std::size_t above = line_begin(text, begin - 1);
        if (!is_comment_line(text, above)) break;
        begin = above;
    }
    if (begin > first) block.begin = begin;
    return block;
}

}  // namespace sim
