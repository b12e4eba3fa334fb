#include "tools/report/sheet.hpp"
#include "tools/text/text.hpp"

namespace tools {
namespace {

/// Nothing in it acts as markup, not even the markup of HTML, which Markdown lets through.
std::string escaped(std::string_view text) {
    std::string out;
    for (const char c : on_one_line(text)) {
        if (std::string_view("\\`*_[]<>|#&~").find(c) != std::string_view::npos) out += '\\';
        out += c;
    }
    return out;
}

std::string cell(const SheetCell& c) {
    if (c.kind == SheetCell::Kind::blank) return c.text.empty() ? R"(\_\_\_\_)" : escaped(c.text) + R"( \_\_\_\_)";
    if (c.kind == SheetCell::Kind::differs) return "**differs** " + escaped(c.text);
    return escaped(c.text);
}

class Markdown {
  public:
    std::string finish(std::string_view foot) {
        if (!foot.empty()) out_ += "---\n\n" + escaped(foot) + "\n";
        return std::move(out_);
    }
    void operator()(const SheetHeading& h) {
        out_ += std::string(h.level, '#') + " " + (h.margin.empty() ? "" : escaped(h.margin) + " ") + escaped(h.text) +
                "\n\n";
    }
    void operator()(const SheetText& t) {
        using Kind = SheetText::Kind;
        switch (t.kind) {
            case Kind::plain:
            case Kind::soft: out_ += escaped(t.text) + "\n\n"; return;
            case Kind::strong: out_ += "**" + escaped(t.text) + "**\n\n"; return;
            case Kind::command: out_ += "    " + on_one_line(t.text) + "\n\n"; return;
            case Kind::warning: out_ += "> **WARNING** " + escaped(t.text) + "\n\n"; return;
            case Kind::caution: out_ += "> **CAUTION** " + escaped(t.text) + "\n\n"; return;
        }
    }
    void operator()(const SheetVerdict& v) { out_ += "**" + escaped(v.word) + "** " + escaped(v.sentence) + "\n\n"; }
    void operator()(const SheetList& list) {
        for (const std::string& item : list.items) out_ += "- " + escaped(item) + "\n";
        out_ += "\n";
    }
    void operator()(const SheetLink& link) {
        out_ += escaped(link.before) + " [" + escaped(link.words) + "](" + link.to + ")\n\n";
    }
    void operator()(const SheetChart&) {}
    void operator()(const SheetPicture& picture) {
        for (const SheetPicture::Part& part : picture.parts) {
            out_ += "- " + escaped(part.name) + ": " + escaped(part.what);
            for (const SheetPicture::Finding& one : part.found) out_ += "; " + escaped(one.words);
            out_ += "\n";
        }
        out_ += "\n";
    }
    void operator()(const SheetTable& table) {
        out_ += escaped(table.caption) + ":\n\n|";
        for (const std::string& column : table.columns) out_ += " " + escaped(column) + " |";
        out_ += "\n|";
        for (std::size_t i = 0; i < table.columns.size(); ++i) out_ += " --- |";
        out_ += "\n";
        for (const std::vector<SheetCell>& row : table.rows) {
            out_ += "|";
            for (const SheetCell& c : row) out_ += " " + cell(c) + " |";
            out_ += "\n";
        }
        out_ += "\n";
    }

  private:
    std::string out_;
};

}  // namespace

std::string markdown_of(const Sheet& sheet) {
    Markdown markdown;
    for (const SheetBlock& block : sheet.blocks) std::visit(markdown, block);
    return markdown.finish(sheet.foot);
}

}  // namespace tools
