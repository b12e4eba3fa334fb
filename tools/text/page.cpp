#include "tools/text/page.hpp"

#include <algorithm>
#include <utility>

#include "proto/contract.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

constexpr std::string_view code_of(Hue hue) {
    switch (hue) {
        case Hue::none: return "";
        case Hue::good: return "\x1b[32m";
        case Hue::caution: return "\x1b[33m";
        case Hue::danger: return "\x1b[1;31m";
    }
    return "";
}

}  // namespace

Columns Columns::of_terminal(std::size_t said) { return {std::clamp(said, least, most)}; }

void Page::push(Line line) {
    while (!line.text.empty() && line.text.back() == ' ') line.text.pop_back();
    proto::require(line.text.size() <= columns_.count, "a line of a page is too long");
    lines_.push_back(std::move(line));
}

void Page::blank() { lines_.emplace_back(); }

void Page::line(std::string_view text) {
    const std::string safe = plain(text);
    if (safe.size() <= columns_.count) {
        push({safe});
        return;
    }
    const std::size_t begin = std::min(safe.find_first_not_of(' '), std::size_t{20});
    paragraph_at(begin + 4, safe.substr(0, begin), safe.substr(begin));
}

void Page::paragraph(std::string_view lead, std::string_view text) { paragraph_at(plain(lead).size(), lead, text); }

void Page::paragraph_at(std::size_t indent, std::string_view lead, std::string_view text) {
    // At least half the line stays for the text, whatever the lead.
    const std::size_t half = columns_.count / 2;
    std::string begin = plain(lead);
    while (begin.size() > half) {
        push({begin.substr(0, columns_.count)});
        begin = begin.size() > columns_.count ? begin.substr(columns_.count) : std::string(std::min(indent, half), ' ');
    }
    indent = std::min(indent, half);
    const std::size_t room = columns_.count - std::max(begin.size(), indent);
    bool first = true;
    for (const std::string& part : wrapped(plain(text), room)) {
        push({(first ? begin : std::string(indent, ' ')) + part});
        first = false;
    }
}

void Page::headline(std::string_view verdict, Hue hue, std::string_view text) {
    const std::size_t at = lines_.size();
    paragraph(std::string(verdict) + "  ", text);
    is_headline(at, verdict.size(), hue);
}

void Page::limited_headline(std::string_view verdict, Hue hue, std::string_view more) {
    const std::size_t at = lines_.size();
    paragraph_at(verdict.size() + 2, "", std::string(verdict) + std::string(more));
    is_headline(at, verdict.size(), hue);
}

void Page::is_headline(std::size_t from, std::size_t coloured, Hue hue) {
    lines_[from].length = coloured;
    lines_[from].hue = hue;
    head_lines_ = lines_.size();
}

void Page::marked(std::string_view text, std::size_t from, std::size_t length, Hue hue) {
    push({plain(text), from, length, hue});
}

std::string Page::painted(const Line& line, Colour colour) {
    if (colour == Colour::off || line.hue == Hue::none || line.from + line.length > line.text.size()) return line.text;
    return line.text.substr(0, line.from) + std::string(code_of(line.hue)) + line.text.substr(line.from, line.length) +
           "\x1b[0m" + line.text.substr(line.from + line.length);
}

std::string Page::text(Colour colour) const {
    std::string out;
    for (const Line& line : lines_) out += painted(line, colour) + "\n";
    return out;
}

std::string Page::head(Colour colour) const {
    if (head_lines_ == 0) return text(colour);
    std::string out;
    for (std::size_t i = 0; i < head_lines_; ++i) out += painted(lines_[i], colour) + "\n";
    return out;
}

}  // namespace tools
