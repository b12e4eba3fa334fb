#include <algorithm>

#include "tools/report/sheet.hpp"
#include "tools/text/junit.hpp"

namespace tools {

std::string html_text(std::string_view text) {
    std::string out;
    // U+202A..202E and U+2066..2069 turn the order of what stands beside them: shown as what they are, not obeyed
    for (std::size_t i = 0; i < text.size(); ++i) {
        const std::string_view three = text.substr(i, 3);
        const bool turns = three.size() == 3 && three[0] == '\xE2' &&
                           ((three[1] == '\x80' && three[2] >= '\xAA' && three[2] <= '\xAE') ||
                            (three[1] == '\x81' && three[2] >= '\xA6' && three[2] <= '\xA9'));
        if (turns) {
            out += "\xEF\xBF\xBD";
            i += 2;
        } else {
            out += text[i];
        }
    }
    return xml_text(out);
}

namespace {

std::string attribute(std::string_view name, std::string_view value) {
    return " " + std::string(name) + "=\"" + html_text(value) + "\"";
}

/// Own drawings of 20 by 20, two units a line; the colour is that of the class.
std::string_view drawing_of(Mark mark) {
    switch (mark) {
        case Mark::none: return "";
        case Mark::starting:
            return R"(<circle cx="10" cy="10" r="7" fill="none" stroke="currentColor" stroke-width="2" stroke-dasharray="4 3"/>)";
        case Mark::running: return R"(<circle cx="10" cy="10" r="7" fill="currentColor"/>)";
        case Mark::stopped: return R"(<rect x="3" y="3" width="14" height="14" fill="currentColor"/>)";
        case Mark::waits:
            return R"(<rect x="3" y="3" width="14" height="14" fill="none" stroke="currentColor" stroke-width="2"/><rect x="3" y="10" width="14" height="7" fill="currentColor"/>)";
        case Mark::dangerous:
            return R"(<path d="M1 2h18l-9 17z" fill="currentColor"/><path d="M10 5v5.5M10 12.6v1.9" class="inner" stroke-width="2"/>)";
        case Mark::unknown:
            return R"(<path d="M10 1.5l8.5 8.5-8.5 8.5-8.5-8.5z" fill="none" stroke="currentColor" stroke-width="2"/><path d="M8 8.2c0-2.6 4.2-2.4 4.2 0 0 1.5-2.1 1.6-2.1 3.2M10 13v1.6" fill="none" stroke="currentColor" stroke-width="1.4"/>)";
        // the same shapes as in tools/pages/marks.js
        case Mark::fails:
            return R"(<path d="M4 4l12 12M16 4L4 16" fill="none" stroke="currentColor" stroke-width="3"/>)";
        case Mark::differs:
            return R"(<path d="M2 7h16M2 13h16M6 18L14 2" fill="none" stroke="currentColor" stroke-width="2"/>)";
        case Mark::warns:
            return R"(<circle cx="10" cy="10" r="8" fill="none" stroke="currentColor" stroke-width="2"/><path d="M10 5v6M10 14v1" fill="none" stroke="currentColor" stroke-width="2"/>)";
    }
    return "";
}

std::string_view class_of(Mark mark) {
    switch (mark) {
        case Mark::none: return "";
        case Mark::starting: return "is-starting";
        case Mark::running: return "is-running";
        case Mark::stopped: return "is-stopped";
        case Mark::waits: return "is-waiting";
        case Mark::dangerous: return "is-dangerous";
        case Mark::unknown: return "is-unknown";
        case Mark::fails: return "is-failing";
        case Mark::differs: return "is-differing";
        case Mark::warns: return "is-warning";
    }
    return "";
}

std::string svg_of(Mark mark) {
    if (mark == Mark::none) return {};
    return R"(<svg class="mark" viewBox="0 0 20 20" width="20" height="20" aria-hidden="true">)" +
           std::string(drawing_of(mark)) + "</svg>";
}

std::string_view class_of(SheetCell::Kind kind) {
    switch (kind) {
        case SheetCell::Kind::text: return "";
        case SheetCell::Kind::number: return "number";
        case SheetCell::Kind::grey: return "number grey";
        case SheetCell::Kind::blank: return "blank";
        case SheetCell::Kind::choice: return "choice";
        case SheetCell::Kind::differs: return "differs";
    }
    return "";
}

/// A word that is better not broken.
bool is_short(const SheetCell& c) {
    constexpr std::size_t letters = 14;
    return c.kind == SheetCell::Kind::text && c.text.size() <= letters && c.text.find(' ') == std::string::npos;
}

/// Of a column whose cells all are numbers.
bool of_numbers(const SheetTable& table, std::size_t column) {
    bool any = false;
    for (const std::vector<SheetCell>& row : table.rows) {
        if (column >= row.size()) continue;
        if (row[column].kind != SheetCell::Kind::number) return false;
        any = true;
    }
    return any;
}

/// A field on the screen; on paper a line, and the text that the script puts beside the field.
std::string field(const std::string& what) {
    return "<textarea rows=\"1\"" + attribute("aria-label", what) + "></textarea>";
}

/// Where there is one for what was not done.
bool asks_why(const std::string& letters) { return letters.find('N') != std::string::npos; }

/// The letters as buttons of which one is pressed, with a line for why where there is a letter that wants a reason.
std::string choices(const std::string& letters, const std::string& what, const std::string& group) {
    std::string out = R"(<span class="letters" role="radiogroup")" + attribute("aria-label", what) + ">";
    for (std::size_t at = 0; at < letters.size();) {
        const std::size_t end = std::min(letters.find(" / ", at), letters.size());
        const std::string letter = letters.substr(at, end - at);
        out += "<label><input type=\"radio\"" + attribute("name", group) + attribute("value", letter) + "><span>" +
               html_text(letter) + "</span></label> ";
        at = end + (end < letters.size() ? 3 : 0);
    }
    return out + "</span>" + (asks_why(letters) ? field(what + ": why") : "");
}

/// What a reader hears of a field: row and column; and the column's name where the row may become a card.
struct CellPlace {
    std::string_view tag;
    std::string row, column, group;
    bool in_card = false;
};

std::string cell(const SheetCell& c, const CellPlace& place) {
    std::string classes(class_of(c.kind));
    if (is_short(c)) classes = "short";
    if (c.mark != Mark::none) classes += (classes.empty() ? "" : " ") + std::string(class_of(c.mark));
    if (c.kind == SheetCell::Kind::choice && asks_why(c.text)) classes += " why";
    // on a card nobody misses what does not apply
    if (place.in_card && c.text == "-" && c.kind != SheetCell::Kind::blank) classes += " none";
    const std::string tag(place.tag);
    std::string out = "<" + tag + (tag == "th" ? " scope=\"row\"" : "");
    if (!classes.empty()) out += attribute("class", classes);
    if (place.in_card && !place.column.empty()) out += attribute("data-label", place.column);
    out += ">" + svg_of(c.mark);
    if (c.kind == SheetCell::Kind::differs) out += "<strong>differs</strong> ";
    const std::string what = place.row + ": " + place.column;
    if (c.kind == SheetCell::Kind::choice) return out + choices(c.text, what, place.group) + "</" + tag + ">";
    const bool blank = c.kind == SheetCell::Kind::blank;
    out += blank && !c.text.empty() ? "<span class=\"label\">" + html_text(c.text) + "</span>" : html_text(c.text);
    if (blank) out += field(c.text.empty() ? what : what + ", " + c.text);
    return out + "</" + tag + ">";
}

class Html {
  public:
    std::string finish(std::string_view foot) {
        close_section();
        if (!foot.empty()) out_ += "<footer class=\"foot\">" + html_text(foot) + "</footer>\n";
        return std::move(out_);
    }

    void operator()(const SheetHeading& h) {
        const std::string level = std::to_string(h.level);
        if (h.level == 2) {
            close_section();
            const std::string page = h.page == SheetHeading::Page::together    ? " together"
                                     : h.page == SheetHeading::Page::next      ? " next-page"
                                     : h.page == SheetHeading::Page::next_wide ? " next-page wide-page"
                                                                               : "";
            out_ += "<section class=\"entry" + page + "\"" + attribute("id", h.id) +
                    attribute("aria-labelledby", h.id + "-h") + ">\n<div class=\"margin\" aria-hidden=\"true\">" +
                    html_text(h.margin) + "</div>\n<div class=\"content\">\n";
            open_ = true;
            out_ += "<h2" + attribute("id", h.id + "-h") + ">" + html_text(h.text) + "</h2>\n";
            return;
        }
        out_ += "<h" + level + (h.id.empty() ? "" : attribute("id", h.id)) + ">" + html_text(h.text) + "</h" + level +
                ">\n";
    }
    void operator()(const SheetText& t) {
        using Kind = SheetText::Kind;
        switch (t.kind) {
            case Kind::plain: out_ += "<p>" + html_text(t.text) + "</p>\n"; return;
            case Kind::soft: out_ += "<p class=\"soft\">" + html_text(t.text) + "</p>\n"; return;
            case Kind::strong: out_ += "<p><strong>" + html_text(t.text) + "</strong></p>\n"; return;
            case Kind::command: out_ += "<pre tabindex=\"0\"><code>" + html_text(t.text) + "</code></pre>\n"; return;
            case Kind::warning:
                out_ += "<p class=\"hazard warning\"><strong>WARNING</strong> " + html_text(t.text) + "</p>\n";
                return;
            case Kind::caution:
                out_ += "<p class=\"hazard caution\"><strong>CAUTION</strong> " + html_text(t.text) + "</p>\n";
                return;
        }
    }
    void operator()(const SheetVerdict& v) {
        out_ += "<p class=\"verdict\"><strong" + attribute("class", class_of(v.mark)) + ">" + svg_of(v.mark) +
                html_text(v.word) + "</strong> " + html_text(v.sentence) + "</p>\n";
    }
    void operator()(const SheetList& list) {
        out_ += "<ul>\n";
        for (const std::string& item : list.items) out_ += "<li>" + html_text(item) + "</li>\n";
        out_ += "</ul>\n";
    }
    void operator()(const SheetLink& link) {
        out_ += "<p>" + html_text(link.before) + " <a" + attribute("href", link.to) + ">" + html_text(link.words) +
                "</a></p>\n";
    }
    void operator()(const SheetChart& chart) {
        out_ += "<figure class=\"chart\"" + attribute("id", "chart-" + chart.name) + ">\n<figcaption><strong>" +
                html_text(chart.title) + "</strong> " + html_text(chart.says) + "</figcaption>\n";
        if (chart.made == SheetChart::Made::drawing) {
            out_ += drawn(chart.name) + "</figure>\n";
            return;
        }
        if (chart.tools == SheetChart::Tools::zoom) zoom_tools(chart);
        const bool keys = chart.tools == SheetChart::Tools::zoom;
        out_ += "<div class=\"canvas\"><canvas" + attribute("data-chart", chart.name) +
                (keys ? " tabindex=\"0\"" : "") + " role=\"img\"" +
                attribute("aria-label", chart.title + ". " + chart.says) + "></canvas></div>\n</figure>\n";
    }
    void operator()(const SheetPicture& picture) {
        out_ += "<figure class=\"picture\"" + attribute("id", "picture-" + picture.name) + ">\n<figcaption><strong>" +
                html_text(picture.title) + "</strong> " + html_text(picture.says) + "</figcaption>\n" +
                drawn(picture.name) + "<ul class=\"parts\">\n";
        for (const SheetPicture::Part& part : picture.parts) {
            out_ += "<li><strong>" + html_text(part.name) + "</strong> <span class=\"soft\">" + html_text(part.what) +
                    "</span>";
            if (!part.found.empty()) out_ += "\n<ul>\n";
            for (const SheetPicture::Finding& one : part.found) finding(one);
            out_ += part.found.empty() ? "</li>\n" : "</ul></li>\n";
        }
        out_ += "</ul>\n</figure>\n";
    }
    void operator()(const SheetTable& table) {
        constexpr std::size_t fit = 3;  // so few columns are read as they are
        const bool cards = table.narrow == SheetTable::Narrow::cards && table.columns.size() > fit;
        const std::string look = table.look + (cards ? (table.look.empty() ? "cards" : " cards") : "");
        out_ += R"(<div class="scroll" tabindex="0" role="region")" + attribute("aria-label", table.caption) +
                ">\n<table" + (look.empty() ? "" : attribute("class", look)) + ">\n<caption>" +
                html_text(table.caption) + "</caption>\n<thead><tr>";
        for (std::size_t i = 0; i < table.columns.size(); ++i)
            out_ += std::string("<th scope=\"col\"") + (of_numbers(table, i) ? " class=\"number\"" : "") + ">" +
                    html_text(table.columns[i]) + "</th>";
        out_ += "</tr></thead>\n<tbody>\n";
        for (std::size_t r = 0; r < table.rows.size(); ++r) {
            const std::vector<SheetCell>& row = table.rows[r];
            // a row of nothing but blanks is known by its number
            const bool named = !row.empty() && !row[0].text.empty() && row[0].kind != SheetCell::Kind::blank;
            const std::string name = named ? row[0].text : table.caption + ", line " + std::to_string(r + 1);
            out_ += "<tr>";
            for (std::size_t i = 0; i < row.size(); ++i)
                out_ += cell(row[i], {i == 0 && row[i].kind != SheetCell::Kind::blank ? "th" : "td", name,
                                      i < table.columns.size() ? table.columns[i] : std::string(),
                                      "choice-" + std::to_string(++fields_), cards});
            out_ += "</tr>\n";
        }
        out_ += "</tbody>\n</table>\n</div>\n";
    }

  private:
    void close_section() {
        if (open_) out_ += "</div>\n</section>\n";
        open_ = false;
    }
    /// Filled by the script; without it nothing is missing but the drawing.
    static std::string drawn(const std::string& name) {
        return "<div class=\"drawn\"" + attribute("data-picture", name) + "></div>\n";
    }
    void finding(const SheetPicture::Finding& one) {
        out_ += "<li" + (one.mark == Mark::none ? "" : attribute("class", class_of(one.mark))) + ">" + svg_of(one.mark);
        out_ += one.to.empty() ? html_text(one.words)
                               : "<a" + attribute("href", one.to) + ">" + html_text(one.words) + "</a>";
        out_ += "</li>\n";
    }
    /// Buttons for what the keys do as well; the script hears them.
    void zoom_tools(const SheetChart& chart) {
        struct Button {
            std::string_view act, words;
        };
        constexpr Button buttons[] = {{"in", "Closer"},
                                      {"out", "Wider"},
                                      {"left", "Earlier"},
                                      {"right", "Later"},
                                      {"previous", "Injection before"},
                                      {"next", "Next injection"},
                                      {"previous-demand", "Demand before"},
                                      {"next-demand", "Next demand"},
                                      {"all", "Whole run"}};
        out_ += R"(<div class="tools" role="group")" + attribute("aria-label", "Move in: " + chart.title) + ">";
        for (const Button& b : buttons)
            out_ += "<button type=\"button\"" + attribute("data-for", chart.name) + attribute("data-act", b.act) + ">" +
                    html_text(b.words) + "</button>";
        out_ += "</div>\n<p class=\"soft\" role=\"status\"" + attribute("id", "says-" + chart.name) + "></p>\n";
    }

    std::string out_;
    bool open_ = false;
    unsigned fields_ = 0;  ///< cells so far, so that each choice has a name of its own
};

}  // namespace

std::string html_of(const Sheet& sheet) {
    Html html;
    for (const SheetBlock& block : sheet.blocks) std::visit(html, block);
    return html.finish(sheet.foot);
}

}  // namespace tools
