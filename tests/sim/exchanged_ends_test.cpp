// Ends taken for each other when they were typed: addresses exchanged or alike, and roles. The link never starts; what
// each end shows is what the rules make of it, and the check says which setting it was.
#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <numeric>
#include <string>
#include <string_view>
#include <utility>

#include "sim/drive/cell_rehearsal.hpp"
#include "sim/drive/rehearsal.hpp"
#include "sim/reading/read.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "sim/studies/cell_check.hpp"
#include "sim/studies/cross_check.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::End;
using proto::Refusal;
using proto::State;

std::string text_of(const std::string& path) {
    std::ifstream in(path);
    return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}
const std::string press = LINKDRILL_SOURCE_DIR "/scenarios/veneer_press/all_errors.toml";
const std::string line = LINKDRILL_SOURCE_DIR "/scenarios/glass_line/cell.toml";

/// A text with one piece replaced, which must be there.
std::string with(std::string text, std::string_view old, std::string_view now) {
    const std::size_t at = text.find(old);
    REQUIRE(at != std::string::npos);
    return text.replace(at, old.size(), now);
}

std::uint64_t rejected(const sim::EndShown& end) {
    return std::accumulate(std::begin(end.counters.rejected), std::end(end.counters.rejected), std::uint64_t{0});
}

/// It never started, says so, and nothing is better than that.
void check_never_started(const sim::RunResult& seen) {
    CHECK_FALSE(seen.link_started);
    CHECK(seen.verdict == sim::RunVerdict::fail);
    CHECK(seen.dangerous.empty());
    CHECK_FALSE(seen.machine_started);
    CHECK(seen.controller.state == State::start_up);
    CHECK(seen.device.state == State::start_up);
    CHECK(seen.controller.counters.accepted == 0);
    CHECK(seen.device.counters.accepted == 0);
}

}  // namespace

TEST_CASE("own and other address exchanged at one end: both ends refuse, by the controller's address") {
    for (sim::Scenario s : {tests::polled_link(), tests::streaming_link()}) {
        for (const End end : {End::controller, End::device}) {
            sim::Scenario wrong = s;
            proto::LinkSettings& link = end == End::device ? wrong.device.link : wrong.controller.link;
            std::swap(link.own_address, link.peer_address);
            const sim::RunResult seen = sim::rehearse(wrong, 1);
            check_never_started(seen);
            CHECK(seen.controller.refusal == Refusal::controller_address);
            CHECK(seen.device.refusal == Refusal::controller_address);
            CHECK(seen.controller.counters.received > 0);  // it is answered, by refusals

            const sim::CrossCheck check = sim::cross_check(wrong);
            REQUIRE(check.differences.size() == 1);
            CHECK(check.differences[0].setting == "own and other address");
            CHECK(check.differences[0].controller == check.differences[0].device);
            CHECK(check.differences[0].mend.find("see the design") != std::string::npos);
            CHECK_FALSE(check.signature);
        }
    }
}

TEST_CASE("an end with the other one's address for its own: the mend is at that end") {
    sim::Scenario at_device = tests::polled_link();
    const std::uint32_t c = at_device.controller.link.own_address, d = at_device.device.link.own_address;
    at_device.device.link.own_address = c;  // and it rightly takes the controller to have it too
    const sim::RunResult seen = sim::rehearse(at_device, 1);
    check_never_started(seen);
    CHECK(seen.controller.refusal == Refusal::device_address);
    CHECK(seen.device.refusal == Refusal::device_address);
    const sim::CrossCheck check = sim::cross_check(at_device);
    REQUIRE(check.differences.size() == 1);
    CHECK(check.differences[0].mend.starts_with(at_device.device.name + ": 0x0202 (514), as "));

    sim::Scenario at_controller = tests::polled_link();
    at_controller.controller.link.own_address = d;
    const sim::RunResult other = sim::rehearse(at_controller, 1);
    check_never_started(other);
    CHECK(other.device.refusal == Refusal::controller_address);
    const sim::CrossCheck controller_check = sim::cross_check(at_controller);
    REQUIRE(controller_check.differences.size() == 1);
    CHECK(controller_check.differences[0].mend.starts_with(at_controller.controller.name + ": 0x0101 (257), as "));
}

TEST_CASE("two controllers ask and reject each other's offers, two devices wait for ever") {
    for (const sim::Scenario& s : {tests::polled_link(), tests::streaming_link()}) {
        sim::Scenario two_controllers = s;
        two_controllers.device.role = End::controller;
        two_controllers.device.link.scan = proto::milliseconds(4);
        const sim::RunResult asking = sim::rehearse(two_controllers, 1);
        check_never_started(asking);
        for (const sim::EndShown* end : {&asking.controller, &asking.device}) {
            CHECK(end->refusal == Refusal::none);
            // an offer in every cycle of 10 ms, at the device too, whatever its own scan is
            CHECK(end->counters.sent >= 199);
            CHECK(end->counters.sent <= 201);
            const auto authentication = static_cast<unsigned>(proto::Measure::authentication);
            CHECK(end->counters.rejected[authentication] == end->counters.received);
            CHECK(end->counters.received >= 198);
        }

        sim::Scenario two_devices = s;
        two_devices.controller.role = End::device;
        const sim::RunResult waiting = sim::rehearse(two_devices, 1);
        check_never_started(waiting);
        for (const sim::EndShown* end : {&waiting.controller, &waiting.device}) {
            CHECK(end->refusal == Refusal::none);
            CHECK(end->counters.sent == 0);
            CHECK(end->counters.received == 0);
            CHECK(rejected(*end) == 0);
        }
    }
}

TEST_CASE("a role is compared where it was typed, and a wrong one is the first thing to mend") {
    sim::Scenario s = tests::polled_link();
    const std::uint64_t compared = sim::cross_check(s).compared;
    s.device.role = End::device;
    CHECK(sim::cross_check(s).compared == compared + 1);
    CHECK(sim::cross_check(s).differences.empty());
    s.device.role = End::controller;
    s.device.link.watchdog = proto::milliseconds(80);
    const sim::CrossCheck check = sim::cross_check(s);
    REQUIRE(check.differences.size() == 2);
    CHECK(check.differences[0].setting == "role of " + s.device.name);
    CHECK(check.differences[0].controller == "device");
    CHECK(check.differences[0].device == "controller");
    CHECK(check.differences[0].mend == s.device.name + ": device");
    CHECK(check.differences[0].mend_at == sim::MendAt::device);
    CHECK(check.differences[0].seen_at_controller.find("rejected by address") != std::string::npos);
    s.device.role.reset();
    s.controller.role = End::device;
    const sim::CrossCheck waiting = sim::cross_check(s);
    CHECK(waiting.differences[0].mend == s.controller.name + ": controller");
    CHECK(waiting.differences[0].seen_at_device.find("no offer of parameters") != std::string::npos);
}

TEST_CASE("such files are read, and what does not say what was meant, or runs exchanged, is refused") {
    const std::string text = text_of(press);
    const auto exchanged =
        sim::scenario_in(with(text, "address = \"0x0021\"", "address = \"0x0010\"\npeer_address = \"0x0021\""), press);
    // the controller's peer follows the device's own address, unless it is typed
    REQUIRE(exchanged.ok());
    const std::string typed =
        with(with(text, "address = \"0x0010\"", "address = \"0x0010\"\npeer_address = \"0x0021\""),
             "\naddress = \"0x0021\"", "\naddress = \"0x0010\"");
    REQUIRE(sim::scenario_in(typed, press).ok());
    const auto alike = sim::scenario_in(with(text, "address = \"0x0021\"", "address = \"0x0010\""), press);
    REQUIRE_FALSE(alike.ok());
    CHECK(alike.error().message.find("peer_address") != std::string::npos);

    const std::string one_role = with(text, "address = \"0x0021\"", "address = \"0x0021\"\nrole = \"controller\"");
    const auto role = sim::scenario_in(one_role, press);
    REQUIRE(role.ok());
    CHECK(role.value().device.role == End::controller);
    CHECK(role.value().device.link.end == End::device);
    const auto both =
        sim::scenario_in(with(one_role, "address = \"0x0010\"", "address = \"0x0010\"\nrole = \"device\""), press);
    REQUIRE_FALSE(both.ok());
    CHECK(both.error().key == "device.role");
    const auto word = sim::scenario_in(with(one_role, "role = \"controller\"", "role = \"host\""), press);
    CHECK_FALSE(word.ok());
}

TEST_CASE("in a cell the controller's address on its other links tells which end was mistyped") {
    const std::string text = with(text_of(line), "name = \"table drive\"\naddress = \"0x0113\"",
                                  "name = \"table drive\"\naddress = \"0x0101\"\npeer_address = \"0x0113\"");
    // the controller has them as meant
    const std::string whole =
        with(text, "[link.device]\nname = \"table drive\"",
             "[link.controller]\npeer_address = \"0x0113\"\n[link.device]\nname = \"table drive\"");
    const auto read = sim::cell_in(whole, line);
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    const sim::CellCheck check = sim::check_cell(read.value());
    CHECK_FALSE(check.ok());
    REQUIRE(check.ends[2].differences.size() == 1);
    CHECK(
        check.ends[2].differences[0].mend.starts_with("table drive: address 0x0113 (275), peer_address 0x0101 (257);"));
    const sim::CellResult result = sim::rehearse_cell(read.value(), 23);
    CHECK(result.verdict == sim::RunVerdict::fail);
    CHECK(result.links[0].link_started);
    CHECK(result.links[1].link_started);
    CHECK_FALSE(result.links[2].link_started);
    CHECK(result.links[2].device.refusal == Refusal::controller_address);

    // at the controller, for that link alone
    const auto other = sim::cell_in(with(text_of(line), "[link.device]\nname = \"table drive\"",
                                         "[link.controller]\naddress = \"0x0113\"\npeer_address = \"0x0101\"\n"
                                         "[link.device]\npeer_address = \"0x0101\"\nname = \"table drive\""),
                                    line);
    REQUIRE(other.ok());
    const sim::CellCheck at_controller = sim::check_cell(other.value());
    REQUIRE(at_controller.ends[2].differences.size() == 1);
    CHECK(at_controller.ends[2].differences[0].mend.starts_with(
        "line controller: address 0x0101 (257), peer_address 0x0113 (275);"));
}

TEST_CASE("in a cell a drive that was told to be the controller keeps its own link from starting and no other") {
    const auto read = sim::cell_in(
        with(text_of(line), "name = \"bridge drive\"\n", "name = \"bridge drive\"\nrole = \"controller\"\n"), line);
    REQUIRE(read.ok());
    const sim::CellResult result = sim::rehearse_cell(read.value(), 23);
    CHECK(result.verdict == sim::RunVerdict::fail);
    CHECK(result.links[0].link_started);
    check_never_started(result.links[1]);
    CHECK(result.links[2].link_started);
    CHECK(result.links[1].controller.counters.received > 0);
    CHECK_FALSE(sim::check_cell(read.value()).ok());
}
