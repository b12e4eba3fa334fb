// What the reader of drills takes and refuses of a plant with several links, and what of it an exam draws.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include <unistd.h>

#include "sim/reading/read_drill.hpp"
#include "sim/training/drawn.hpp"
#include "sim/training/drill_check.hpp"
#include "tests/support/drills.hpp"

namespace {

namespace fs = std::filesystem;
using tests::drill;
using tests::drills;
using Edits = std::vector<std::pair<std::string, std::string>>;

const fs::path folder = fs::path(LINKDRILL_SOURCE_DIR) / "scenarios/drills";

std::string edited(const fs::path& file, const Edits& edits) {
    std::ifstream in(file);
    std::ostringstream read;
    read << in.rdbuf();
    std::string text = read.str();
    for (const auto& edit : edits) {
        const auto& [was, is] = edit;
        const std::size_t at = text.find(was);
        REQUIRE_MESSAGE(at != std::string::npos, edit.first);
        text.replace(at, was.size(), is);
    }
    return text;
}

/// What reading the drill says, or "read", once texts of it and of its plant were replaced.
std::string said(const Edits& in_drill, const Edits& in_plant = {}) {
    const fs::path here = fs::temp_directory_path() / ("drill_links_" + std::to_string(::getpid()));
    fs::create_directories(here / "plants");
    fs::copy(folder.parent_path() / "profiles", here / "profiles", fs::copy_options::recursive);
    std::ofstream(here / "plants/board_turner_1.toml") << edited(folder / "plants/board_turner_1.toml", in_plant);
    std::ofstream(here / "one.toml") << edited(drill(24).file, in_drill);
    const auto read = sim::read_drill((here / "one.toml").string(), drills().cards);
    std::string words = read ? "read" : read.error().one_line();
    fs::remove_all(here);
    return words;
}

bool has(const std::string& text, const std::string& part) {
    if (text.find(part) != std::string::npos) return true;
    MESSAGE(text);
    return false;
}

}  // namespace

TEST_CASE("a drill with several links names the silent one, and promises what each shows") {
    const sim::Drill& one = drill(24);
    REQUIRE(one.cell);
    REQUIRE(one.cell_sheet);
    CHECK(one.in_question == 1);
    CHECK(one.scenario.machine);
    CHECK(one.expect.links.size() == 3);
    CHECK(one.right.link == std::vector<std::string>{"infeed"});
    CHECK(one.cell->links[0].alone.faults.size() == 1);
    CHECK(one.cell->links[1].alone.faults.empty());
    CHECK(one.cell_sheet->links[0].alone.faults.empty());
    CHECK(said({}) == "read");
}

TEST_CASE("what a drill with several links cannot show or does not say is refused, with the place and the mend") {
    CHECK(has(said({{"right = { link = [\"infeed\"]", "right = { link = [\"infed\"]"}}), "infed"));
    CHECK(has(said({{"right = { link = [\"infeed\"], ", "right = { "}}), "names no link of several; write link ="));
    CHECK(has(said({{"[expect]\nmoves = false", "[expect]\nrequest = true\nmoves = false"}}),
              "is of one link in a plant with several; write it in [expect.link.infeed]"));
    CHECK(has(said({{"[expect.link.outfeed]", "[expect.link.outfed]"}}), "outfed"));
    CHECK(has(said({{"evidence = [\"received-counters\"", "evidence = [\"neighbour\""}}), "there is no neighbour"));
    CHECK(has(said({}, {{"[link.channel]",
                         "[link.neighbour]\nname = \"line 2\"\ncontroller_address = \"0x0061\"\n"
                         "device_address = \"0x0062\"\n[link.channel]"}}),
              "is nothing that a bench with several links shows; take it out of the plant"));
    CHECK(has(said({{"[[scenario.fault]]\nlink = \"infeed\"", "[[scenario.fault]]\nlink = \"infed\""}}),
              "scenario.fault"));
}

TEST_CASE("a promise of a link that is not kept is told with its key") {
    sim::Drill one = drill(24);
    one.expect.links[2].ends[0].state = proto::State::safe_state;
    const auto bench = sim::bench_of(one, one.scenario.seed);
    std::size_t broken = 0;
    for (const sim::Promise& promise : sim::promises_of(one, *bench)) {
        if (promise.kept) continue;
        ++broken;
        CHECK(promise.key == "link.outfeed.controller.state");
        CHECK(has(promise.broken, "link outfeed: line controller: running"));
    }
    CHECK(broken == 1);
}

TEST_CASE("an exam draws each of the three stations, with addresses of its own at every link") {
    const sim::Drill& written = drill(24);
    std::set<std::string> silent;
    for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        const auto exam = sim::drawn_for_exam(written, seed);
        const sim::Drill& drawn = exam.drill;
        const auto& bench = exam.bench;
        REQUIRE(drawn.right.link.size() == 1);
        silent.insert(drawn.right.link.front());
        REQUIRE(bench->links() == 3);
        const auto moved = [&](std::size_t i) {
            return drawn.cell->links[i].alone.device.link.own_address -
                   written.cell->links[i].alone.device.link.own_address;
        };
        CHECK(moved(0) == moved(1));
        CHECK(moved(0) == moved(2));
        for (std::size_t i = 0; i < 3; ++i) {
            CHECK(drawn.cell->links[i].alone.device.link.own_address ==
                  drawn.cell_sheet->links[i].alone.device.link.own_address);
            const bool stopped = bench->of_link(i).panel(sim::End::controller).state != proto::State::running;
            CHECK(stopped == (bench->of_link(i).link_name() == drawn.right.link.front()));
        }
    }
    CHECK(silent.size() == 3);
}
