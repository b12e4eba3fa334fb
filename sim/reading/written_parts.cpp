#include "sim/reading/written_parts.hpp"

#include <map>
#include <utility>

#include "sim/reading/written_keys.hpp"

namespace sim {
namespace {

using Kind = WrittenPart::Kind;
constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

/// One walk from the first byte to the last. The text is known to be right, so what is not as expected only makes the
/// walk fail.
class Walk {
  public:
    explicit Walk(std::string_view text) : text_(text) {
        if (text_.starts_with(byte_order_mark)) at_ = counted_ = byte_order_mark.size();
        parts_.push_back({.kind = Kind::table, .line = 1});
    }

    bool all() {
        while (!failed_) {
            skip_blank();
            if (at_ >= text_.size()) break;
            if (text_[at_] == '[')
                header();
            else
                member(table_, table_);
            skip(" \t");
            if (at_ < text_.size() && text_[at_] != '\n' && text_[at_] != '\r' && text_[at_] != '#') failed_ = true;
        }
        return !failed_;
    }
    [[nodiscard]] WrittenParts parts() && { return std::move(parts_); }
    [[nodiscard]] const std::vector<ValuePlace>& seen() const { return seen_; }

  private:
    std::string_view text_;
    std::size_t at_ = 0;
    std::size_t table_ = 0;  ///< below whose header this is
    bool failed_ = false;
    WrittenParts parts_;
    std::map<std::pair<std::size_t, std::string>, std::size_t> named_;
    std::vector<ValuePlace> seen_;
    std::size_t counted_ = 0;  ///< up to here, as line and column
    int line_ = 1, column_ = 1;

    [[nodiscard]] bool looks_at(std::string_view next) const { return text_.substr(at_).starts_with(next); }
    [[nodiscard]] char next() const { return at_ < text_.size() ? text_[at_] : '\0'; }
    void skip(std::string_view letters) { at_ = std::min(text_.find_first_not_of(letters, at_), text_.size()); }
    void expect(char c) {
        if (next() == c && at_ < text_.size())
            ++at_;
        else
            failed_ = true;
    }
    /// Blanks, line ends and comments.
    void skip_blank() {
        for (;;) {
            skip(" \t\r\n");
            if (next() != '#') return;
            at_ = std::min(text_.find('\n', at_), text_.size());
        }
    }
    /// Brings line and column up to where the walk is.
    void count() {
        for (; counted_ < at_; ++counted_) {
            const auto byte = static_cast<unsigned char>(text_[counted_]);
            if (byte == '\n') {
                ++line_;
                column_ = 1;
            } else if ((byte & 0xC0U) != 0x80) {
                ++column_;
            }
        }
    }

    std::size_t add(std::size_t above, std::string key, Kind kind) {
        const std::size_t part = parts_.size();
        count();
        parts_.push_back({.kind = kind, .key = key, .above = above, .line = line_});
        parts_[above].below.push_back(part);
        if (!key.empty() || parts_[above].kind == Kind::table || parts_[above].kind == Kind::inline_table)
            named_.emplace(std::pair(above, std::move(key)), part);
        return part;
    }
    [[nodiscard]] std::size_t find(std::size_t above, const std::string& key) const {
        const auto found = named_.find({above, key});
        return found == named_.end() ? WrittenPart::none : found->second;
    }
    /// The table of that key, made if it is not there; of several the last.
    std::size_t table_of(std::size_t above, const std::string& key) {
        std::size_t part = find(above, key);
        if (part == WrittenPart::none) part = add(above, key, Kind::table);
        if (parts_[part].kind == Kind::blocks && !parts_[part].below.empty()) part = parts_[part].below.back();
        if (parts_[part].kind != Kind::table) failed_ = true;
        return part;
    }

    std::vector<std::string> dotted_key() {
        std::vector<std::string> steps;
        do {
            skip(" \t");
            std::optional<std::string> key = read_key(text_, at_);
            if (!key) {
                failed_ = true;
                return steps;
            }
            steps.push_back(std::move(*key));
            skip(" \t");
        } while (next() == '.' && ++at_ < text_.size());
        return steps;
    }

    void header() {
        const std::size_t begin = at_;
        const bool several = looks_at("[[");
        at_ += several ? 2 : 1;
        std::vector<std::string> steps = dotted_key();
        if (failed_) return;
        const std::string last = std::move(steps.back());
        steps.pop_back();
        std::size_t above = 0;
        for (const std::string& step : steps) above = table_of(above, step);
        if (several) {
            std::size_t blocks = find(above, last);
            if (blocks == WrittenPart::none) blocks = add(above, last, Kind::blocks);
            if (parts_[blocks].kind != Kind::blocks) failed_ = true;
            table_ = add(blocks, "", Kind::table);
        } else {
            table_ = table_of(above, last);
        }
        expect(']');
        if (several) expect(']');
        parts_[table_].statement = {begin, at_};
        parts_[table_].header = table_;
        parts_[table_].line = line_;
    }

    /// `header`: below which it stands as a line, or none.
    void member(std::size_t table, std::size_t header) {
        const std::size_t begin = at_;
        std::vector<std::string> steps = dotted_key();
        if (failed_) return;
        const std::string last = std::move(steps.back());
        steps.pop_back();
        for (const std::string& step : steps) table = table_of_member(table, step);
        const std::size_t part = add(table, last, Kind::scalar);
        expect('=');
        skip(" \t");
        value(part);
        parts_[part].statement = {begin, at_};
        parts_[part].header = header;
    }
    /// In an inline table the tables of its dotted keys are known by nothing but what is in them.
    std::size_t table_of_member(std::size_t above, const std::string& key) {
        const std::size_t part = find(above, key);
        if (part != WrittenPart::none && parts_[part].kind == Kind::table) return part;
        if (part != WrittenPart::none) failed_ = true;
        return add(above, key, Kind::table);
    }

    void value(std::size_t part) {
        const std::size_t begin = at_;
        std::size_t place = WrittenPart::none;
        if (next() != '[') {
            count();
            place = seen_.size();
            seen_.push_back({line_, column_, 0, 0});
        }
        if (next() == '[')
            list(part);
        else if (next() == '{')
            inline_table(part);
        else
            failed_ = !skip_scalar(text_, at_) || failed_;
        parts_[part].value = {begin, at_};
        if (place == WrittenPart::none) return;
        count();
        seen_[place].end_line = line_;
        seen_[place].end_column = column_;
    }
    void list(std::size_t part) {
        parts_[part].kind = Kind::list;
        expect('[');
        for (skip_blank(); !failed_ && next() != ']'; skip_blank()) {
            const std::size_t item = add(part, "", Kind::scalar);
            value(item);
            parts_[item].statement = parts_[item].value;
            skip_blank();
            if (next() != ',') break;
            ++at_;
        }
        expect(']');
    }
    void inline_table(std::size_t part) {
        parts_[part].kind = Kind::inline_table;
        expect('{');
        for (skip(" \t"); !failed_ && next() != '}'; skip(" \t")) {
            member(part, WrittenPart::none);
            skip(" \t");
            if (next() != ',') break;
            ++at_;
        }
        expect('}');
    }
};

bool same(const ValuePlace& a, const ValuePlace& b) {
    return a.line == b.line && a.column == b.column && a.end_line == b.end_line && a.end_column == b.end_column;
}

}  // namespace

std::optional<WrittenParts> written_parts(std::string_view text, const std::vector<ValuePlace>& said) {
    Walk walk(text);
    if (!walk.all() || walk.seen().size() != said.size()) return std::nullopt;
    for (std::size_t i = 0; i < said.size(); ++i)
        if (!same(said[i], walk.seen()[i])) return std::nullopt;
    return std::move(walk).parts();
}

std::size_t part_at(const WrittenParts& parts, const WrittenPath& path) {
    std::size_t part = 0;
    for (const PathStep& step : path) {
        const std::vector<std::size_t>& below = parts[part].below;
        std::size_t found = WrittenPart::none;
        if (step.index > 0) {
            const bool several = parts[part].kind == Kind::blocks || parts[part].kind == Kind::list;
            if (several && step.index <= below.size()) found = below[step.index - 1];
        } else if (parts[part].kind == Kind::table || parts[part].kind == Kind::inline_table) {
            for (const std::size_t one : below)
                if (parts[one].key == step.key) found = one;
        }
        if (found == WrittenPart::none) return found;
        part = found;
    }
    return part;
}

}  // namespace sim
