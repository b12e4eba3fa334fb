// Files with several links: what is wrong in one is said with its line, its key in the whole file, and its link.
#include <doctest/doctest.h>

#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

#include "sim/reading/all_problems.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/timing/cell_ways.hpp"
#include "sim/timing/response.hpp"

namespace {

const std::string path = std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/glass_line/cell.toml";

std::string shipped() {
    std::ifstream in(path);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// The shipped cell with one piece of its text replaced, each of which must be there.
std::string with(std::string_view old, std::string_view now) {
    std::string text = shipped();
    const std::size_t at = text.find(old);
    REQUIRE(at != std::string::npos);
    return text.replace(at, old.size(), now);
}

struct Wrong {
    std::string_view old, now;
    std::string_view key, says;
};

}  // namespace

TEST_CASE("what is wrong in a cell is said with its key and its mend") {
    const std::vector<Wrong> all{
        {"name = \"bridge\"\nexchange", "name = \"infeed\"\nexchange", "link[2].name", "is taken by another link"},
        {"cycle = \"15 ms\"", "cycle = \"16 ms\"", "link[3].cycle", "no whole multiple of the controller's scan"},
        {"cycle = \"15 ms\"", "cycel = \"15 ms\"", "link[3].cycel", "unknown key"},
        {"watchdog = \"60 ms\"", "watchdog = \"60\"", "link[3].watchdog", "60"},
        {"address = \"0x0112\"", "address = \"here\"", "link[2].device.address", "no number"},
        {"bridge_may_cut = \"0.0\"", "bridge_may_cut = \"0.9\"", "link[2].bits.bridge_may_cut", "BYTE.BIT"},
        {"bridge_may_cut = \"0.0\"", "table_may_run = \"0.0\"", "link[2].bits.table_may_run", "of another link"},
        {"at = \"infeed I/O\"", "at = \"infeed\"", "safeguard[1].at", "is no station"},
        {"all_of = [\"curtain_free\"]", "all_of = [\"infeed_curtain\"]", "signal[4].all_of", "is read at infeed I/O"},
        {"link = \"bridge\"\ndirection", "link = \"brige\"\ndirection", "signal[4].link", "nearest is \"bridge\""},
        {"at = \"bridge drive\"\nreaction", "at = \"line controller\"\nreaction", "machine[1].at",
         "station of its own"},
        {"at = \"table drive\"\nreaction", "at = \"bridge drive\"\nreaction", "machine[2].at", "one machine a station"},
        {"signal = \"table_may_run\", stop", "signal = \"bridge_may_cut\", stop", "machine[2].reaction",
         "not received"},
        {"machine = \"bridge\", must = \"category-1\", within = \"450 ms\" }]\nlevel",
         "machine = \"brigde\", must = \"category-1\", within = \"450 ms\" }]\nlevel", "function[1].must",
         "is no machine"},
        {"name = \"opening the flap stops the table\"", "name = \"pulling the rope stops bridge and table\"",
         "function[3].name", "is taken by another function"},
        {"link = \"all\"\n", "", "operator[1].link", "is missing"},
        {"after = \"0.5 s\"\nmachine = \"bridge\"\n", "after = \"0.5 s\"\n", "operator[2].machine", "is missing"},
        {"safeguard = \"rope\"\ndoes = \"reset\"", "on = \"link-running\"\nsafeguard = \"rope\"\ndoes = \"reset\"",
         "operator[6].on", "come at a time"},
        {"[[fault]]\nlink = \"bridge\"\n", "[[fault]]\n", "fault[2].link", "is missing"},
        {"at_end = \"controller\"", "at_end = \"controller\"\nlink = \"table\"", "fault[4].link", "all its links"},
        {"duration = \"40 s\"", "duration = \"40 s\"\n[bits]\nx = \"0.0\"", "bits", "[link.bits]"},
        {"direction = \"to-device\"\nall_of = [\"curtain_free\"]",
         "direction = \"to-device\"\noff_delay = \"300 ms\"\nall_of = [\"curtain_free\"]", "signal[4].off_delay",
         "not reckoned with"},
        {"address = \"0x0101\"", "address = \"0x0101\"\nvalues = { speed = { at = 1 } }", "controller.values",
         "[link.controller.values]"},
        {"all_of = [\"rope_free\"]", "inverse_of = \"curtain_free\"\ndiscrepancy = \"80 ms\"", "signal[5].inverse_of",
         "carried by another link"},
        {"way = \"drop\"\nat = \"17 s\"", "way = \"drop\"\nother_link = \"table\"\nat = \"17 s\"",
         "fault[1].other_link", "means nothing with way"},
        {"error = \"loss\"\nway = \"drop\"\nat = \"17 s\"",
         "error = \"addressing\"\nway = \"swap\"\nother_link = \"tabel\"\nat = \"17 s\"", "fault[1].other_link",
         "nearest is \"table\""},
        {"error = \"loss\"\nway = \"drop\"\nat = \"17 s\"",
         "error = \"addressing\"\nway = \"swap\"\nother_link = \"infeed\"\nat = \"17 s\"", "fault[1].other_link",
         "is the link itself"},
        {"error = \"loss\"\nway = \"drop\"\nat = \"17 s\"\nlasting = \"0.3 s\"",
         "error = \"addressing\"\nway = \"misdeliver\"\non_telegram = 200", "fault[1].on_telegram",
         "another instant in each"},
        {"error = \"loss\"\nway = \"drop\"\nat = \"17 s\"",
         "error = \"addressing\"\nway = \"swap\"\nuntil = \"safe-state\"\nat = \"17 s\"", "fault[1].until",
         "another thing in each"},
    };
    for (const Wrong& wrong : all) {
        CAPTURE(wrong.key);
        const std::string text = with(wrong.old, wrong.now);
        const auto read = sim::cell_in(text, path);
        REQUIRE(!read.ok());
        bool found = false;
        for (const sim::FileError& error : sim::all_problems_in(text, path)) {
            CAPTURE(error.one_line());
            CHECK(error.line > 0);
            found = found || (error.key.starts_with(wrong.key) && error.message.find(wrong.says) != std::string::npos);
        }
        CHECK_MESSAGE(found, read.error().one_line());
    }
}

TEST_CASE("a cell has at most 64 functions, of all its machines together") {
    // with the three that are there; every second one is of the other machine
    const auto functions = [](unsigned last) {
        std::string text = shipped();
        for (unsigned i = 4; i <= last; ++i)
            text += "\n[[function]]\nname = \"function " + std::to_string(i) + "\"\nsafeguards = [\"rope\"]\nmust = [" +
                    (i % 2 == 0 ? "{ machine = \"bridge\", must = \"category-1\", within = \"450 ms\" }"
                                : "{ machine = \"table\", must = \"category-0\", within = \"500 ms\" }") +
                    "]\n";
        return text;
    };
    const auto most = sim::cell_in(functions(64), path);
    REQUIRE_MESSAGE(most.ok(), (most.ok() ? "" : most.error().one_line()));
    CHECK(most.value().functions.size() == 64);
    const auto read = sim::cell_in(functions(65), path);
    REQUIRE(!read.ok());
    CHECK(read.error().key == "function[65].name");
    CHECK(read.error().message.find("at most 64 functions") != std::string::npos);
    CHECK(sim::all_problems_in(functions(70), path).size() == 1);
}

TEST_CASE("one guard by several ways of an any_of is refused: nobody reckons which of them is the slowest") {
    std::string text = with("all_of = [\"flap_shut\", \"rope_free\"]", "any_of = [\"curtain_free\", \"rope_free\"]");
    CHECK(sim::cell_in(text, path).ok());
    const std::string_view old = "all_of = [\"infeed_curtain\"]";
    text.replace(text.find(old), old.size(), "all_of = [\"infeed_curtain\", \"rope\"]");
    const auto read = sim::cell_in(text, path);
    REQUIRE(!read.ok());
    CHECK(read.error().key == "signal[6].any_of");
    CHECK(read.error().message.find("only the slowest") != std::string::npos);
}

TEST_CASE("a fault between two links is read into both, and what it is expected to do stays where it strikes") {
    const std::string_view cable = "error = \"loss\"\nway = \"drop\"\nat = \"17 s\"";
    const auto read = sim::cell_in(with(cable, "error = \"addressing\"\nway = \"swap\"\nat = \"17 s\""), path);
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    const sim::WholeCell& cell = read.value();
    const sim::Fault& here = cell.links[0].alone.faults.at(0);
    const sim::Fault& there = cell.links[1].alone.faults.at(0);  // nobody named one: the next link
    CHECK(here.other_link == "bridge");
    CHECK_FALSE(here.of_other_link);
    CHECK(here.expect_outcome == "safe-state");
    CHECK(there.way == sim::FaultWay::swap);
    CHECK(there.other_link == "infeed");
    CHECK(there.of_other_link);
    CHECK_FALSE(there.expect_outcome);
    CHECK(there.at == here.at);
    CHECK(there.lasting == here.lasting);
    CHECK(there.where.key == here.where.key);
    CHECK(cell.links[2].alone.faults.size() == 2);  // its own, and the controller's

    // a telegram that is only overheard strikes one link; a foreign neighbour stays the neighbour unless another is
    // named
    const std::string_view inserted = "error = \"insertion\"\nway = \"neighbour\"\nat = \"17 s\"";
    const auto overheard = sim::cell_in(with(cable, inserted), path);
    REQUIRE(overheard.ok());
    CHECK(overheard.value().links[0].alone.faults.at(0).other_link == "bridge");
    CHECK(overheard.value().links[1].alone.faults.at(0).way == sim::FaultWay::drop);
    std::string foreign = with(cable, inserted);
    const std::string_view at = "[link.required]\nto_controller = \"95 ms\"";
    foreign.replace(
        foreign.find(at), at.size(),
        "[link.neighbour]\ncontroller_address = \"0x0201\"\ndevice_address = \"0x0202\"\n" + std::string(at));
    const auto beside = sim::cell_in(foreign, path);
    REQUIRE(beside.ok());
    CHECK(beside.value().links[0].alone.faults.at(0).other_link.empty());
}

TEST_CASE("the shipped cell is read as it is written") {
    const auto read = sim::read_cell(path);
    REQUIRE(read.ok());
    const sim::WholeCell& cell = read.value();
    REQUIRE(cell.links.size() == 3);
    CHECK(cell.functions.size() == 3);
    CHECK(cell.functions[1].must.size() == 2);
    CHECK(cell.acknowledges_all);
    // the curtain crosses two links to the bridge, the flap one twice
    const auto curtain = sim::way_over_links(cell, 1, "infeed_curtain");
    REQUIRE(curtain.size() == 2);
    CHECK(curtain[0].link == 0);
    CHECK(curtain[1].link == 1);
    CHECK(sim::way_over_links(cell, 2, "table_flap").size() == 1);
    CHECK(sim::way_over_links(cell, 2, "infeed_curtain").empty());
    // 14 ms sensor; link infeed 2 * 40 + 10, link bridge 2 * 40 + 4
    const sim::ResponseTime response = sim::response_of(cell.links[1].alone, "infeed_curtain");
    CHECK(response.response == proto::milliseconds(14 + 90 + 84));
    REQUIRE(response.apart);
    CHECK(*response.apart < *response.response);
}

TEST_CASE("links on separate segments are not disturbed together, and a source must say so") {
    const std::string_view at = "[[link]]\nname = \"infeed\"";
    const auto read = sim::cell_in(with(at,
                                        "[[segment]]\nname = \"radio\"\nlinks = [\"infeed\"]\nsource = \"drawing 4\"\n"
                                        "[[segment]]\nname = \"cable\"\nlinks = [\"bridge\", \"table\"]\nsource = "
                                        "\"drawing 4\"\n[[link]]\nname = \"infeed\""),
                                   path);
    REQUIRE(read.ok());
    const sim::ResponseTime response = sim::response_of(read.value().links[1].alone, "infeed_curtain");
    CHECK(response.response == response.apart);
    CHECK(!sim::cell_in(with(at, "[[segment]]\nname = \"radio\"\nlinks = [\"infeed\"]\n[[link]]\nname = \"infeed\""),
                        path)
               .ok());
    CHECK(!sim::cell_in(with(at,
                             "[[segment]]\nname = \"radio\"\nlinks = [\"infeed\", \"infeed\"]\nsource = \"x\"\n"
                             "[[link]]\nname = \"infeed\""),
                        path)
               .ok());
}
