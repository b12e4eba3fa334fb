// Sheets as HTML and Markdown, and numbers as people read them.
#include <doctest/doctest.h>

#include "tools/report/html_page.hpp"
#include "tools/report/sheet.hpp"
#include "tools/text/json.hpp"
#include "tools/text/look_up.hpp"

using tools::figure;
using tools::Rounding;
using tools::Sheet;
using tools::SheetCell;
using tools::tenths;

namespace {

/// U+202E, which turns the text that follows it.
const std::string turning{'\xE2', '\x80', '\xAE'};
const std::string hostile = "</script><img src=x onerror=alert(1)> & \"q\" 'a' \x1b[31m " + turning;

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

Sheet hostile_sheet() {
    Sheet sheet{.title = hostile, .blocks = {}};
    sheet.blocks.emplace_back(tools::SheetHeading{.level = 1, .margin = hostile, .text = hostile, .id = {}});
    sheet.blocks.emplace_back(tools::SheetHeading{.margin = hostile, .text = hostile, .id = "a"});
    sheet.blocks.emplace_back(tools::SheetText{tools::SheetText::Kind::command, hostile});
    sheet.blocks.emplace_back(tools::SheetText{tools::SheetText::Kind::warning, hostile});
    sheet.blocks.emplace_back(tools::SheetVerdict{hostile, tools::Mark::dangerous, hostile});
    sheet.blocks.emplace_back(tools::SheetList{{hostile}});
    sheet.blocks.emplace_back(tools::SheetLink{hostile, hostile, "b.html"});
    sheet.blocks.emplace_back(tools::SheetChart{"timeline", hostile, hostile, tools::SheetChart::Tools::zoom});
    sheet.blocks.emplace_back(tools::SheetPicture{
        "plant", hostile, hostile, {{hostile, hostile, {{tools::Mark::fails, hostile, "#" + hostile}}}}});
    sheet.blocks.emplace_back(
        tools::SheetTable{.caption = hostile, .columns = {hostile}, .rows = {{hostile, SheetCell::blank(hostile)}}});
    sheet.foot = hostile;
    return sheet;
}

}  // namespace

TEST_CASE("names are text in every place of a page, whatever they hold") {
    const std::string page =
        tools::html_page(hostile_sheet(), tools::PageLook::report, tools::Value(tools::Value::Object{{"a", hostile}}));
    CHECK_FALSE(holds(page, "<img"));
    CHECK_FALSE(holds(page, "\x1b"));
    CHECK_FALSE(holds(page, turning));
    CHECK(holds(page, "&lt;img src=x onerror=alert(1)&gt;"));
    CHECK(holds(page, "\\u003c/script>"));
    // exactly the scripts that the policy names: data, library, own
    std::size_t scripts = 0;
    for (std::size_t at = page.find("<script"); at != std::string::npos; at = page.find("<script", at + 1)) ++scripts;
    CHECK(scripts == 3);
    CHECK(holds(page, "default-src 'none'"));
    CHECK_FALSE(holds(page, "unsafe"));
    CHECK_FALSE(holds(page, " style=\""));
}

TEST_CASE("a row that may become a card names its columns, and what does not apply can be left out there") {
    const auto page = [](tools::SheetTable table) {
        Sheet sheet{.title = "t", .blocks = {}};
        sheet.blocks.emplace_back(std::move(table));
        return tools::html_of(sheet);
    };
    tools::SheetTable table{
        .caption = "c", .columns = {"a", "b", "c & d", "e"}, .rows = {{"x", SheetCell::blank(), "-", "long words"}}};
    const std::string cards = page(table);
    CHECK(holds(cards, "<table class=\"cards\">"));
    CHECK(holds(cards, "<th scope=\"row\" class=\"short\" data-label=\"a\">x</th>"));
    CHECK(holds(cards, "class=\"short none\" data-label=\"c &amp; d\">-<"));
    CHECK(holds(cards, "<td class=\"blank\" data-label=\"b\">"));
    table.narrow = tools::SheetTable::Narrow::scroll;
    CHECK_FALSE(holds(page(table), "data-label"));
    // three columns fit any window
    CHECK_FALSE(holds(page({.caption = "c", .columns = {"a", "b", "c"}, .rows = {{"x", "y", "z"}}}), "data-label"));
}

TEST_CASE("names are text in Markdown too, and a table keeps its columns") {
    Sheet sheet{.title = "t", .blocks = {}};
    sheet.blocks.emplace_back(tools::SheetTable{
        .caption = "c", .columns = {"a", "b"}, .rows = {{"x|y\nz *s* [l](u) <b>", SheetCell::blank()}}});
    const std::string text = tools::markdown_of(sheet);
    CHECK(holds(text, R"(x\|y?z \*s\* \[l\](u) \<b\>)"));
    CHECK(holds(text, "| a | b |\n| --- | --- |\n"));
    Sheet prose = hostile_sheet();
    std::erase_if(prose.blocks, [](const tools::SheetBlock& block) {  // in a code block markup is text anyway
        const auto* words = std::get_if<tools::SheetText>(&block);
        return words != nullptr && words->kind == tools::SheetText::Kind::command;
    });
    const std::string escaped = tools::markdown_of(prose);
    CHECK(holds(escaped, "\\<img"));
    for (std::size_t at = escaped.find('<'); at != std::string::npos; at = escaped.find('<', at + 1))
        CHECK(escaped[at - 1] == '\\');
}

TEST_CASE("what was seen never looks shorter, what is allowed never longer") {
    CHECK(tenths(std::optional<double>(166.66), Rounding::up) == "166.7");
    CHECK(tenths(std::optional<double>(166.66), Rounding::down) == "166.6");
    CHECK(tenths(std::optional<double>(20.0), Rounding::up) == "20");
    CHECK(tenths(std::optional<double>(0.0), Rounding::up) == "0");
    CHECK(tenths(std::optional<double>(-0.04), Rounding::up) == "0");
    CHECK(tenths(std::optional<double>(-38.0), Rounding::down) == "-38");
    CHECK(tenths(std::optional<double>(179.35), Rounding::down) == "179.3");
    CHECK(tenths(std::optional<double>{}, Rounding::up) == "-");
    CHECK(tenths(std::optional<double>(0.1 + 0.2), Rounding::up) == "0.3");  // not 0.4 for the binary form's sake
}

TEST_CASE("small and large figures are written by powers of ten that can be read") {
    CHECK(figure(0.0) == "0");
    CHECK(figure(1.0) == "1");
    CHECK(figure(120000.0) == "120 000");
    CHECK(figure(0.117207) == "0.117");
    CHECK(figure(2.66650461e-08) == "2.67 × 10⁻⁸");
    CHECK(figure(1e-9) == "1 × 10⁻⁹");
    CHECK(figure(3.1e12) == "3.1 × 10¹²");
    CHECK(figure(std::nullopt) == "-");
}

TEST_CASE("a document that is read is the one that was written") {
    const tools::Value value(tools::Value::Object{
        {"a", 1}, {"b", tools::Value::List{true, "x", 2.5, tools::Value()}}, {"c_ms", proto::Duration{36'700'123}}});
    const auto read = tools::from_json(tools::to_json(value));
    REQUIRE(read.ok());
    CHECK(tools::to_json(read.value()) == tools::to_json(value));
    CHECK(tools::look_up_number(read.value(), "c_ms") == 36.700123);
    CHECK(tools::is_null(tools::look_up(read.value(), "b", "c", "d")));
    for (const char* wrong : {"", "{", "{\"a\": 1", "nothing", "{\"a\": 1} x"})
        CHECK_FALSE(tools::from_json(wrong).ok());
    CHECK_FALSE(tools::from_json(std::string(100'000, '[')).ok());
    CHECK_FALSE(tools::from_json(std::string(1000, '[') + std::string(1000, ']')).ok());
}
