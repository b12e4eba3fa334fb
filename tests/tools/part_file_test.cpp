// Records of parts come from other computers: a bent one is no record, and never more than that.
#include <doctest/doctest.h>

#include <algorithm>
#include <cctype>
#include <random>
#include <string>
#include <vector>

#include "sim/drive/limits.hpp"
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
    const tools::PartOf of{s.title, 1, 1};
    const std::vector<std::string> texts = texts_of(s, of);
    sim::PartRecords read;
    for (std::size_t i = 0; i < texts.size(); ++i) {
        auto record = tools::part_from(texts[i], of, s, parts[i]);
        REQUIRE(record);
        read[static_cast<std::size_t>(parts[i])] = std::move(*record);
    }
    CHECK(sim::join(s, 1, sim::limits_of(s), read));
}

TEST_CASE("a record of other numbers is refused, or joins or not, and nothing else happens") {
    const sim::Scenario s = short_link();
    const tools::PartOf of{s.title, 1, 1};
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

TEST_CASE("a short text that promises many lines is refused before anything is kept for them") {
    const sim::Scenario s = short_link();
    const tools::PartOf of{s.title, 1, 1};
    std::string text = tools::part_text(of, sim::Part::channel, {});
    const std::size_t counts = text.find("\n0\n0\n");
    REQUIRE(counts != std::string::npos);
    CHECK(tools::part_from(text, of, s, sim::Part::channel));
    CHECK_FALSE(tools::part_from(std::string(text).replace(counts, 5, "\n19999999\n0\n"), of, s, sim::Part::channel));
    CHECK_FALSE(tools::part_from(std::string(text).replace(counts, 5, "\n0\n19999999\n"), of, s, sim::Part::channel));
}
