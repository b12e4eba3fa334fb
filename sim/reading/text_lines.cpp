#include "sim/reading/text_lines.hpp"

#include <algorithm>
#include <vector>

namespace sim {
namespace {

/// Walks over a line, telling what stands outside quotes and comments.
class Walk {
  public:
    explicit Walk(std::string_view line) : line_(line) {}
    /// Calls `see(index, char)` for each character that is not within quotes.
    template <class See>
    void all(const See& see) {
        for (std::size_t i = 0; i < line_.size(); ++i) {
            const char c = line_[i];
            if (quote_ != 0) {
                if (c == '\\' && quote_ == '"') ++i;
                if (c == quote_) quote_ = 0;
            } else if (c == '#') {
                return;
            } else {
                if (c == '"' || c == '\'') quote_ = c;
                see(i, c);
            }
        }
    }
    [[nodiscard]] char open_quote() const { return quote_; }

  private:
    std::string_view line_;
    char quote_ = 0;
};

bool is_header(std::string_view line) {
    line = bare_text(line);
    return line.starts_with('[') && line.find('=') == std::string_view::npos;
}

}  // namespace

std::string_view line_at(std::string_view text, int number) {
    for (int i = 1; i < number; ++i) {
        const std::size_t end = text.find('\n');
        if (end == std::string_view::npos) return {};
        text.remove_prefix(end + 1);
    }
    text = text.substr(0, text.find('\n'));
    if (text.ends_with('\r')) text.remove_suffix(1);
    return text;
}

std::string_view bare_text(std::string_view text) {
    const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
    while (!text.empty() && blank(text.front())) text.remove_prefix(1);
    while (!text.empty() && blank(text.back())) text.remove_suffix(1);
    return text;
}

TextLine taken_apart(std::string_view line) {
    TextLine parts;
    std::size_t equals = std::string_view::npos, end = 0;
    Walk walk(line);
    walk.all([&](std::size_t i, char c) {
        if (c == '=' && equals == std::string_view::npos) equals = i;
        end = i + 1;
    });
    parts.open_quote = walk.open_quote();
    // a quote ends where it is closed, which nothing outside it tells
    const std::size_t comment = line.find('#', end);
    const std::string_view whole =
        comment == std::string_view::npos || parts.open_quote != 0 ? line : line.substr(0, comment);
    parts.has_equals = equals != std::string_view::npos;
    parts.key = bare_text(whole.substr(0, std::min(equals, whole.size())));
    if (parts.has_equals) parts.value = bare_text(whole.substr(std::min(equals + 1, whole.size())));
    return parts;
}

std::optional<OpenBracket> open_bracket(std::string_view text, int until) {
    std::vector<OpenBracket> open;
    for (int number = 1; number <= until && !text.empty(); ++number) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        const std::string_view line = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        if (is_header(line) && (open.empty() || number == until)) continue;
        Walk(line).all([&](std::size_t, char c) {
            if (c == '[' || c == '{') open.push_back({number, c});
            if ((c == ']' || c == '}') && !open.empty()) open.pop_back();
        });
    }
    if (open.empty()) return std::nullopt;
    return open.back();
}

}  // namespace sim
