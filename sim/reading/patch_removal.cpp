// Taking keys, tables and blocks out of a text.
#include <algorithm>

#include "sim/reading/patch_checked.hpp"
#include "sim/reading/tree_edits.hpp"
#include "sim/reading/written_lines.hpp"

namespace sim {
namespace {

using Kind = WrittenPart::Kind;

bool has_comment_behind(std::string_view text, std::size_t at) {
    at = text.find_first_not_of(" \t", at);
    return at != std::string_view::npos && text[at] == '#';
}

class Removal {
  public:
    Removal(std::string_view text, const WrittenParts& parts) : text_(text), parts_(parts) {}

    /// What goes once `part` has gone: the topmost that is left empty by that.
    [[nodiscard]] std::size_t top_of(std::size_t part) const {
        for (std::size_t above = parts_[part].above; above != 0; above = parts_[part].above) {
            if (parts_[above].below.size() != 1 || !goes_if_empty(above, part)) break;
            part = above;
        }
        return part;
    }
    [[nodiscard]] std::string without(std::size_t part) const {
        std::string text(text_);
        const WrittenPart& one = parts_[part];
        if (parts_[one.above].kind == Kind::list)
            cut_item(text, part);
        else if (const std::size_t braces = braces_of(part); braces != WrittenPart::none)
            cut_member(text, part, braces);
        else if (const std::size_t header = header_emptied_by(part); header != WrittenPart::none)
            cut_block(text, block_of(text_, parts_, header));
        else
            cut_lines(text, part);
        return text;
    }

  private:
    std::string_view text_;
    const WrittenParts& parts_;

    [[nodiscard]] std::size_t braces_of(std::size_t part) const {
        for (part = parts_[part].above; part != WrittenPart::none; part = parts_[part].above) {
            if (parts_[part].kind == Kind::inline_table) return part;
            if (parts_[part].statement.size() > 0) break;
        }
        return WrittenPart::none;
    }
    [[nodiscard]] bool goes_if_empty(std::size_t table, std::size_t last) const {
        const WrittenPart& one = parts_[table];
        const bool one_of_several = parts_[one.above].kind == Kind::blocks || parts_[one.above].kind == Kind::list;
        switch (one.kind) {
            case Kind::blocks: return true;
            case Kind::table: return one.statement.size() == 0 || (!one_of_several && nothing_else_in(table, last));
            case Kind::inline_table: return !one_of_several && !has_comment_behind(text_, one.value.end);
            case Kind::scalar:
            case Kind::list: break;
        }
        return false;
    }
    /// No comment behind a header, touching it, or among its lines, of which `last` are all that there are.
    [[nodiscard]] bool nothing_else_in(std::size_t header, std::size_t last) const {
        const Stretch& statement = parts_[header].statement;
        if (has_comment_behind(text_, statement.end)) return false;
        if (line_begin(text_, statement.begin) > block_of(text_, parts_, header).begin) return false;
        std::size_t begin = line_begin(text_, statement.begin);
        if (begin > 0 && is_comment_line(text_, line_begin(text_, begin - 1))) return false;
        const std::vector<std::size_t> lines = lines_of(parts_, last, header);
        begin = line_end(text_, statement.end);
        const std::size_t until = lines.empty() ? begin : line_begin(text_, parts_[lines.front()].statement.begin);
        if (has_comments(begin, until)) return false;
        return !has_comments(lines.empty() ? begin : line_end(text_, parts_[lines.back()].statement.end), text_.size());
    }
    /// From a line's begin up to `end` or the next header; what touches that is the header's.
    [[nodiscard]] bool has_comments(std::size_t begin, std::size_t end) const {
        bool comments = false, touching = false;
        for (std::size_t at = begin; at < end; at = line_end(text_, at)) {
            if (is_header_line(text_, at)) return comments;
            if (is_comment_line(text_, at))
                touching = true;
            else
                comments = comments || touching;
            if (!is_comment_line(text_, at)) touching = false;
        }
        return comments || touching;
    }

    /// The header of which `part` has the only lines, while others stand below it: without it the table still is there.
    [[nodiscard]] std::size_t header_emptied_by(std::size_t part) const {
        const std::size_t above = parts_[part].above;
        const bool has_header = above != 0 && parts_[above].kind == Kind::table && parts_[above].statement.size() > 0;
        if (!has_header || parts_[above].below.size() == 1 || !goes_if_empty(above, part)) return WrittenPart::none;
        const std::vector<std::size_t> lines = lines_of(parts_, part, above);
        return !lines.empty() && lines == lines_of(parts_, above, above) ? above : WrittenPart::none;
    }

    void cut_lines(std::string& text, std::size_t part) const {
        struct Cut {
            Stretch lines;
            bool block = false;
        };
        std::vector<Cut> cuts;
        for (const std::size_t header : headers_in(parts_, part))
            cuts.push_back({block_of(text_, parts_, header), true});
        for (std::size_t above = parts_[part].above; above != WrittenPart::none; above = parts_[above].above)
            for (const std::size_t line : lines_of(parts_, part, above)) {
                const Stretch& statement = parts_[line].statement;
                cuts.push_back({{line_begin(text_, statement.begin), line_end(text_, statement.end)}});
            }
        std::sort(cuts.begin(), cuts.end(), [](const Cut& a, const Cut& b) { return a.lines.begin > b.lines.begin; });
        for (const Cut& cut : cuts)
            if (cut.block)
                cut_block(text, cut.lines);
            else
                cut_line(text, cut.lines);
    }
    /// Where the last line has no end, the one before it gets none.
    static void cut_line(std::string& text, Stretch lines) {
        if (lines.end == text.size() && !text.ends_with('\n') && lines.begin > 0 && text[lines.begin - 1] == '\n')
            lines.begin -= lines.begin > 1 && text[lines.begin - 2] == '\r' ? 2U : 1U;
        text.erase(lines.begin, lines.size());
    }

    void add_members(std::size_t table, std::vector<Stretch>& members) const {
        for (const std::size_t below : parts_[table].below) {
            if (parts_[below].statement.size() > 0)
                members.push_back(parts_[below].statement);
            else
                add_members(below, members);
        }
    }
    /// Out of braces. Several members at once are not taken out: what reads it back sees that.
    void cut_member(std::string& text, std::size_t part, std::size_t braces) const {
        std::vector<Stretch> members, gone;
        add_members(braces, members);
        if (parts_[part].statement.size() > 0)
            gone.push_back(parts_[part].statement);
        else
            add_members(part, gone);
        std::sort(members.begin(), members.end(), [](const Stretch& a, const Stretch& b) { return a.begin < b.begin; });
        const auto at = std::find(members.begin(), members.end(), gone.front());
        Stretch cut{parts_[braces].value.begin + 1, parts_[braces].value.end - 1};
        if (members.size() > 1)
            cut = at + 1 == members.end() ? Stretch{(at - 1)->end, at->end} : Stretch{at->begin, (at + 1)->begin};
        text.erase(cut.begin, cut.size());
    }

    void cut_item(std::string& text, std::size_t part) const {
        const std::vector<std::size_t>& items = parts_[parts_[part].above].below;
        const Stretch item = parts_[part].value;
        const auto at = std::find(items.begin(), items.end(), part);
        std::size_t behind = std::min(text_.find_first_not_of(" \t", item.end), text_.size());
        if (text_[behind] == ',') ++behind;
        const std::size_t begin = line_begin(text_, item.begin), end = line_end(text_, item.end);
        const bool own_line =
            text_.substr(begin, item.begin - begin).find_first_not_of(" \t") == std::string_view::npos;
        if (own_line && (is_blank_line(text_, behind) || is_comment_line(text_, behind))) {
            text.erase(begin, end - begin);
            return;
        }
        const auto plain = [&](std::size_t from, std::size_t to) {
            return text_.substr(from, to - from).find_first_of("#\n") == std::string_view::npos;
        };
        Stretch cut{item.begin, behind};
        if (at + 1 != items.end() && plain(item.end, parts_[*(at + 1)].value.begin))
            cut.end = parts_[*(at + 1)].value.begin;
        else if (at + 1 == items.end() && at != items.begin() && plain(parts_[*(at - 1)].value.end, item.begin))
            cut = {parts_[*(at - 1)].value.end, item.end};
        text.erase(cut.begin, cut.size());
    }
};

}  // namespace

void cut_block(std::string& text, const Stretch& block) {
    const std::size_t first = line_begin(text, 0);
    std::size_t above = block.begin, below = block.end, blank_above = 0, blank_below = 0;
    while (above > first && is_blank_line(text, line_begin(text, above - 1))) {
        above = line_begin(text, above - 1);
        ++blank_above;
    }
    while (is_blank_line(text, below)) {
        below = line_end(text, below);
        ++blank_below;
    }
    Stretch cut = block;
    if (below >= text.size()) {  // nothing follows: blank lines there stay
        cut.begin = above;
        const bool open_end = block.end == text.size() && !text.ends_with('\n');
        if (open_end && cut.begin > first && text[cut.begin - 1] == '\n')
            cut.begin -= cut.begin > 1 && text[cut.begin - 2] == '\r' ? 2U : 1U;
    } else if (above == first || blank_above >= blank_below) {
        cut.end = below;
    } else {
        cut.begin = above;
    }
    text.erase(cut.begin, cut.size());
}

proto::Result<std::string, FileError> without(const WrittenFile& file, std::string_view path) {
    auto steps = path_in(path);
    if (!steps) return refused(file, path, "is no path of a key; write link.watchdog, or fault[3].at");
    const WrittenParts& parts = file.parts();
    const std::size_t part = part_at(parts, *steps);
    if (part == WrittenPart::none) return refused(file, path, "is not there, so it cannot be taken out");
    const Removal removal(file.text(), parts);
    const std::size_t top = removal.top_of(part);
    for (std::size_t gone = part; gone != top; gone = parts[gone].above) steps->pop_back();
    Node meant = file.tree();
    if (!take_at(meant, *steps)) return refused(file, path, "is not there, so it cannot be taken out");
    return as_meant(file, path, removal.without(top), meant);
}

}  // namespace sim
