// Lines that are no TOML, and values that are nearly right: said in words about the file.
#include "sim/reading/syntax_words.hpp"

#include <doctest/doctest.h>

#include <string>

#include "sim/reading/document.hpp"
#include "sim/reading/section.hpp"

namespace {

/// What is said about that text, with its line; where more stands is said last.
std::string said_about(const std::string& text) {
    const auto read = sim::document_from(text, "plant.toml");
    if (read) return "nothing";
    const std::string said = read.error().one_line(), more = ", see scenarios/README.md";
    REQUIRE(said.ends_with(more));
    return said.substr(0, said.size() - more.size());
}

/// What is said about `value` where a duration is expected.
std::string duration_said(const std::string& value) {
    const auto read = sim::document_from("watchdog = " + value + "\n", "plant.toml");
    REQUIRE(read.ok());
    sim::Problems problems("plant.toml");
    sim::Section section(read.value(), "", problems);
    static_cast<void>(section.duration("watchdog", sim::Section::Zero::refused, proto::seconds(3600)));
    return problems.any() ? problems.first().message : "nothing";
}

}  // namespace

TEST_CASE("a table once with single and once with double brackets") {
    CHECK(said_about("[safeguard]\nname = \"a\"\n[[safeguard]]\nname = \"b\"\n") ==
          "plant.toml:3: stands with single brackets further up, and here with double ones; write [[safeguard]] at "
          "each of them");
    CHECK(said_about("[[safeguard]]\nname = \"a\"\n[safeguard]\nname = \"b\"\n") ==
          "plant.toml:3: stands with double brackets further up, and here with single ones; write [[safeguard]] at "
          "each of them");
    CHECK(said_about("seed = 3\nseed = 4\n") == "plant.toml:2: \"seed\" stands there twice; write it once");
}

TEST_CASE("quotes that are missing or curly, numbers with a comma or a leading 0") {
    CHECK(said_about("a = 1\nplant = \"abc\nseed = 3\n") ==
          "plant.toml:2: has a quote that is not closed on its line; write plant = \"VALUE\"");
    CHECK(said_about("plant = 'abc\nseed = 3\n").find("plant.toml:1: has a quote that is not closed") == 0);
    CHECK(said_about("plant = \"abc").find("plant.toml:1: has a quote that is not closed") == 0);
    CHECK(said_about("plant = \u201Cabc\u201D\n").find("plant.toml:1: has curly quotes; write straight ones") == 0);
    CHECK(said_about("address = 023\n") ==
          "plant.toml:1: has a number that begins with 0; write it without the 0, or \"0x17\" if it counts by 16");
    CHECK(said_about("loss = 1,5\n") == "plant.toml:1: has a comma in a number; write a point, such as 12.5");
    CHECK(said_about("plant = abc\n").find("stands in no quotes; write plant = \"abc\"") != std::string::npos);
    CHECK(said_about("cycle = 10 ms\n").find("a value with a unit that stands in no quotes; write cycle = \"10 ms\"") !=
          std::string::npos);
    CHECK(said_about("seed: 3\n").find("has a : where = belongs; write seed = 3") != std::string::npos);
    CHECK(said_about("x = [1, 2\n").find("plant.toml:1: has a [ that is not closed; write x = [") == 0);
    CHECK(said_about("y = 3\nx = [1, 2\n\n[link]\ncycle = 3\n").find("plant.toml:2: has a [ that is not closed") == 0);
    CHECK(said_about("x = { a = 1,\n b = 2 }\n").find("plant.toml:1: has a { that is not closed on its line") == 0);
    CHECK(said_about("x = \"a # b\" c # d\n").find("goes on behind its closing quote") != std::string::npos);
}

TEST_CASE("quantities: the number is what is wrong, not the unit") {
    CHECK(duration_said("\"12.5 ms\"") == "nothing");
    CHECK(duration_said("\"12,5 ms\"") == "\"12,5 ms\" has a comma in its number; write \"12.5 ms\"");
    CHECK(duration_said("\"1.5e2 ms\"") ==
          "\"1.5e2 ms\" has a number with an exponent; write all its digits, such as \"45 ms\"");
    CHECK(duration_said("\"12 e\"").find("has an unknown unit") != std::string::npos);
    CHECK(duration_said("nan") == "is no number that can be reckoned with; write a value such as \"45 ms\"");
    CHECK(duration_said("-inf").find("is no number that can be reckoned with") == 0);
}
