#pragma once
// What people print or open in a browser, as a list of blocks: written once, then turned into HTML or Markdown. Every
// text in it is plain text; whoever writes it out escapes it.
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace tools {

/// Drawn beside a word, so that no state is told by colour alone.
enum class Mark : unsigned char {
    none,
    starting,
    running,
    stopped,
    waits,
    dangerous,
    unknown,
    fails,    ///< not as it should be, though not dangerous
    differs,  ///< typed otherwise at the other end
    warns,
};

struct SheetCell {
    enum class Kind : unsigned char {
        text,
        number,   ///< right-aligned, digits of one width
        grey,     ///< for information only, so that nobody aims at it
        blank,    ///< to be filled in, by hand or in the page
        choice,   ///< letters, "P / F / N", of which one is ringed, by hand or in the page; a line beneath for why
        differs,  ///< a setting that is not what the other end has
    };
    std::string text = {};
    Kind kind = Kind::text;
    Mark mark = Mark::none;

    SheetCell() = default;
    SheetCell(std::string words, Kind as = Kind::text, Mark with = Mark::none)
        : text(std::move(words)), kind(as), mark(with) {}
    SheetCell(const char* words) : text(words) {}
    static SheetCell number(std::string digits) { return {std::move(digits), Kind::number}; }
    static SheetCell blank(std::string label = {}) { return {std::move(label), Kind::blank}; }
};

struct SheetHeading {
    unsigned level = 2;  ///< 1 is the sheet's title; 2 begins an entry
    std::string margin;  ///< what stands in the margin: a number
    std::string text;
    std::string id;  ///< for links to it; letters, digits and hyphens
    /// When printed. `next_wide`: on pages of its own that lie across. `together`: on one page, whole.
    enum class Page : unsigned char { same, next, next_wide, together } page = Page::same;
};
struct SheetText {
    enum class Kind : unsigned char { plain, soft, strong, command, warning, caution } kind = Kind::plain;
    std::string text;
};
/// A verdict: the word first, then the mark, then a sentence.
struct SheetVerdict {
    std::string word;
    Mark mark = Mark::none;
    std::string sentence;
};
struct SheetList {
    std::vector<std::string> items;
};
struct SheetTable {
    std::string caption;  ///< also the name of the region that scrolls where the table is wider than the window
    std::vector<std::string> columns;
    std::vector<std::vector<SheetCell>> rows;
    std::string look = {};  ///< names for the style sheet: "dense", "form"
    /// In a window too narrow for its columns: each row a card, its columns' names in it, or moved sideways under a
    /// first column that stays. Figures of many rows are compared down a column, so those scroll.
    enum class Narrow : unsigned char { cards, scroll } narrow = Narrow::cards;
};
/// A chart of the data under `name`, drawn by the page's script: on a canvas, or as the drawing of that name which
/// pages share.
struct SheetChart {
    std::string name;
    std::string title;
    std::string says;  ///< in one or two sentences what is to be seen, for those who do not see it
    enum class Tools : unsigned char { none, zoom } tools = Tools::none;
    enum class Made : unsigned char { canvas, drawing } made = Made::canvas;
};
struct SheetLink {
    std::string before, words, to;  ///< to: a file beside this one, or #id
};
/// A drawing of parts, made by the page's script of the data under `name`; the same as a list, which is there without
/// the script too.
struct SheetPicture {
    struct Finding {
        Mark mark = Mark::none;
        std::string words;
        std::string to;  ///< where more of it stands: #id; empty: nowhere
    };
    struct Part {
        std::string name, what;
        std::vector<Finding> found;
    };
    std::string name, title, says;
    std::vector<Part> parts;
};

using SheetBlock =
    std::variant<SheetHeading, SheetText, SheetVerdict, SheetList, SheetTable, SheetChart, SheetLink, SheetPicture>;

struct Sheet {
    std::string title;  ///< of the window
    std::vector<SheetBlock> blocks;
    std::string foot = {};  ///< at the foot of every page
};

/// The blocks as HTML elements, in the order given. Sections are closed.
std::string html_of(const Sheet& sheet);
/// The same as Markdown with tables; charts are left out, of pictures stays the list.
std::string markdown_of(const Sheet& sheet);

/// Text for HTML, between tags or quotes.
std::string html_text(std::string_view text);

}  // namespace tools
