// Every way in which a scenario can be wrong, as its reader tells it.
#include <doctest/doctest.h>

#include <string>

#include "tests/sim/scenario_fixture.hpp"

namespace {

using scenario_test::base;
using scenario_test::complaint;
using scenario_test::edited;
using scenario_test::Folder;
using scenario_test::line_of;

struct Row {
    const char* from;
    const char* to;
    const char* key;      ///< after the line
    const char* message;  ///< part of it
};

// Each with one edit of `base`.
constexpr Row rows[] = {
    {"watchdog = \"45 ms\"", "watchdog = \"45\"", "link.watchdog", R"("45" has no unit; write "45 ms")"},
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
    {"profile = \"plain\"", "profile = \"plane\"", "link.profile", "write one of plain; linkdrill new --profiles"},
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
     "0x12345 (74565) is too wide for plain; write 0x0 to 0xFFFF"},
    {"address = 0x21", "address = \"0x0010\"", "device.address", "both ends have the address 0x0010"},
    {"address = 0x21", "address = 0x21\nrole = \"drive\"", "device.role", "is none of controller, device"},
    {"peer_address = \"0x0010\"", "peer_address = \"0x54321\"", "device.peer_address",
     "0x54321 (344865) is too wide for plain"},
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
    {R"(["curtain_free", "rope"])", R"(["curtain_free", "roap"])", "signal[2].all_of", "write one of curtain, rope, "},
    {R"(["curtain_free", "rope"])", R"(["curtain", "rope"])", "signal[2].all_of",
     "is read at the device, but this signal is sent by the controller"},
    {R"(["curtain_free", "rope"])", "[\"rope_free\"]", "signal[2].all_of", "is sent by the controller itself"},
    {"[\"curtain\"]", R"(["curtain", "closing"])", "signal[1].all_of", "depends on itself"},
    {R"(["curtain_free", "rope"])", "[]", "signal[2].all_of", "is empty"},
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
    {"outcome = \"safe-state\"", "outcome = \"safestate\"", "fault[1].expect.outcome", "did you mean \"safe-state\"?"},
    {"\"none\"], at", "\"integrty\"], at", "fault[1].expect.detected_by", "did you mean \"integrity\"?"},
    {"at = \"controller\" }", "at = \"middle\" }", "fault[1].expect.at", R"(write "controller" or "device")"},
    {"at = \"5 s\"", "at = \"20 s\"", "fault[2].at", "20 s is after the end of the run"},
    {"lasting = \"0.2 s\"", "", "fault[2].way", "write lasting = \"0.2 s\" for a period of delay"},
    {"extra = \"40 ms\"", "", "fault[2].extra", "is missing; write extra = \"30 ms\""},
    {"[neighbour]", "[neighbor]", "neighbor", "did you mean \"neighbour\"?"},
    {"title = \"Test press\"", "", "title", "is missing"},
    {"title = \"Test press\"", "title = 3", "title", "is a whole number; write a text in quotes"},
    {"duration = \"20 s\"", "duration == 3", "", "see scenarios/README.md"},
};

}  // namespace

TEST_CASE("a wrong scenario is told by line, key and mend") {
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
