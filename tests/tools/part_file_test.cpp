// Records of parts come from other computers: a bent one is no record, and never more than that.
#include <doctest/doctest.h>

#include <algorithm>
#include <cctype>
#include <random>
#include <string>
#include <vector>

#include "sim/drive/join_cell.hpp"
#include "sim/drive/limits.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tests/support/cells.hpp"
#include "tests/support/live_cell_table.hpp"
#include "tests/support/live_table.hpp"
#include "tests/support/scenarios.hpp"
#include "tools/run/part_file.hpp"

namespace {

constexpr sim::Part parts[] = {sim::Part::controller, sim::Part::channel, sim::Part::device};

sim::Scenario short_link() {
    sim::Scenario s = tests::polled_link();
    s.duration = proto::seconds(1);
    return s;
}

std::vector<std::string> texts_of(const sim::Scenario& s, const tools::PartOf& of) {
    const sim::PartRecords records = tests::LiveTable(s).run();
    std::vector<std::string> texts;
    for (const sim::Part part : parts)
        texts.push_back(tools::part_text(of, part, records[static_cast<std::size_t>(part)]));
    return texts;
}

/// One of its numbers made another.
std::string bent(std::string text, std::mt19937_64& draw) {
    constexpr const char* others[] = {"0",
                                      "-1",
                                      "18446744073709551615",
                                      "4611686018427387904",
                                      "9223372036854775807",
                                      "-9223372036854775808",
                                      "255",
                                      "65535",
                                      "20000000",
                                      "1099511627775"};
    std::size_t at = draw() % text.size();
    while (at < text.size() && std::isdigit(static_cast<unsigned char>(text[at])) == 0) ++at;
    std::size_t end = at;
    while (end < text.size() && std::isdigit(static_cast<unsigned char>(text[end])) != 0) ++end;
    return text.replace(at, end - at, draw() % 2 == 0 ? others[draw() % std::size(others)] : std::to_string(draw()));
}

}  // namespace

TEST_CASE("a record that was written is read back and joins") {
    const sim::Scenario s = short_link();
    const tools::PartOf of{s.title, "12", 1, 1};
    const std::vector<std::string> texts = texts_of(s, of);
    sim::PartRecords read;
    for (std::size_t i = 0; i < texts.size(); ++i) {
        auto record = tools::part_from(texts[i], of, s, parts[i]);
        REQUIRE(record);
        read[static_cast<std::size_t>(parts[i])] = std::move(*record);
    }
    CHECK(sim::join(s, 1, sim::limits_of(s), read));
}

TEST_CASE("records of a cell's parts are read back, each as one of its own link only, and join") {
    sim::WholeCell cell = tests::chain_of({}, {}, proto::seconds(3));
    tests::demand(cell, "guard", proto::milliseconds(2003), proto::milliseconds(500));
    sim::complete_links(cell);
    const sim::CellRecords written = tests::LiveCellTable(cell, 5).run();
    sim::CellRecords read(cell.links.size());
    for (std::size_t i = 0; i < cell.links.size(); ++i)
        for (const sim::Part part : parts) {
            const auto p = static_cast<std::size_t>(part);
            const tools::PartOf of{cell.title, "12", 5, 1, cell.links[i].name, i + 1};
            const std::string text = tools::part_text(of, part, written[i][p]);
            CHECK(text.find("\nlink " + cell.links[i].name + "\n") != std::string::npos);
            auto record = tools::part_from(text, of, cell.links[i].alone, part);
            REQUIRE(record);
            read[i][p] = std::move(*record);
            const tools::PartOf other{cell.title, "12", 5, 1, cell.links[1 - i].name, 2 - i};
            CHECK_FALSE(tools::part_from(text, other, cell.links[i].alone, part));
            CHECK(tools::part_file_name(part, of.number) != tools::part_file_name(part, other.number));
        }
    const auto joined = sim::join_cell(cell, 5, read, sim::Together::if_they_match);
    const auto as_written = sim::join_cell(cell, 5, written, sim::Together::if_they_match);
    REQUIRE(joined);
    REQUIRE(as_written);
    CHECK(joined->digest == as_written->digest);
    CHECK(joined->demands.size() == 1);
}

TEST_CASE("a record of other numbers is refused, or joins or not, and nothing else happens") {
    const sim::Scenario s = short_link();
    const tools::PartOf of{s.title, "12", 1, 1};
    const std::vector<std::string> texts = texts_of(s, of);
    sim::PartRecords whole;
    for (std::size_t i = 0; i < texts.size(); ++i)
        whole[static_cast<std::size_t>(parts[i])] = *tools::part_from(texts[i], of, s, parts[i]);
    std::mt19937_64 draw(3);
    std::size_t refused = 0, taken = 0;
    for (int i = 0; i < 1500; ++i) {
        const std::size_t which = draw() % texts.size();
        auto record = tools::part_from(bent(texts[which], draw), of, s, parts[which]);
        if (!record) {
            ++refused;
            continue;
        }
        ++taken;
        sim::PartRecords with = whole;
        with[static_cast<std::size_t>(parts[which])] = std::move(*record);
        sim::join(s, 1, sim::limits_of(s), with);
    }
    CHECK(refused > 200);
    CHECK(taken > 200);
}

TEST_CASE("a record that ends anywhere is the one of its whole blocks, and none that is over") {
    const sim::Scenario s = short_link();
    const tools::PartOf of{s.title, "12", 1, 1};
    sim::PartRecord record = tests::LiveTable(s).run()[static_cast<std::size_t>(sim::Part::device)];
    record.clock_ns = 5;
    record.boot = "b";
    // as a journal grows: a block for each event
    std::string text = tools::part_head(of, sim::Part::device) + tools::part_alive({}, 7) + tools::begin_block(record);
    std::vector<std::size_t> ends{text.size()};
    for (const sim::Event& event : record.log.events) {
        sim::PartRecord news;
        news.log.events = {event};
        text += tools::news_block(news);
        ends.push_back(text.size());
    }
    text += tools::end_block(record);
    REQUIRE(ends.size() > 100);
    for (std::size_t length = 0; length <= text.size(); length += length + 400 < text.size() ? 37U : 1U) {
        CAPTURE(length);
        const auto found = tools::part_so_far(text.substr(0, length), of, s, sim::Part::device);
        if (length < ends.front()) {
            CHECK((!found || !found->begun));
            continue;
        }
        REQUIRE(found);
        REQUIRE(found->begun);
        CHECK(found->record.clock_ns == 5);
        const auto kept = std::upper_bound(ends.begin(), ends.end(), length) - ends.begin() - 1;
        CHECK(found->record.log.events.size() == static_cast<std::size_t>(kept));
        CHECK(found->whole == (length == text.size()));
        CHECK(found->record.scans == (found->bytes > ends.back() ? record.scans : 7));
    }
}

TEST_CASE("a record with more than it can have is none") {
    const sim::Scenario s = short_link();
    const tools::PartOf of{s.title, "12", 1, 1};
    const std::string text = tools::part_text(of, sim::Part::device, {});
    REQUIRE(tools::part_from(text, of, s, sim::Part::device));
    const std::size_t end = text.find("z ");
    for (const char* line :
         {"x 1\n.\n", "a 5 3\n.\n", "a -1 3\n.\n", "l -1\n.\n", "l 1 2\n.\n", "e 0 0 0 0 0\n.\n", "b 0 0 -\n.\n",
          "t x0\n.\n", "e 99 0 0 0 0 0\n.\n", "z 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0\n.\n"}) {
        CAPTURE(line);
        CHECK_FALSE(tools::part_from(std::string(text).insert(end, line), of, s, sim::Part::device));
    }
    CHECK(tools::part_from(std::string(text).insert(end, "a 3 5\n.\nl 1\n.\n"), of, s, sim::Part::device));
    CHECK_FALSE(tools::part_from(text + "\n", of, s, sim::Part::device));
    CHECK_FALSE(tools::part_from(text, {s.title, "12", 2, 1}, s, sim::Part::device));
    CHECK_FALSE(tools::part_from(text, {s.title, "13", 1, 1}, s, sim::Part::device));
    CHECK_FALSE(tools::part_from(text, of, s, sim::Part::controller));
}
