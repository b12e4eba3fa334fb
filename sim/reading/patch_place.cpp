// Where a new key goes.
#include <algorithm>
#include <span>

#include "sim/reading/file_kind.hpp"
#include "sim/reading/key_order.hpp"
#include "sim/reading/patch_checked.hpp"
#include "sim/reading/written_lines.hpp"

namespace sim {
namespace {

using Kind = WrittenPart::Kind;
constexpr std::size_t none = WrittenPart::none;

WrittenPath first_of(const WrittenPath& path, std::size_t count) {
    return {path.begin(), path.begin() + static_cast<std::ptrdiff_t>(count)};
}

/// "at = 3", or "expect = { at = 3 }".
std::string member_written(std::span<const PathStep> keys, std::string_view value) {
    const std::string key = key_written(keys.front().key) + " = ";
    if (keys.size() == 1) return key + std::string(value);
    return key + "{ " + member_written(keys.subspan(1), value) + " }";
}

class Placing {
  public:
    Placing(const WrittenFile& file, const WrittenPath& path, std::string_view value)
        : text_(file.text()),
          parts_(file.parts()),
          kind_(kind_of_tree(file.tree())),
          path_(path),
          value_(value),
          line_break_(line_break(text_)) {}

    proto::Result<Insertion, std::string> place() {
        std::size_t there = 0;
        for (depth_ = 0; depth_ < path_.size(); ++depth_) {
            const std::size_t next = part_at(parts_, first_of(path_, depth_ + 1));
            if (next == none) break;
            there = next;
        }
        if (depth_ == path_.size()) return std::string("is there already");
        if (auto fault = fault_at(there)) return *fault;
        const WrittenPart& part = parts_[there];
        if (part.kind == Kind::inline_table) return in_braces(there, there);
        if (const std::size_t header = header_of_lines(there); header != none) {
            if (parts_[header].kind == Kind::inline_table) return in_braces(there, header);
            if (there != header || !new_header()) return as_line(there, header);
        }
        return as_table(there);
    }

  private:
    std::string_view text_;
    const WrittenParts& parts_;
    FileKind kind_;
    const WrittenPath& path_;
    std::string_view value_;
    std::string line_break_;
    std::size_t depth_ = 0;  ///< so many steps of the path are there

    [[nodiscard]] std::optional<std::string> fault_at(std::size_t there) const {
        const WrittenPart& part = parts_[there];
        for (const PathStep& step : std::span(path_).subspan(depth_))
            if (step.index > 0) {
                const bool several = part.kind == Kind::blocks || part.kind == Kind::list;
                return "there " + std::string(several && part.below.size() == 1 ? "is" : "are") + " " +
                       std::to_string(several ? part.below.size() : 0) + " of them; write one that is there";
            }
        if (part.kind == Kind::blocks) return "there are several; write which, such as [1]";
        if (part.kind == Kind::scalar || part.kind == Kind::list) return "leads through a value that is no table";
        return std::nullopt;
    }
    /// Whether the first key that is missing is a table with a header of its own.
    [[nodiscard]] bool new_header() const {
        return depth_ + 1 < path_.size() && has_own_header(first_of(path_, depth_ + 1));
    }
    /// The header, or the braces, in which a table's keys stand; none if it is there only by headers below it.
    [[nodiscard]] std::size_t header_of_lines(std::size_t table) const {
        if (table == 0 || parts_[table].statement.size() > 0) return table;
        std::size_t above = table;
        while (above != 0 && parts_[above].kind == Kind::table && parts_[above].statement.size() == 0)
            above = parts_[above].above;
        if (parts_[above].kind == Kind::inline_table) return above;
        return parts_[above].kind == Kind::table && !lines_of(parts_, table, above).empty() ? above : none;
    }
    [[nodiscard]] std::size_t rank_of(const std::string& key) const {
        WrittenPath path = first_of(path_, depth_);
        path.push_back({.key = key});
        return listed_at(kind_, path);
    }
    /// Of the parts below a table that there are places for: the nearest that is listed before the new key.
    template <class Found>
    std::size_t nearest_before(std::size_t table, const Found& found) const {
        const std::size_t rank = rank_of(path_[depth_].key);
        std::size_t nearest = none, its_rank = 0;
        for (const std::size_t below : parts_[table].below) {
            if (!found(below)) continue;
            const std::size_t other = rank_of(parts_[below].key);
            if (other > rank || (nearest != none && other < its_rank)) continue;
            nearest = below;
            its_rank = other;
        }
        return nearest;
    }
    /// The keys from a header or braces down to a table, each with a dot behind it.
    [[nodiscard]] std::string dotted(std::size_t from, std::size_t table) const {
        std::string keys;
        for (; table != from; table = parts_[table].above) keys.insert(0, key_written(parts_[table].key) + ".");
        return keys;
    }
    [[nodiscard]] std::string member() const { return member_written(std::span(path_).subspan(depth_), value_); }

    /// The statements of a part within braces, as one stretch.
    [[nodiscard]] Stretch within(std::size_t part) const {
        if (parts_[part].statement.size() > 0) return parts_[part].statement;
        Stretch all{text_.size(), 0};
        for (const std::size_t below : parts_[part].below) {
            const Stretch one = within(below);
            all = {std::min(all.begin, one.begin), std::max(all.end, one.end)};
        }
        return all;
    }
    [[nodiscard]] Insertion in_braces(std::size_t table, std::size_t braces) const {
        if (table != braces) return {within(table).end, ", " + dotted(braces, table) + member()};
        const std::size_t nearest = nearest_before(table, [](std::size_t) { return true; });
        if (nearest != none) return {within(nearest).end, ", " + member()};
        const std::size_t begin = parts_[braces].value.begin + 1;
        if (parts_[braces].below.empty()) return {begin, text_[begin] == '}' ? " " + member() + " " : " " + member()};
        return {within(parts_[braces].below.front()).begin, member() + ", "};
    }

    /// A line more at `at`, where a line begins.
    [[nodiscard]] Insertion line_at(std::size_t at, std::string_view indent, const std::string& line) const {
        const std::string indented = std::string(indent) + line;
        const bool open_end = at == text_.size() && !text_.empty() && text_.back() != '\n';
        return {at, open_end ? line_break_ + indented : indented + line_break_};
    }
    [[nodiscard]] Insertion as_line(std::size_t table, std::size_t header) const {
        const std::string line = dotted(header, table) + member();
        const std::size_t nearest =
            nearest_before(table, [&](std::size_t part) { return !lines_of(parts_, part, header).empty(); });
        if (nearest != none) {
            const Stretch& before = parts_[lines_of(parts_, nearest, header).back()].statement;
            const std::string_view indent = indent_of(text_, before.begin);
            std::size_t at = line_end(text_, before.end);
            // a comment that goes on below the line that it begins on
            while (is_comment_line(text_, at) && indent_of(text_, at).size() > indent.size()) at = line_end(text_, at);
            return line_at(at, indent, line);
        }
        const std::vector<std::size_t> lines = lines_of(parts_, table, header);
        if (lines.empty() && header == 0) return line_at(end_of_body(text_, parts_, 0), "", line);
        const std::size_t indented =
            lines.empty() ? parts_[header].statement.begin : parts_[lines.front()].statement.begin;
        const bool behind_header = table == header && header != 0;
        return line_at(behind_header ? line_end(text_, parts_[header].statement.end) : line_begin(text_, indented),
                       indent_of(text_, indented), line);
    }

    /// "link.controller": what leads to a table, as its header has it.
    [[nodiscard]] std::string header_text(std::size_t keys) const {
        std::string header;
        for (const PathStep& step : std::span(path_).first(keys))
            if (step.index == 0) header += (header.empty() ? "" : ".") + key_written(step.key);
        return "[" + header + "]";
    }
    [[nodiscard]] Insertion as_table(std::size_t there) const {
        std::size_t keys = depth_;  // so many steps lead to the new header
        while (keys + 1 < path_.size() && has_own_header(first_of(path_, keys + 1))) ++keys;
        const std::string_view indent = there == 0 ? "" : indent_of_headers(there);
        const std::string lines = std::string(indent) + header_text(keys) + line_break_ + std::string(indent) +
                                  member_written(std::span(path_).subspan(keys), value_);
        const std::vector<std::size_t> below = headers_in(parts_, there);
        const std::size_t nearest =
            nearest_before(there, [&](std::size_t part) { return !headers_in(parts_, part).empty(); });
        const bool bare = there != 0 && parts_[there].statement.size() == 0 && !below.empty();
        if (bare && (nearest == none || keys == depth_)) {
            const std::size_t before = block_of(text_, parts_, below.front()).begin;
            const bool dense = before > 0 && !is_blank_line(text_, line_begin(text_, before - 1));
            return {before, lines + line_break_ + (dense ? "" : line_break_)};
        }
        std::size_t at = end_of_body(text_, parts_, bare ? below.front() : there);
        if (nearest != none)
            for (const std::size_t header : headers_in(parts_, nearest))
                at = std::max(at, end_of_body(text_, parts_, header));
        const bool apart = at >= text_.size() || is_blank_line(text_, at);
        const std::string before = apart && at > 0 ? line_break_ : "";
        if (at == text_.size() && !text_.empty() && text_.back() != '\n') return {at, line_break_ + before + lines};
        return {at, before + lines + line_break_};
    }
    [[nodiscard]] std::string_view indent_of_headers(std::size_t table) const {
        const std::vector<std::size_t> headers = headers_in(parts_, table);
        return headers.empty() ? std::string_view() : indent_of(text_, parts_[headers.front()].statement.begin);
    }
};

}  // namespace

proto::Result<Insertion, FileError> insertion_of(const WrittenFile& file, std::string_view path,
                                                 const WrittenPath& steps, std::string_view value) {
    auto placed = Placing(file, steps, value).place();
    if (!placed) return refused(file, path, placed.error());
    return placed.value();
}

}  // namespace sim
