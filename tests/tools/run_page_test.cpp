// The page of a rehearsal: its rules hold for any result.
#include <algorithm>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "samples.hpp"
#include "tools/run/run_page.hpp"

namespace {

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    std::size_t begin = 0;
    while (begin < text.size()) {
        const std::size_t end = std::min(text.find('\n', begin), text.size());
        lines.push_back(text.substr(begin, end - begin));
        begin = end + 1;
    }
    return lines;
}

std::string page(const samples::Rehearsed& r, std::size_t columns) {
    const tools::RunPageNotes notes{"evidence", {"summary.txt", "result.json"}};
    return page_of(r.scenario, r.result, notes, tools::Columns::of_terminal(columns)).text(tools::Colour::off);
}

void check_rules(const samples::Rehearsed& r, std::size_t columns) {
    CAPTURE(columns);
    const std::size_t most = tools::Columns::of_terminal(columns).count;
    const std::vector<std::string> lines = lines_of(page(r, columns));
    CHECK(lines.size() > 5);
    for (const std::string& line : lines) {
        CAPTURE(line);
        CHECK(line.size() <= most);
        CHECK(std::all_of(line.begin(), line.end(), [](char c) { return c >= ' ' && c <= '~'; }));
    }
    const std::string& first = lines.front();
    const bool verdict_first = first.starts_with("PASS  ") || first.starts_with("FAIL  ") ||
                               first.starts_with("DANGEROUS  ") || first.starts_with("NOT JUDGED  ");
    CHECK(verdict_first);
}

}  // namespace

TEST_CASE("at most 100 columns, ASCII only, the verdict first, whatever the result") {
    for (const std::size_t columns : {0UL, 1UL, 50UL, 60UL, 79UL, 80UL, 89UL, 90UL, 95UL, 100UL, 300UL}) {
        for (unsigned verdict = 0; verdict < 4; ++verdict) {
            samples::Rehearsed r = samples::extreme();
            r.result.verdict = static_cast<sim::RunVerdict>(verdict);
            check_rules(r, columns);
            r.result.link_started = false;
            check_rules(r, columns);
            r.scenario.machine.reset();
            check_rules(r, columns);
        }
        check_rules(samples::usual(), columns);
        check_rules(samples::guarded(), columns);
        check_rules(samples::Rehearsed{}, columns);
    }
}

TEST_CASE("a dangerous row comes first, with its number and its reason") {
    const std::string text = page(samples::usual(), 100);
    const std::size_t danger = text.find(" 2  10.000 s  delay, +2 ms in every second");
    const std::size_t caught = text.find(" 1   1.000 s  corruption, 3 bits");
    REQUIRE(danger != std::string::npos);
    REQUIRE(caught != std::string::npos);
    CHECK(danger < caught);
    CHECK(text.find("older than 124 ms", danger) < caught);
}

TEST_CASE("a row tells who caught it, when, and when the machine stood") {
    const std::vector<std::string> lines = lines_of(page(samples::usual(), 100));
    const auto row =
        std::find_if(lines.begin(), lines.end(), [](const std::string& l) { return l.starts_with(" 1 "); });
    REQUIRE(row != lines.end());
    for (const char* part : {"C>D", "stopped", "I/O: CRC", "0.2 ms", "135 ms"}) {
        CAPTURE(part);
        CHECK(row->find(part) != std::string::npos);
    }
}

TEST_CASE("under 90 columns a row takes two lines") {
    const std::vector<std::string> lines = lines_of(page(samples::usual(), 89));
    const auto row =
        std::find_if(lines.begin(), lines.end(), [](const std::string& l) { return l.starts_with(" 1 "); });
    REQUIRE(row != lines.end());
    REQUIRE(row + 1 != lines.end());
    CHECK(row->find("corruption, 3 bits") != std::string::npos);
    CHECK(row->find("stopped") == std::string::npos);
    CHECK((row + 1)->starts_with("    stopped  caught by: I/O: CRC"));
    CHECK((row + 1)->ends_with(", stands 135 ms"));
}

TEST_CASE("a link that did not start shows both ends and what to do") {
    samples::Rehearsed r = samples::usual();
    r.result.link_started = false;
    r.result.verdict = sim::RunVerdict::fail;
    r.result.device.refusal = proto::Refusal::watchdog_device;
    for (sim::InjectionResult& injection : r.result.injections) {
        injection.outcome = sim::Outcome::never_ran;
        injection.why = "the link never ran: nothing about it was rehearsed";
    }
    const std::string text = page(r, 100);
    CHECK(text.find("  never ran  ") != std::string::npos);
    CHECK(text.find("stopped") == std::string::npos);
    CHECK(text.starts_with("FAIL  Veneer press, two errors: the link never ran, so nothing about it"));
    CHECK(text.find("At the press controller") != std::string::npos);
    CHECK(text.find("At the press I/O") != std::string::npos);
    CHECK(text.find("start refused: watchdog of press I/O differs") != std::string::npos);
    CHECK(text.find("linkdrill check press.toml") != std::string::npos);
}

TEST_CASE("fingerprint and repeat close the page") {
    const std::string text = page(samples::usual(), 100);
    CHECK(text.find("Repeat     linkdrill run press.toml --seed 7\n") != std::string::npos);
    CHECK(text.ends_with("trace fingerprint 9c1e 04b7 52ad e310\n"));
}
