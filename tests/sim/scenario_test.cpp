// Reading scenario and profile files: every key, and every way in which a file can be wrong.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>
#include <vector>

#include "sim/judge/result.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/nearest.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/scenario/units.hpp"

namespace fs = std::filesystem;

namespace {

constexpr const char* base = R"(title = "Test press"
shows = "All keys."
plant = "veneer press"
seed = 7
duration = "20 s"
expect_verdict = "pass"
[link]
exchange = "polled"
profile = "plain"
cycle = "10 ms"
watchdog = "45 ms"
payload = 8
claimed_sil = 3
reaction = "discard"
error_interval = "6 min"
byte_order = "high-first"
[controller]
name = "press controller"
address = "0x0010"
[device]
name = "press I/O"
address = 0x21
peer_address = "0x0010"
scan = "2 ms"
phase = "0.7 ms"
device_watchdog = "50 ms"
[neighbour]
name = "press 2"
controller_address = "0x0012"
device_address = "0x0023"
[channel]
delay = "0.4 ms"
loss = 1e-4
keep_order = false
[channel.to_device]
delay = { from = "0.2 ms", to = "0.4 ms" }
[channel.to_controller]
delay = { histogram = [["0.1 ms", "0.3 ms", 10], ["1 ms", "2 ms", 0]] }
bit_error_rate = 1e-9
[[safeguard]]
name = "curtain"
at = "device"
delay = "20 ms"
minimum_hold = "0.2 s"
[[safeguard]]
name = "rope"
at = "controller"
[[signal]]
name = "curtain_free"
direction = "to-controller"
all_of = ["curtain"]
[[signal]]
name = "closing"
direction = "to-device"
all_of = ["curtain_free", "rope"]
[[signal]]
name = "rope_free"
direction = "to-device"
all_of = "rope"
[bits]
curtain_free = "0.0"
closing = "0.1"
rope_free = "0.2"
[device.bits]
closing = "1.7"
[machine]
name = "press"
at = "device"
reaction_delay = "30 ms"
speed = "60 mm/s"
reduced_speed = "0.01 m/s"
braking = "600 mm/s2"
ramp = "0.3 m/s2"
[[machine.reaction]]
signal = "closing"
stop = "category-1"
[required]
to_device = "110 ms"
to_controller = "120 ms"
[[demand]]
safeguard = "curtain"
at = "1 s"
lasting = "0.3 s"
[[operator]]
on = "acknowledgement-requested"
after = "0.3 s"
does = "acknowledge"
[[operator]]
at = "3 s"
does = "start-machine"
[[fault]]
error = "corruption"
way = "random-bits"
count = 3
field = "payload"
direction = "to-controller"
on_telegram = 200
times = 4
every = 2
expect = { outcome = "safe-state", detected_by = ["integrity", "none"], at = "controller" }
[[fault]]
way = "step"
at = "5 s"
lasting = "0.2 s"
extra = "40 ms"
keep_order = false
direction = "both"
)";

constexpr const char* plain_profile = R"(name = "plain"
payload = 8
address = { presence = "carried", bits = 16 }
sequence = { presence = "carried", bits = 16 }
direction = "carried"
crc = { width = 32, polynomial = "0xF4ACFB13", initial = "0xFFFFFFFF", final_xor = "0xFFFFFFFF" }
)";

/// A folder that goes with the test.
class Folder {
  public:
    Folder()
        : path_(fs::temp_directory_path() /
                ("linkdrill_scenario_test_" + std::to_string(reinterpret_cast<std::uintptr_t>(this)))) {
        fs::remove_all(path_);
        fs::create_directories(path_ / "profiles");
        write("profiles/plain.toml", plain_profile);
    }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    ~Folder() {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }
    void write(const std::string& name, std::string_view text) const {
        std::ofstream(path_ / name, std::ios::binary) << text;
    }

  private:
    fs::path path_;
};

/// `text` with the first `from` replaced, which must be there.
std::string edited(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    REQUIRE_MESSAGE(at != std::string::npos, from);
    return text.replace(at, from.size(), to);
}

int line_of(const std::string& text, const std::string& part) {
    const std::size_t at = text.find(part);
    REQUIRE_MESSAGE(at != std::string::npos, part);
    return 1 + static_cast<int>(std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n'));
}

/// "LINE: key: message" of a scenario text, without the file; empty if it is right.
std::string complaint(const Folder& folder, const std::string& text) {
    folder.write("plant.toml", text);
    const auto read = sim::read_scenario(folder.file("plant.toml"));
    if (read) return "";
    const std::string line = read.error().one_line();
    CHECK(line.find('\n') == std::string::npos);
    return line.starts_with(folder.file("plant.toml:")) ? line.substr(folder.file("plant.toml:").size()) : line;
}

std::string profile_complaint(const Folder& folder, const std::string& text) {
    folder.write("p.toml", text);
    const auto read = sim::read_profile(folder.file("p.toml"));
    return read ? "" : read.error().one_line().substr(folder.file("p.toml:").size());
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
    CHECK(sim::looks_like("wachdog", "watchdog"));
    CHECK_FALSE(sim::looks_like("colour", "watchdog"));
}

TEST_CASE("every key of a scenario arrives") {
    Folder folder;
    folder.write("plant.toml", base);
    const auto read = sim::read_scenario(folder.file("plant.toml"));
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    const sim::Scenario& s = read.value();
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

TEST_CASE("a wrong scenario is told by line, key and mend") {
    struct Row {
        const char* from;
        const char* to;
        const char* key;      ///< after the line
        const char* message;  ///< part of it
    };
    const Row rows[] = {
        {"watchdog = \"45 ms\"", "watchdog = \"45\"", "link.watchdog", "\"45\" has no unit; write \"45 ms\""},
        {"watchdog = \"45 ms\"", "watchdog = 45", "link.watchdog", "45 has no unit; write \"45 ms\""},
        {"watchdog = \"45 ms\"", "watchdog = \"-45 ms\"", "link.watchdog", "-45 ms is negative; write \"45 ms\""},
        {"watchdog = \"45 ms\"", "watchdog = \"8 ms\"", "link.watchdog",
         "8 ms is under the cycle (10 ms); write \"20 ms\" or more"},
        {"watchdog = \"45 ms\"", "watchdog = \"10 ms\"", "link.watchdog", "10 ms is only the cycle"},
        {"watchdog = \"45 ms\"", "wachdog = \"45 ms\"", "link.wachdog", "unknown key; did you mean \"watchdog\"?"},
        {"watchdog = \"45 ms\"", "watchdog = \"45 parsec\"", "link.watchdog", "unknown unit; write one of ns, us, ms"},
        {"cycle = \"10 ms\"", "cycle = \"10.0000001 ms\"", "link.cycle", "finer than 1 ns"},
        {"cycle = \"10 ms\"", "cycle = \"50 us\"", "link.cycle", "not within 0.1 ms to 10 s"},
        {"exchange = \"polled\"", "exchange = \"poled\"", "link.exchange", "did you mean \"polled\"?"},
        {"profile = \"plain\"", "profile = \"plane\"", "link.profile", "nearest is \"plain\""},
        {"payload = 8", "payload = 251", "link.payload", "out of range; write 1 to 250"},
        {"claimed_sil = 3", "claimed_sil = 5", "link.claimed_sil", "write 1 to 4"},
        {"claimed_sil = 3", "missing_allowed = 1", "link.missing_allowed", "means nothing in a polled link"},
        {"claimed_sil = 3", "max_lag = 3", "link.max_lag", "means nothing in a polled link"},
        {"claimed_sil = 3", "max_age = \"3 ms\"", "link.max_age", "has no time stamp"},
        {"seed = 7", "seed = -7", "seed", "-7 is out of range; write 0x0 to 0x7FFF"},
        {"duration = \"20 s\"", "duration = \"0 s\"", "duration", "0 is too short"},
        {"duration = \"20 s\"", "duration = \"25 h\"", "duration", "write \"24 h\" or less"},
        {"expect_verdict = \"pass\"", "expect_verdict = \"past\"", "expect_verdict", "did you mean \"pass\"?"},
        {"address = 0x21", "address = \"0x12345\"", "device.address",
         "0x12345 is too wide for plain; write 0x0 to 0xFFFF"},
        {"address = 0x21", "address = \"0x0010\"", "device.address", "both ends have the address 0x0010"},
        {"peer_address = \"0x0010\"", "peer_address = \"0x0021\"", "device.peer_address",
         "both ends have the address 0x0021"},
        {"peer_address = \"0x0010\"", "peer_address = \"0x54321\"", "device.peer_address",
         "0x54321 is too wide for plain"},
        {"address = 0x21", "address = \"12x\"", "device.address", "is no number; write 0x0"},
        {"phase = \"0.7 ms\"", "phase = \"2 ms\"", "device.phase", "not within a scan; write less than \"2 ms\""},
        {"device_address = \"0x0023\"", "device_address = \"0x0021\"", "neighbour.device_address",
         "two links with one address"},
        {"device_address = \"0x0023\"", "device_address = \"0x0012\"", "neighbour.device_address",
         "both ends of the neighbour"},
        {"loss = 1e-4", "loss = 1.5", "channel.loss", "no probability; write 0 to 1"},
        {"loss = 1e-4", "loss = nan", "channel.loss", "no probability"},
        {"from = \"0.2 ms\"", "from = \"0.6 ms\"", "channel.to_device.delay.from", "is after to"},
        {"\"0.3 ms\", 10]", "\"0.3 ms\", 0]", "channel.to_controller.delay.histogram", "no cell with a weight over 0"},
        {"[[\"0.1 ms\"", "[[\"-0.1 ms\"", "channel.to_controller.delay.histogram[1]", "is negative"},
        {"\"0.3 ms\", 10]", "\"0.3 ms\", -1]", "channel.to_controller.delay.histogram[1]", "is no weight"},
        {"name = \"rope\"", "name = \"curtain\"", "safeguard[2].name", "is taken (line"},
        {"name = \"closing\"", "name = \"curtain_free\"", "signal[2].name", "is taken (line"},
        {"[\"curtain_free\", \"rope\"]", "[\"curtain_free\", \"roap\"]", "signal[2].all_of", "nearest is \"rope\""},
        {"[\"curtain_free\", \"rope\"]", "[\"curtain\", \"rope\"]", "signal[2].all_of",
         "is read at the device, but this signal is sent by the controller"},
        {"[\"curtain_free\", \"rope\"]", "[\"rope_free\"]", "signal[2].all_of", "is sent by the controller itself"},
        {"[\"curtain\"]", "[\"curtain\", \"closing\"]", "signal[1].all_of", "depends on itself"},
        {"[\"curtain_free\", \"rope\"]", "[]", "signal[2].all_of", "is empty"},
        {"rope_free = \"0.2\"", "rope_free = \"0.1\"", "bits.rope_free",
         "byte 0 bit 1 is taken by closing (line 62); \"0.0\" is free"},
        {"rope_free = \"0.2\"", "rope_free = \"8.0\"", "bits.rope_free",
         "outside the payload of 8 bytes; write a byte of 0 to 7"},
        {"rope_free = \"0.2\"", "rope_free = \"0.8\"", "bits.rope_free", "with a bit of 0 to 7"},
        {"rope_free = \"0.2\"", "rope_fre = \"0.2\"", "bits.rope_fre", "is no signal; nearest is \"rope_free\""},
        {"rope_free = \"0.2\"", "", "signal[3]", "has no bit at the controller"},
        {"signal = \"closing\"", "signal = \"closin\"", "machine.reaction[1].signal", "nearest is \"closing\""},
        {"signal = \"closing\"", "signal = \"curtain_free\"", "machine.reaction[1].signal",
         "is not received at the device"},
        {"ramp = \"0.3 m/s2\"", "", "machine.reaction[1].stop", "needs ramp in [machine]"},
        {"speed = \"60 mm/s\"", "speed = \"0 mm/s\"", "machine.speed", "write more than 0"},
        {"reduced_speed = \"0.01 m/s\"", "reduced_speed = \"60 mm/s\"", "machine.reduced_speed",
         "not below the full speed"},
        {"safeguard = \"curtain\"", "safeguard = \"curtian\"", "demand[1].safeguard",
         "is no safeguard; nearest is \"curtain\""},
        {"at = \"1 s\"", "at = \"20 s\"", "demand[1].at", "is after the end of the run"},
        {"at = \"3 s\"\ndoes", "does", "operator[2].on", "exactly one of on and at"},
        {"way = \"random-bits\"", "way = \"drop\"", "fault[1].way",
         "is a way of loss, not of corruption; write one of flip-bits"},
        {"way = \"random-bits\"", "way = \"random-bit\"", "fault[1].way", "did you mean \"random-bits\"?"},
        {"error = \"corruption\"\nway = \"random-bits\"", "error = \"delay\"\nway = \"hold\"", "fault[1].error",
         "a polled link rides through one late telegram"},
        {"on_telegram = 200", "on_telegram = 90000", "fault[1].on_telegram",
         "90000 never comes; write 1 to 2001, or lengthen duration"},
        {"on_telegram = 200", "on_telegram = 0", "fault[1].on_telegram", "0 never comes"},
        {"on_telegram = 200", "at = \"1 s\"\non_telegram = 200", "fault[1].at",
         "exactly one of at, on_telegram, after_demand"},
        {"times = 4", "times = 0", "fault[1].times", "out of range; write 1 to"},
        {"times = 4", "times = 4\nlasting = \"1 s\"", "fault[1].times", "only one of times and lasting"},
        {"count = 3", "count = 3\nback = 200", "fault[1].back", "200 is out of range; write 1 to 127"},
        {"count = 3", "count = 3\nback = 2", "fault[1].back", "means nothing with way = \"random-bits\""},
        {"count = 3", "count = 99", "fault[1].count", "write 1 to 64"},
        {"count = 3", "conut = 3", "fault[1].conut", "did you mean \"count\"?"},
        {"outcome = \"safe-state\"", "outcome = \"safestate\"", "fault[1].expect.outcome",
         "did you mean \"safe-state\"?"},
        {"\"none\"], at", "\"integrty\"], at", "fault[1].expect.detected_by", "did you mean \"integrity\"?"},
        {"at = \"controller\" }", "at = \"middle\" }", "fault[1].expect.at", "write \"controller\" or \"device\""},
        {"at = \"5 s\"", "at = \"20 s\"", "fault[2].at", "20 s is after the end of the run"},
        {"lasting = \"0.2 s\"", "", "fault[2].way", "write lasting = \"0.2 s\" for a period of delay"},
        {"extra = \"40 ms\"", "", "fault[2].extra", "is missing; write extra = \"30 ms\""},
        {"[neighbour]", "[neighbor]", "neighbor", "did you mean \"neighbour\"?"},
        {"title = \"Test press\"", "", "title", "is missing"},
        {"title = \"Test press\"", "title = 3", "title", "is an integer; write a string"},
        {"duration = \"20 s\"", "duration == 3", "", "see scenarios/README.md"},
    };
    Folder folder;
    for (const Row& row : rows) {
        const std::string text = edited(base, row.from, row.to);
        const std::string got = complaint(folder, text);
        CAPTURE(std::string(row.to));
        CAPTURE(got);
        const std::size_t colon = got.find(": ");
        REQUIRE(colon != std::string::npos);
        CHECK(got.substr(colon + 2).starts_with(*row.key != '\0' ? std::string(row.key) + ": " : std::string()));
        CHECK(got.find(row.message) != std::string::npos);
    }
}

TEST_CASE("a message names the line of the key") {
    Folder folder;
    const std::string text = edited(base, "phase = \"0.7 ms\"", "phase = \"3\"");
    const std::string expected = std::to_string(line_of(text, "phase = \"3\"")) + ": device.phase: ";
    CHECK(complaint(folder, text).starts_with(expected));
    const std::string fault = edited(base, "times = 4", "times = 0");
    CHECK(complaint(folder, fault).starts_with(std::to_string(line_of(fault, "times = 0")) + ": fault[1].times: "));
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
          "6: crc: \"CRC-32/ISCS\" is no known CRC; nearest is \"CRC-32/ISCSI\"");
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
          folder.file("profiles/plain.toml") + ":2: sequence: is an integer; write a table, [sequence]");
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
    unsigned scenarios = 0, profiles = 0;
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
        } else {
            ++scenarios;
            const auto read = sim::read_scenario(path);
            CHECK_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
        }
    }
    CHECK(scenarios >= 6);
    CHECK(profiles >= 5);
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
