// Text for terminals: safe, within its width, rounded to the safe side.
#include <cstdint>
#include <limits>
#include <string>

#include <doctest/doctest.h>

#include "tools/text/page.hpp"
#include "tools/text/text.hpp"

using proto::Duration;
using tools::Rounding;

TEST_CASE("plain text holds printable ASCII only, one question mark for each other character") {
    CHECK(tools::plain("press 1") == "press 1");
    CHECK(tools::plain("a\x1b[31mb") == "a?[31mb");
    CHECK(tools::plain("a\r\nb\tc") == "a  b c");
    CHECK(tools::plain("B\xC3\xBChne \xE2\x82\xAC") == "B?hne ?");
    for (int c = 0; c < 256; ++c)
        for (const char out : tools::plain(std::string(1, static_cast<char>(c)))) CHECK((out >= ' ' && out <= '~'));
}

TEST_CASE("one line keeps letters of all scripts and drops everything that steers a terminal or ends a line") {
    CHECK(tools::on_one_line("B\xC3\xBChne") == "B\xC3\xBChne");
    CHECK(tools::on_one_line("a\nb\x1b"
                             "c\x7f") == "a?b?c?");
    CHECK(tools::on_one_line("a\xC2\x9B"
                             "31m") == "a?31m");  // the one-character form of ESC [
    CHECK(tools::on_one_line("a\xE2\x80\xA8"
                             "b") == "a?b");  // line separator
}

TEST_CASE("wrapping keeps to the width, loses no word, and keeps double blanks within a line") {
    const std::string text = "one  two three averyveryverylongword end";
    for (std::size_t width = 1; width < 50; ++width) {
        std::string letters;
        for (const std::string& line : tools::wrapped(text, width)) {
            CHECK(line.size() <= width);
            for (const char c : line)
                if (c != ' ') letters += c;
        }
        CHECK(letters == "onetwothreeaveryveryverylongwordend");
    }
    CHECK(tools::wrapped("one  two", 20).front() == "one  two");
    CHECK(tools::wrapped("", 5).size() == 1);
}

TEST_CASE("what was seen is rounded up, what is allowed is rounded down") {
    CHECK(tools::in_ms(Duration{9'910'000}, Rounding::up) == "10.0 ms");
    CHECK(tools::in_ms(Duration{9'910'000}, Rounding::down) == "9.9 ms");
    CHECK(tools::in_ms(Duration{134'000'001}, Rounding::up) == "135 ms");
    CHECK(tools::in_ms(Duration{235'999'999}, Rounding::down) == "235 ms");
    CHECK(tools::in_ms(Duration{0}, Rounding::up) == "0.0 ms");
    CHECK(tools::in_tenths_of_ms(Duration{25'150'000}, Rounding::up) == "25.2 ms");
    CHECK(tools::in_s(Duration{11'000'999'999}) == "11.000 s");
    CHECK(tools::in_ms(Duration{std::numeric_limits<std::int64_t>::max()}, Rounding::up) == "9223372036855 ms");
    CHECK(tools::in_ms(Duration{std::numeric_limits<std::int64_t>::min()}, Rounding::down) == "-9223372036855 ms");
}

TEST_CASE("numbers for people") {
    CHECK(tools::grouped(0) == "0");
    CHECK(tools::grouped(999) == "999");
    CHECK(tools::grouped(1000) == "1 000");
    CHECK(tools::grouped(std::numeric_limits<std::uint64_t>::max()) == "18 446 744 073 709 551 615");
    CHECK(tools::fingerprint(0x9c1e04b752ade310) == "9c1e 04b7 52ad e310");
    CHECK(tools::fingerprint(0x1) == "0000 0000 0000 0001");
    CHECK(tools::counted(1, "stop", "stops") == "1 stop");
    CHECK(tools::counted(0, "stop", "stops") == "0 stops");
}

TEST_CASE("a shell reads a quoted file name back") {
    CHECK(tools::shell_word("scenarios/a_b.toml") == "scenarios/a_b.toml");
    CHECK(tools::shell_word("my file") == "'my file'");
    CHECK(tools::shell_word("it's") == "'it'\\''s'");
    CHECK(tools::shell_word("") == "''");
}

TEST_CASE("only the verdict is coloured, and only on request") {
    tools::Page page{tools::Columns{}};
    page.headline("FAIL", tools::Hue::danger, "a sentence");
    CHECK(page.text(tools::Colour::off) == "FAIL  a sentence\n");
    CHECK(page.text(tools::Colour::on) == "\x1b[1;31mFAIL\x1b[0m  a sentence\n");
}

TEST_CASE("the head of a page is its headline, also where that takes two lines") {
    tools::Page page{tools::Columns{}};
    page.headline("PASS", tools::Hue::good, std::string(90, 'a') + " " + std::string(20, 'b'));
    page.line("more");
    CHECK(page.head(tools::Colour::off) == "PASS  " + std::string(90, 'a') + "\n      " + std::string(20, 'b') + "\n");
    tools::Page limited{tools::Columns{}};
    limited.limited_headline("PASS", tools::Hue::good, ", link only: a reason");
    limited.line("more");
    CHECK(limited.head(tools::Colour::on) == "\x1b[32mPASS\x1b[0m, link only: a reason\n");
    tools::Page bare{tools::Columns{}};
    bare.line("a value");
    CHECK(bare.head(tools::Colour::off) == "a value\n");
}
