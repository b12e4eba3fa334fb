// Where a difference is mended: at the end that is not as [link], [bits], a function or the file of two lists says;
// never at one that is, and nothing is advised that the check would warn of.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "sim/reading/read.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/cell_check.hpp"
#include "sim/studies/cross_check.hpp"
#include "tests/support/text_files.hpp"

using sim::MendAt;
using tests::text_of;
using tests::with;

namespace {

const std::string press = LINKDRILL_SOURCE_DIR "/scenarios/veneer_press/all_errors.toml";
const std::string table = LINKDRILL_SOURCE_DIR "/scenarios/glass_table/speed_as_value.toml";
const std::string line = LINKDRILL_SOURCE_DIR "/scenarios/glass_line/cell.toml";

const std::string at_device = "\naddress = \"0x0021\"";
const std::string at_controller = "\naddress = \"0x0010\"";

sim::Scenario read(const std::string& text, const std::string& as = press) {
    const auto scenario = sim::scenario_in(text, as);
    REQUIRE_MESSAGE(scenario.ok(), (scenario.ok() ? "" : scenario.error().one_line()));
    return scenario.value();
}

sim::Difference only(const sim::Scenario& scenario) {
    const sim::CrossCheck check = sim::cross_check(scenario);
    REQUIRE(check.differences.size() == 1);
    return check.differences.front();
}

}  // namespace

TEST_CASE("what [link] says was meant, at whichever end it was typed otherwise") {
    struct Row {
        const char* typed;
        const char* meant;
    };
    const Row rows[] = {{"watchdog = \"15 ms\"", "45 ms"},   {"watchdog = \"450 ms\"", "45 ms"},
                        {"payload = 9", "8 bytes"},          {"exchange = \"streaming\"", "polled"},
                        {"profile = \"crc24_implied\"", ""}, {"claimed_sil = 1", "3"}};
    for (const Row& row : rows)
        for (const bool device : {true, false}) {
            const std::string& where = device ? at_device : at_controller;
            const sim::Scenario s = read(with(text_of(press), where, where + "\n" + row.typed));
            CAPTURE(row.typed);
            CAPTURE(device);
            const sim::CrossCheck check = sim::cross_check(s);
            REQUIRE_FALSE(check.differences.empty());
            for (const sim::Difference& d : check.differences) {
                CAPTURE(d.setting);
                if (d.setting.starts_with("payload") && std::string(row.meant) != "8 bytes") continue;
                CHECK(d.mend_at == (device ? MendAt::device : MendAt::controller));
                const std::string name = device ? s.device.name : s.controller.name;
                CHECK(d.mend.starts_with(name + ": " + row.meant));
                CHECK(d.mend.ends_with(", as [link] has it"));
            }
        }
}

TEST_CASE("both ends may be wrong, and where nothing says what was meant the design does") {
    const std::string both = with(with(text_of(press), at_device, at_device + "\nwatchdog = \"40 ms\""), at_controller,
                                  at_controller + "\nwatchdog = \"30 ms\"");
    const sim::Difference d = only(read(both));
    CHECK(d.mend_at == MendAt::both);
    CHECK(d.mend == "press controller and press I/O: 45 ms, as [link] has it");

    const std::string unsaid = with(both, "\nwatchdog = \"45 ms\"", "");
    const sim::Difference open = only(read(unsaid));
    CHECK(open.mend_at == MendAt::design);
    CHECK(open.mend == "see the design which is meant, 30 ms or 40 ms");
    // and of the two it is told which one cannot be
    const sim::Difference hinted = only(read(with(unsaid, "watchdog = \"40 ms\"", "watchdog = \"6000 ms\"")));
    CHECK(hinted.mend_at == MendAt::design);
    CHECK(hinted.mend.starts_with(
        "see the design which is meant, 30 ms or 6 s; with 6 s what goes to press I/O may take "));
    // a default that nobody typed is not what was meant
    const sim::Difference order =
        only(read(with(text_of(press), at_device, at_device + "\nbyte_order = \"low-first\"")));
    CHECK(order.mend_at == MendAt::design);
}

TEST_CASE("a value that cannot be is never advised, though [link] has it") {
    // what stands in [link] can never run with this channel
    const std::string text = with(with(text_of(press), "\nwatchdog = \"45 ms\"", "\nwatchdog = \"15 ms\""), at_device,
                                  at_device + "\nwatchdog = \"45 ms\"");
    sim::Scenario s = read(text);
    CHECK(only(s).mend == "press I/O: 15 ms, as [link] has it");  // with its own channel it can
    s.to_device.delay = {.kind = sim::DelayShape::Kind::constant,
                         .low = proto::milliseconds(12),
                         .high = proto::milliseconds(12),
                         .cells = {}};
    const sim::Difference d = only(s);
    CHECK(d.mend_at == MendAt::design);
    CHECK(d.mend.starts_with("see the design: [link] has 15 ms, but then the link can never run"));
    // and one that breaks a limit
    const sim::Difference late =
        only(read(with(with(text_of(press), "\nwatchdog = \"45 ms\"", "\nwatchdog = \"4500 ms\""), at_device,
                       at_device + "\nwatchdog = \"45 ms\"")));
    CHECK(late.mend_at == MendAt::design);
    CHECK(late.mend.find(", but then ") != std::string::npos);
}

TEST_CASE("the level that a function asks for decides where [link] says none, and is not argued away") {
    const std::string text = text_of(press);
    sim::Scenario s = read(text);
    REQUIRE(s.meant.claimed_level == 3U);
    sim::SafetyFunction asks;
    asks.name = "closing";
    asks.level = sim::FunctionLevel{.scale = sim::FunctionLevel::Scale::sil, .step = 3};
    s.functions = {asks};
    s.device.link.claimed_level = 2;
    s.meant.claimed_level.reset();
    sim::Difference d = only(s);
    CHECK(d.mend_at == MendAt::device);
    CHECK(d.mend == "press I/O: 3, as \"closing\" has it");
    s.meant.claimed_level = 2;
    d = only(s);
    CHECK(d.mend_at == MendAt::design);
    CHECK(d.mend.find("\"closing\" asks for SIL 3") != std::string::npos);
    s.meant.claimed_level.reset();
    s.controller.link.claimed_level = 4;
    CHECK(only(s).mend_at == MendAt::design);  // neither has it
}

TEST_CASE("bits are mended where they are not as [bits] has them") {
    const std::string file = LINKDRILL_SOURCE_DIR "/scenarios/glass_table/four_settings_differ.toml";
    std::string text = text_of(file);
    // one watchdog, one profile, one address: the bits alone differ
    text = with(text, "profile = \"crc24_implied\"", "");
    text = with(text, "watchdog = \"80 ms\"", "");
    text = with(text, "peer_address = \"0x0021\"", "");
    const sim::Scenario s = read(text, file);
    const sim::Difference d = only(s);
    CHECK(d.mend_at == MendAt::device);
    CHECK(d.mend.starts_with("table I/O: front_curtain_free = 0.2, rope_pull_free = 0.3, as [bits] has it"));
    const sim::CrossCheck check = sim::cross_check(s);
    const auto bit = std::ranges::find_if(
        check.settings, [](const sim::ComparedSetting& one) { return one.setting.starts_with("byte 0, bit 2"); });
    REQUIRE(bit != check.settings.end());
    CHECK(bit->meant == "front_curtain_free");
    CHECK_FALSE(bit->same());
}

TEST_CASE("a value's place is mended where it is not as its table has it") {
    sim::Scenario s = read(text_of(table), table);
    REQUIRE(s.values.any());
    s.values.typed[1][0].at += 1;
    const auto check = sim::cross_check(s);
    const auto d = std::ranges::find_if(check.differences,
                                        [](const sim::Difference& one) { return one.setting.starts_with("value "); });
    REQUIRE(d != check.differences.end());
    CHECK(d->mend_at == MendAt::device);
    CHECK(d->mend.find("as its [[value]] has it") != std::string::npos);
}

TEST_CASE("in a cell each link's own table says what was meant") {
    const auto cell = sim::cell_in(
        with(text_of(line), "name = \"table drive\"\n", "name = \"table drive\"\nclaimed_sil = 1\n"), line);
    REQUIRE_MESSAGE(cell.ok(), (cell.ok() ? "" : cell.error().one_line()));
    const sim::CellCheck check = sim::check_cell(cell.value());
    REQUIRE(check.ends[2].differences.size() == 1);
    const sim::Difference& d = check.ends[2].differences[0];
    CHECK(d.mend_at == MendAt::device);
    CHECK(d.mend == "table drive: 2, as its [[link]] has it");
}
