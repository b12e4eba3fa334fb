// Reading scenario and profile files: every key, and files that are none. Wrong keys: wrong_scenario_test.cpp.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "sim/judge/result.hpp"
#include "sim/reading/read.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/network.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tests/sim/scenario_fixture.hpp"

namespace fs = std::filesystem;

namespace {

using scenario_test::base;
using scenario_test::complaint;
using scenario_test::edited;
using scenario_test::Folder;
using scenario_test::plain_profile;

std::string profile_complaint(const Folder& folder, const std::string& text) {
    folder.write("p.toml", text);
    const auto read = sim::read_profile(folder.file("p.toml"));
    return read ? "" : read.error().one_line().substr(folder.file("p.toml:").size());
}

sim::Scenario base_as_read() {
    const Folder folder;
    folder.write("plant.toml", base);
    auto read = sim::read_scenario(folder.file("plant.toml"));
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    return std::move(read).value();
}

}  // namespace

TEST_CASE("quantities are read exactly") {
    const auto ns = [](std::string_view text) { return sim::parse_quantity(text, sim::duration_units()); };
    CHECK(ns("45 ms").value() == 45'000'000);
    CHECK(ns("0.1 ms").value() == 100'000);
    CHECK(ns("1.000000001s").value() == 1'000'000'001);
    CHECK(ns("0.000001 ms").value() == 1);
    CHECK(ns("6 min").value() == 360'000'000'000);
    CHECK(ns("-2 h").value() == -7'200'000'000'000);
    CHECK(ns("2562047.5 h").value() == 9'223'371'000'000'000'000);
    CHECK(ns("2562048 h").error() == sim::QuantityFault::too_large);
    CHECK(ns("99999999999999999999 ns").error() == sim::QuantityFault::too_large);
    CHECK(ns("0.5 ns").error() == sim::QuantityFault::too_fine);
    CHECK(ns("45").error() == sim::QuantityFault::no_unit);
    CHECK(ns("45 msec").error() == sim::QuantityFault::unknown_unit);
    for (const char* text : {"", "ms", ". ms", "1. ms", "--1 ms", "+1 ms", "1e3 ms"}) CHECK_FALSE(ns(text).ok());
    CHECK(sim::parse_quantity("120 mm/s", sim::speed_units()).value() == 120'000);
    CHECK(sim::parse_quantity("1.5 m/s2", sim::acceleration_units()).value() == 1'500'000);
    CHECK(sim::parse_quantity("30 mm", sim::length_units()).value() == 30'000);
}

TEST_CASE("what is written can be read again") {
    for (const std::int64_t ns : {std::int64_t{0}, std::int64_t{1}, std::int64_t{999}, std::int64_t{45'000'000},
                                  std::int64_t{400'000}, std::int64_t{2'000'000'000}, std::int64_t{1'234'567'891},
                                  std::int64_t{360'000'000'000}, std::int64_t{-7'000'001}}) {
        const std::string text = sim::written(proto::Duration{ns});
        CAPTURE(text);
        CHECK(sim::parse_quantity(text, sim::duration_units()).value() == ns);
    }
    CHECK(sim::written(proto::milliseconds(45)) == "45 ms");
    CHECK(sim::written(proto::seconds(360)) == "6 min");
    CHECK(sim::written_hex(0x21, 4) == "0x0021");
    CHECK(sim::written_hex(0, 1) == "0x0");
}

TEST_CASE("edit distance") {
    CHECK(sim::edit_distance("wachdog", "watchdog") == 1);
    CHECK(sim::edit_distance("kitten", "sitting") == 3);
    CHECK(sim::edit_distance("", "abc") == 3);
    CHECK(sim::edit_distance("cylce", "cycle") == 1);
    CHECK(sim::edit_distance("ca", "abc") == 3);  // no place is changed twice
    CHECK(sim::looks_like("wachdog", "watchdog"));
    CHECK_FALSE(sim::looks_like("colour", "watchdog"));
    CHECK_FALSE(sim::looks_like("ip_address", "address"));
    CHECK_FALSE(sim::looks_like("station", "reaction"));
    CHECK(sim::looks_like("cylce", "cycle"));
    const std::vector<std::string> few{"rope", "curtain"}, one{"rope"};
    CHECK(sim::offered_for("curtin", few) == "nearest is \"curtain\"");
    CHECK(sim::offered_for("mat", few) == "write one of rope, curtain");
    CHECK(sim::offered_for("mat", one) == "write \"rope\", the only one there is");
}

TEST_CASE("every key of a scenario's link arrives") {
    const sim::Scenario s = base_as_read();
    CHECK(s.title == "Test press");
    CHECK(s.shows == "All keys.");
    CHECK(s.plant == "veneer press");
    CHECK(s.seed == 7);
    CHECK(s.duration == proto::seconds(20));
    CHECK(s.device_phase == proto::microseconds(700));
    const proto::LinkSettings& c = s.controller.link;
    const proto::LinkSettings& d = s.device.link;
    CHECK(s.controller.name == "press controller");
    CHECK(s.device.profile_file == "plain");
    CHECK(c.exchange == proto::Exchange::polled);
    CHECK(c.own_address == 0x10);
    CHECK(c.peer_address == 0x21);
    CHECK(d.own_address == 0x21);
    CHECK(d.end == proto::End::device);
    CHECK(c.scan == c.cycle);
    CHECK(d.scan == proto::milliseconds(2));
    CHECK(c.watchdog == proto::milliseconds(45));
    CHECK(c.peer_watchdog == proto::milliseconds(45));
    CHECK(d.watchdog == proto::milliseconds(50));
    CHECK(d.peer_watchdog == proto::milliseconds(45));
    CHECK(c.claimed_level == 3);
    CHECK(c.reaction == proto::Reaction::discard);
    CHECK(c.error_interval == proto::seconds(360));
    CHECK(c.profile.crc->polynomial == 0xF4ACFB13);
    CHECK(c.bits_sent[0] == 0b110);
    CHECK(d.bits_received[0] == 0b100);
    CHECK(d.bits_received[1] == 0x80);
    CHECK(d.bits_sent[0] == 1);
}

TEST_CASE("every key of a scenario's channel and plant arrives") {
    const sim::Scenario s = base_as_read();
    CHECK(s.neighbour->device_address == 0x23);
    CHECK(s.to_device.delay.kind == sim::DelayShape::Kind::uniform);
    CHECK(s.to_device.delay.high == proto::microseconds(400));
    CHECK(s.to_device.loss == 1e-4);
    CHECK_FALSE(s.to_device.keep_order);
    REQUIRE(s.to_controller.delay.cells.size() == 2);
    CHECK(s.to_controller.delay.cells[0].weight == 10);
    CHECK(s.to_controller.bit_error_rate == 1e-9);
    REQUIRE(s.safeguards.size() == 2);
    CHECK(s.safeguards[0].minimum_hold == proto::milliseconds(200));
    CHECK(s.safeguards[1].minimum_hold == proto::milliseconds(55));  // watchdog and scan of the end that reads it
    REQUIRE(s.signals.size() == 3);
    CHECK(s.signals[1].all_of == std::vector<std::string>{"curtain_free", "rope"});
    CHECK(s.machine->speed_um_s == 60'000);
    CHECK(s.machine->reduced_speed_um_s == 10'000);
    CHECK(s.machine->braking_um_s2 == 600'000);
    CHECK(s.machine->ramp_um_s2 == 300'000);
    CHECK(s.machine->reactions.at(0).stop == sim::StopCategory::category_1);
}

TEST_CASE("every key of what happens in a scenario arrives") {
    const sim::Scenario s = base_as_read();
    CHECK(s.required.to_controller == proto::milliseconds(120));
    CHECK(s.demands.at(0).lasting == proto::milliseconds(300));
    REQUIRE(s.operator_acts.size() == 2);
    CHECK(s.operator_acts[0].event == sim::OperatorAct::Event::acknowledgement_requested);
    CHECK(s.operator_acts[1].event == sim::OperatorAct::Event::time);
    CHECK(s.operator_acts[1].after == proto::seconds(3));
    REQUIRE(s.faults.size() == 2);
    const sim::Fault& f = s.faults[0];
    CHECK(f.on_telegram == 200);
    CHECK(f.times == 4);
    CHECK(f.every == 2);
    CHECK(f.count == 3);
    CHECK(f.field == sim::TelegramField::payload);
    CHECK_FALSE(f.to_device);
    CHECK(f.to_controller);
    CHECK(f.expect_outcome == "safe-state");
    CHECK(f.expect_detected_by == std::vector<std::string>{"integrity", "none"});
    CHECK(f.expect_end == "controller");
    CHECK(s.faults[1].error == sim::ErrorKind::delay);
    CHECK(s.faults[1].extra == proto::milliseconds(40));
    CHECK_FALSE(s.faults[1].keep_order);
    CHECK(s.faults[1].where.key == "fault[2]");
}

TEST_CASE("a neighbour whose implied addresses give the same CRC is refused") {
    // Found by hand: with polynomial 0x1021 and a source of 32 bits, adding a multiple of the polynomial to what is
    // implied leaves the register as it is. 0x11021 is the polynomial itself with its leading term.
    Folder folder;
    folder.write("profiles/plain.toml",
                 "payload = 8\naddress = { presence = \"implied\", bits = 32 }\n"
                 "sequence = { presence = \"carried\", bits = 16 }\ncrc = \"CRC-16/IBM-3740\"\n");
    CHECK(complaint(folder, base) == "");
    const std::string shifted =
        edited(edited(base, "controller_address = \"0x0012\"", "controller_address = \"0x11031\""),
               "device_address = \"0x0023\"", "device_address = \"0x21\"");
    CHECK(complaint(folder, shifted).find("two links with one address") != std::string::npos);
    // Source 0x10 ^ 0x11021 and destination 0x21 ^ 0x11021: both shifted by multiples, so the registers are equal.
    const std::string both = edited(edited(base, "controller_address = \"0x0012\"", "controller_address = \"0x11031\""),
                                    "device_address = \"0x0023\"", "device_address = \"0x11000\"");
    const std::string got = complaint(folder, both);
    CAPTURE(got);
    CHECK(got.find("neighbour.controller_address: ") != std::string::npos);
    CHECK(got.find("give the same CRC in \"plain\"") != std::string::npos);
}

TEST_CASE("files that are no scenario are told in one line") {
    Folder folder;
    const auto message = [&](const std::string& name) {
        const auto read = sim::read_scenario(folder.file(name));
        REQUIRE_FALSE(read.ok());
        CHECK(read.error().line <= 2);
        return read.error().one_line().substr(folder.file("").size());
    };
    folder.write("plant.toml", base);
    CHECK(message("plnt.toml") == "plnt.toml: no such file; nearest: " + folder.file("plant.toml"));
    CHECK(message("profiles").find("profiles: is a folder; name a file in it, for example ") == 0);
    folder.write("empty.toml", "");
    CHECK(message("empty.toml").find("empty.toml: is empty") == 0);
    folder.write("comment.toml", "# nothing\n");
    CHECK(message("comment.toml").find("comment.toml: holds no keys") == 0);
    folder.write("zeros.toml", std::string(100, '\0'));
    CHECK(message("zeros.toml").find("zeros.toml: is not text (byte 0 is 0x00); a scenario is a TOML file") == 0);
    folder.write("latin.toml", "title = \"ok\"\nplant = \"b\xE4r\"\n");
    CHECK(message("latin.toml").find("latin.toml:2: byte 0xE4 is not UTF-8") == 0);
    folder.write("long.toml", std::string(sim::file_bytes_max + 1, '#'));
    CHECK(message("long.toml").find("long.toml: has 1000001 bytes; a scenario has at most 1000000") == 0);
    folder.write("huge.toml", "x");
    fs::resize_file(folder.file("huge.toml"), std::uintmax_t{1} << 30);  // a sparse gigabyte
    CHECK(message("huge.toml").find("huge.toml: is not text (byte 1 is 0x00)") == 0);
    folder.write("key.toml", "\"a\\nb\" = 1\n");
    CHECK(message("key.toml").find("key.toml:1: a?b: unknown key") == 0);
    folder.write("deep.toml", "x = " + std::string(100'000, '['));
    CHECK(message("deep.toml").find("deep.toml:1: ") == 0);
}

TEST_CASE("profiles are read, and wrong ones told") {
    Folder folder;
    const std::string good = plain_profile;
    CHECK(profile_complaint(folder, good) == "");
    CHECK(
        profile_complaint(folder, edited(good, "crc = {", "crc = \"none\" #")).find("exists only in the comparison") !=
        std::string::npos);
    CHECK(profile_complaint(folder, edited(good, "crc = {", "crc = \"CRC-32/ISCS\" #")) ==
          R"(6: crc: "CRC-32/ISCS" is no known CRC; nearest is "CRC-32/ISCSI")");
    CHECK(profile_complaint(folder, edited(good, "0xF4ACFB13", "0xF4ACFB12"))
              .find("6: crc.polynomial: 0xF4ACFB12 is even") == 0);
    CHECK(profile_complaint(folder, edited(good, "0xF4ACFB13", "0x1F4ACFB13")).find("6: crc.polynomial: ") == 0);
    CHECK(profile_complaint(folder, edited(good, "payload = 8", "payload = 250\ncopies = 2")).find("over 300 bytes") !=
          std::string::npos);
    CHECK(
        profile_complaint(folder, edited(good, "bits = 16", "bits = 33")).find("3: address.bits: 33 is out of range") ==
        0);
    CHECK(profile_complaint(folder, good + "x = 1\n").find("7: x: unknown key") == 0);
    const std::string blind = edited(edited(good, "address = { presence = \"carried\", bits = 16 }", ""),
                                     "direction = \"carried\"", "direction = \"absent\"");
    CHECK(profile_complaint(folder, blind).find("direction: nothing tells a sender's own telegram") !=
          std::string::npos);

    folder.write("p.toml", edited(good, "crc = {",
                                  "time_stamp = { bits = 16, unit = \"0.2 ms\" }\nfeedback = true\n"
                                  "zero_as_one = true\ncopies = 2\ncrc = \"CRC-32/ISCSI\" #"));
    const auto read = sim::read_profile(folder.file("p.toml"));
    REQUIRE(read.ok());
    CHECK(read.value().time_stamp_bits == 16);
    CHECK(read.value().time_stamp_unit == proto::microseconds(200));
    CHECK(read.value().feedback);
    CHECK(read.value().zero_as_one);
    CHECK(read.value().copies == 2);
    CHECK(read.value().crc_name == "CRC-32/ISCSI");

    CHECK(sim::kind_of_file(folder.file("p.toml")).value() == sim::FileKind::profile);
    folder.write("plant.toml", base);
    CHECK(sim::kind_of_file(folder.file("plant.toml")).value() == sim::FileKind::scenario);
}

TEST_CASE("an error in a profile names the profile's file") {
    Folder folder;
    folder.write("profiles/plain.toml", "crc = \"CRC-32/ISCSI\"\nsequence = 3\n");
    CHECK(complaint(folder, base) ==
          folder.file("profiles/plain.toml") + ":2: sequence: is a whole number; write a table, [sequence]");
}

TEST_CASE("too many of a kind are refused") {
    Folder folder;
    std::string faults = base;
    for (int i = 0; i < 3999; ++i) faults += "[[fault]]\nway = \"drop\"\nat = \"1 s\"\n";
    CHECK(complaint(folder, faults).find("fault[4001]: is one too many; write at most 4000") != std::string::npos);
    std::string guards = base;
    for (int i = 0; i < 63; ++i) guards += "[[safeguard]]\nat = \"device\"\nname = \"g" + std::to_string(i) + "\"\n";
    CHECK(complaint(folder, guards).find("safeguard[65]: is one too many; write at most 64") != std::string::npos);
}

TEST_CASE("every shipped scenario and profile can be read") {
    unsigned scenarios = 0, profiles = 0, cells = 0, modules = 0;
    for (const auto& entry : fs::recursive_directory_iterator(LINKDRILL_SOURCE_DIR "/scenarios")) {
        if (entry.path().extension() != ".toml") continue;
        if (entry.path().parent_path().filename() == "drills") continue;  // have a reader of their own
        const std::string path = entry.path().string();
        CAPTURE(path);
        const auto kind = sim::kind_of_file(path);
        REQUIRE(kind.ok());
        if (kind.value() == sim::FileKind::profile) {
            ++profiles;
            const auto read = sim::read_profile(path);
            CHECK_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
        } else if (kind.value() == sim::FileKind::module) {
            ++modules;
            const auto read = sim::read_module(path);
            CHECK_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
        } else if (sim::has_several_links(path)) {
            ++cells;
            const auto read = sim::read_cell(path);
            CHECK_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
        } else {
            ++scenarios;
            const auto read = sim::read_scenario(path);
            CHECK_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
        }
    }
    CHECK(scenarios >= 6);
    CHECK(profiles >= 5);
    CHECK(cells >= 2);
    CHECK(modules >= 2);
}

TEST_CASE("every way of a fault belongs to one error and has a name of its own") {
    std::vector<std::string_view> names;
    for (unsigned i = 0; i <= static_cast<unsigned>(sim::FaultWay::loop_back); ++i) {
        const auto way = static_cast<sim::FaultWay>(i);
        CHECK(std::find(names.begin(), names.end(), sim::name_of(way)) == names.end());
        names.push_back(sim::name_of(way));
        CHECK(sim::name_of(sim::error_of(way)) != "?");
    }
    CHECK(sim::error_of(sim::FaultWay::hold) == sim::ErrorKind::incorrect_sequence);
    CHECK(sim::error_of(sim::FaultWay::loop_back) == sim::ErrorKind::addressing);
}
