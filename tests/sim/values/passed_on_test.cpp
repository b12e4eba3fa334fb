// Values that an end passes on: within a link, and by the controller from one link of a cell to another.
#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>
#include <vector>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/reading/all_problems.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/timing/cell_ways.hpp"
#include "tests/support/cells.hpp"
#include "tests/support/scenarios.hpp"
#include "tests/support/slow_values.hpp"

namespace {

using proto::End;
using proto::milliseconds;
using proto::seconds;
using sim::RunVerdict;
using sim::ValueSource;

const sim::TypedValue typed{sim::ValueType::u16, 2, sim::ValueOrder::high_first, 1'000, {}};

/// A speed that the device of link 0 says, 100 mm/s and from 1.5 s on 30 mm/s.
sim::SafeValue said_by_device() {
    sim::SafeValue value = tests::speed_value("zone_speed");
    value.high = 65'535'000;
    value.direction = sim::Direction::to_controller;
    value.source = {ValueSource::Kind::over_time, {{{}, 100'000}, {milliseconds(1500), 30'000}}};
    return value;
}

sim::SafeValue passed_on(bool from_elsewhere) {
    sim::SafeValue value = tests::speed_value("allowed_speed");
    value.high = 65'535'000;
    value.source = {ValueSource::Kind::passed_on, {{{}, 0}}};
    value.source.from = "zone_speed";
    value.source.from_elsewhere = from_elsewhere;
    return value;
}

/// The controller has it from link 0 and sends it on link 1.
sim::WholeCell cell_that_passes_on() {
    sim::WholeCell cell = tests::chain_of({}, {}, seconds(4));
    tests::add_value(cell.links[0].alone, said_by_device(), typed);
    tests::add_value(cell.links[1].alone, passed_on(true), typed);
    sim::complete_links(cell);
    return cell;
}

const std::string cell_file = std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/glass_line/cell.toml";

std::string shipped_cell() {
    std::ifstream in(cell_file);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

std::string value_table(std::string_view name, std::string_view link, std::string_view direction,
                        std::string_view source) {
    return "\n[[value]]\nname = \"" + std::string(name) + "\"\nlink = \"" + std::string(link) + "\"\ndirection = \"" +
           std::string(direction) +
           "\"\ntype = \"u16\"\nat = 2\nscale = \"0.1 mm/s\"\nrange = [\"0 mm/s\", \"250 mm/s\"]\nsubstitute = "
           "\"0 mm/s\"\nsafe = \"low\"\n" +
           std::string(source) + "\n";
}

std::string all_said(const std::string& text) {
    std::string said;
    for (const sim::FileError& error : sim::all_problems_in(text, cell_file))
        said += error.key + ": " + error.message + "\n";
    return said;
}

}  // namespace

TEST_CASE("a value that an end sends back is what it uses of it, scan by scan") {
    sim::Scenario s = tests::polled_link();
    s.duration = seconds(3);
    tests::add_value(s, said_by_device(), typed);
    tests::add_value(s, passed_on(false), typed);
    const sim::RunResult result = sim::rehearse(s, 1);
    CHECK(result.verdict == RunVerdict::pass);
    REQUIRE(result.values.size() == 2);
    CHECK(result.values[1].highest == 100'000);
    CHECK(result.values[1].lowest == 30'000);
    REQUIRE(result.values[1].slowest);
    CHECK(result.values[1].towards_safe == 1);
}

TEST_CASE("the controller passes a value on from one link of a cell to another") {
    const sim::WholeCell cell = cell_that_passes_on();
    const sim::CellResult result = sim::rehearse_cell(cell, 3);
    CHECK(result.verdict == RunVerdict::pass);
    const sim::ValueResult& there = result.links[1].values.at(0);
    CHECK(there.highest == 100'000);
    CHECK(there.lowest == 30'000);
    CHECK(there.towards_safe == 1);
    CHECK(there.out_of_range == 0);
}

TEST_CASE("where the link that brings it stops, what is passed on becomes the substitute") {
    sim::WholeCell cell = cell_that_passes_on();
    cell.links[0].alone.values.all[0].source.steps = {{{}, 100'000}};
    cell.links[0].alone.faults.push_back(tests::lasting(
        tests::on(tests::fault_of(sim::FaultWay::drop, seconds(2)), tests::Ways::both), milliseconds(300)));
    sim::complete_links(cell);
    const sim::CellResult result = sim::rehearse_cell(cell, 3);
    CHECK(result.links[0].stops == 1);
    CHECK(result.links[1].stops == 0);
    const sim::ValueResult& there = result.links[1].values.at(0);
    CHECK(there.towards_safe == 1);  // down to the substitute, which is sent as a value
    CHECK(there.slowest.has_value());
    CHECK(result.verdict == RunVerdict::pass);
}

TEST_CASE("R-84: a frozen controller that passes a value on is dangerous on the link that should have heard of it") {
    sim::WholeCell cell = cell_that_passes_on();
    sim::Fault frozen = tests::fault_of(sim::FaultWay::frozen_data, seconds(1));
    frozen.at_end = End::controller;
    for (sim::CellLink& link : cell.links) link.alone.faults.push_back(frozen);
    sim::complete_links(cell);
    const sim::CellResult result = sim::rehearse_cell(cell, 3);
    CHECK(result.verdict == RunVerdict::dangerous);
    const auto& dangerous = result.links[1].dangerous;
    CHECK(std::any_of(dangerous.begin(), dangerous.end(), [](const sim::DangerousEvent& event) {
        return event.why.find("allowed_speed") != std::string::npos;
    }));
}

TEST_CASE("a link alone counts what others would bring at what permits most") {
    const sim::WholeCell cell = cell_that_passes_on();
    const sim::RunResult result = sim::rehearse(sim::in_cell(cell, 1), 3);
    CHECK(result.values.at(0).lowest == 65'535'000);
}

TEST_CASE("a cell's file names the value that is passed on, by any link that the controller has it from") {
    const std::string text = shipped_cell() +
                             value_table("zone_speed", "infeed", "to-controller", "is = \"100 mm/s\"") +
                             value_table("bridge_speed", "bridge", "to-device", "from = \"zone_speed\"");
    const auto cell = sim::cell_in(text, cell_file);
    REQUIRE_MESSAGE(cell.ok(), all_said(text));
    const sim::SafeValue& value = cell.value().links[1].alone.values.all.at(0);
    CHECK(value.source.kind == ValueSource::Kind::passed_on);
    CHECK(value.source.from_elsewhere);
    const sim::CellResult result = sim::rehearse_cell(cell.value(), 23);
    CHECK(result.links[1].values.at(0).highest == 100'000);
}

TEST_CASE("what cannot be passed on is said with the key in the whole file") {
    struct Wrong {
        std::string first, second, key, says;
    };
    const std::vector<Wrong> all{
        {value_table("zone_speed", "infeed", "to-controller", "is = \"100 mm/s\""),
         value_table("bridge_speed", "bridge", "to-device", "from = \"zone_sped\""), "value[2].from", "is no value"},
        {value_table("zone_speed", "infeed", "to-device", "is = \"100 mm/s\""),
         value_table("bridge_speed", "bridge", "to-device", "from = \"zone_speed\""), "value[2].from",
         "does not come to the end"},
        {value_table("zone_speed", "infeed", "to-controller", "is = \"100 mm/s\""),
         value_table("bridge_speed", "bridge", "to-device", "from = \"zone_speed\"\nis = \"3 mm/s\""), "value[2].from",
         "take the others away"},
        {value_table("zone_speed", "infeed", "to-controller", "is = \"100 mm/s\""),
         value_table("zone_speed", "bridge", "to-device", "is = \"100 mm/s\""), "value[2].name", "of another link"},
    };
    for (const Wrong& wrong : all) {
        const std::string said = all_said(shipped_cell() + wrong.first + wrong.second);
        CAPTURE(said);
        CHECK(said.find(wrong.key) != std::string::npos);
        CHECK(said.find(wrong.says) != std::string::npos);
    }
    std::string wide = value_table("zone_speed", "infeed", "to-controller", "is = \"100 mm/s\"");
    wide.replace(wide.find("250 mm/s"), 8, "300 mm/s");
    std::string high = value_table("zone_speed", "infeed", "to-controller", "is = \"100 mm/s\"");
    high.replace(high.find("\"0 mm/s\"\nsafe = \"low\""), 21, "\"250 mm/s\"\nsafe = \"high\"");
    const std::string there = value_table("bridge_speed", "bridge", "to-device", "from = \"zone_speed\"");
    CHECK(all_said(shipped_cell() + wide + there).find("lies outside the range here") != std::string::npos);
    CHECK(all_said(shipped_cell() + high + there).find("permit most here") != std::string::npos);
}

TEST_CASE("a machine that takes its reduced speed from another link's value is told how to pass it on") {
    std::string text = shipped_cell() + value_table("zone_speed", "infeed", "to-controller", "is = \"100 mm/s\"");
    const std::string old = "at = \"bridge drive\"\nreaction_delay";
    REQUIRE(text.find(old) != std::string::npos);
    text.replace(
        text.find(old), old.size(),
        "at = \"bridge drive\"\nreduced_speed = \"100 mm/s\"\nreduced_speed_from = \"zone_speed\"\nreaction_delay");
    const std::string said = all_said(text);
    CAPTURE(said);
    CHECK(said.find("machine[1].reduced_speed_from") != std::string::npos);
    CHECK(said.find("from = \"zone_speed\"") != std::string::npos);
}
