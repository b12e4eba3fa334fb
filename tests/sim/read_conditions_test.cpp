// What may stand in [[fault]] about conditions and begins, and the keys of the plant that conditions and safeguards
// need.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace {

namespace fs = std::filesystem;
using proto::milliseconds;
using proto::seconds;
using sim::FaultCondition;

/// The parts of a file that a test may replace.
struct Parts {
    std::string guard = {}, machine = "travel = \"400 mm\"\ntravel_angle = \"80 deg\"\n";
    std::string rest = {};
    bool with_machine = true;
};

proto::Result<sim::Scenario, sim::FileError> read(const Parts& parts) {
    const fs::path folder = fs::temp_directory_path() / "linkdrill_read_conditions_test";
    fs::create_directories(folder);
    const std::string file = (folder / "plant.toml").string();
    std::ofstream out(file);
    out << "title = \"t\"\nduration = \"5 s\"\n[link]\nexchange = \"polled\"\nprofile = \"" << LINKDRILL_SOURCE_DIR
        << "/scenarios/profiles/crc32_carried.toml\"\ncycle = \"10 ms\"\nwatchdog = \"45 ms\"\n"
        << "[controller]\naddress = 1\n[device]\naddress = 2\n"
        << "[[safeguard]]\nname = \"door\"\nat = \"controller\"\n"
        << parts.guard << "[[safeguard]]\nname = \"rope\"\nat = \"controller\"\n[[signal]]\nname = \"go\"\n"
        << "direction = \"to-device\"\nall_of = [\"door\", \"rope\"]\n[bits]\ngo = \"0.0\"\n"
        << "[[demand]]\nsafeguard = \"door\"\nat = \"3 s\"\n[[demand]]\nsafeguard = \"door\"\nat = \"2 s\"\n";
    if (parts.with_machine)
        out << "[machine]\nspeed = \"1 m/s\"\nramp = \"1 m/s2\"\n"
            << parts.machine << "[[machine.reaction]]\nsignal = \"go\"\nstop = \"category-1\"\n";
    out << parts.rest;
    out.close();
    auto result = sim::read_scenario(file);
    std::error_code ignored;
    fs::remove_all(folder, ignored);
    return result;
}

/// What is wrong, "fault[1].key: message"; empty if nothing is.
std::string complaint(const Parts& parts) {
    const auto got = read(parts);
    if (got) return "";
    const std::string line = got.error().one_line();
    CHECK(line.find('\n') == std::string::npos);
    CHECK(line.find("plant.toml:") != std::string::npos);
    return line.substr(line.find(": ") + 2);
}

Parts drop(const std::string& keys, const std::string& begin = "at = \"1 s\"\n") {
    Parts parts;
    parts.rest = "[[fault]]\nway = \"drop\"\n" + begin + keys;
    return parts;
}
Parts end_fault(const std::string& keys) {
    Parts parts;
    parts.rest = "[[fault]]\nway = \"stall\"\nat_end = \"device\"\nlasting = \"20 ms\"\n" + keys;
    return parts;
}
Parts without_machine(Parts parts) {
    parts.with_machine = false;
    return parts;
}
Parts with_machine_keys(Parts parts, const std::string& keys) {
    parts.machine = keys;
    return parts;
}
Parts door(const std::string& keys, const std::string& rest = "") {
    Parts parts;
    parts.guard = keys;
    parts.rest = rest;
    return parts;
}

sim::Fault fault_of(const Parts& parts) {
    const auto got = read(parts);
    REQUIRE_MESSAGE(got.ok(), (got.ok() ? "" : got.error().one_line()));
    return got.value().faults.at(0);
}

TEST_CASE("every condition arrives") {
    const sim::Fault fault = fault_of(
        drop("while = \"awaiting-acknowledgement\"\nwhile_end = \"device\"\nwhile_machine = \"still\"\n"
             "from_position = \"50 mm\"\nto_position = \"20 deg\"\nuntil = \"acknowledged\"\nlasting = \"1 s\"\n"));
    CHECK(fault.when.state == proto::State::awaiting_acknowledgement);
    CHECK(fault.when.state_of == proto::End::device);
    CHECK(fault.when.machine == FaultCondition::Motion::still);
    REQUIRE(fault.when.position);
    CHECK(fault.when.position->from_um == 50'000);
    CHECK(fault.when.position->to_um == 100'000);  // 20 of 80 degrees are a quarter of 400 mm
    CHECK(fault.when.until == FaultCondition::Event::acknowledged);
    CHECK(fault.when.any());
    CHECK(fault_of(drop("while = \"start-up\"\nwhile_end = \"controller\"\n")).when.state == proto::State::start_up);
    CHECK(fault_of(drop("while = \"running\"\nwhile_end = \"controller\"\n")).when.state_of == proto::End::controller);
    CHECK(fault_of(drop("while_machine = \"moving\"\nuntil = \"machine-still\"\n")).when.until ==
          FaultCondition::Event::machine_still);
    CHECK(fault_of(drop("until = \"safe-state\"\ntimes = 3\n")).when.until == FaultCondition::Event::safe_state);
    CHECK_FALSE(fault_of(drop("")).when.any());
    CHECK(fault_of(end_fault("at = \"1 s\"\nwhile_machine = \"moving\"\n")).when.machine ==
          FaultCondition::Motion::moving);
}

TEST_CASE("a begin around the first demand on a safeguard becomes a time") {
    CHECK(fault_of(drop("", "after_demand = \"door\"\noffset = \"3 ms\"\n")).at == milliseconds(2003));
    CHECK(fault_of(drop("", "before_demand = \"door\"\noffset = \"3 ms\"\n")).at == milliseconds(1997));
    CHECK(fault_of(drop("", "after_demand = \"door\"\n")).at == seconds(2));
    CHECK(fault_of(end_fault("after_demand = \"door\"\noffset = \"1 ms\"\n")).at == milliseconds(2001));
    const std::string one_of = "fault[1].at: exactly one of at, on_telegram, after_demand and before_demand is needed";
    CHECK(complaint(drop("", "")).find(one_of) == 0);
    CHECK(complaint(drop("after_demand = \"door\"\n")).find(one_of) == 0);
    CHECK(complaint(drop("", "on_telegram = 3\nbefore_demand = \"door\"\n")).find(one_of) == 0);
    CHECK(complaint(end_fault("at = \"1 s\"\nafter_demand = \"door\"\n")) ==
          "fault[1].at: says the begin a second time; take it away, or the demand and its offset");
    CHECK(complaint(end_fault("before_demand = \"door\"\nafter_demand = \"door\"\n")) ==
          "fault[1].before_demand: only one of after_demand and before_demand is possible; take one away");
    CHECK(complaint(drop("offset = \"3 ms\"\n")) ==
          "fault[1].offset: counts from a demand; write after_demand = \"front_curtain\", or take the offset away");
    CHECK(complaint(drop("", "after_demand = \"rope\"\n")) ==
          "fault[1].after_demand: \"rope\" is never demanded; write a [[demand]] on it");
    CHECK(complaint(drop("", "after_demand = \"dor\"\n")) ==
          R"(fault[1].after_demand: "dor" is no safeguard; nearest is "door")");
    CHECK(complaint(drop("", "before_demand = \"door\"\noffset = \"2.1 s\"\n")) ==
          "fault[1].offset: is before the start of the run; write \"2 s\" or less");
    CHECK(complaint(drop("", "after_demand = \"door\"\noffset = \"3 s\"\n")) ==
          "fault[1].offset: leads to 5 s, after the end of the run; write a shorter one, or lengthen duration");
}

TEST_CASE("conditions that make no sense are told in one line with the mend") {
    CHECK(complaint(drop("while = \"stopped\"\nwhile_end = \"device\"\n"))
              .find("fault[1].while: \"stopped\" is none of start-up, running, safe-state, awaiting-acknowledgement") ==
          0);
    CHECK(complaint(drop("while = \"running\"\n")) ==
          R"(fault[1].while_end: is missing; write while_end = "controller" or "device")");
    CHECK(complaint(drop("while_end = \"device\"\n")) ==
          "fault[1].while_end: says whose state while means; write while = \"running\", or take it away");
    const std::string no_machine = ": there is no machine; write a table [machine]";
    CHECK(complaint(without_machine(drop("while_machine = \"moving\"\n"))) == "fault[1].while_machine" + no_machine);
    CHECK(complaint(without_machine(drop("until = \"machine-still\"\n"))) == "fault[1].until" + no_machine);
    const std::string span = "from_position = \"10 mm\"\nto_position = \"20 mm\"\n";
    CHECK(complaint(without_machine(drop(span))) == "fault[1].from_position" + no_machine);
    CHECK(complaint(with_machine_keys(drop(span), "")) ==
          "fault[1].from_position: needs travel in [machine]; write travel = \"400 mm\" there");
    CHECK(complaint(drop("from_position = \"10 mm\"\n")) ==
          "fault[1].to_position: is missing; write to_position = \"200 mm\"");
    CHECK(complaint(drop("to_position = \"10 mm\"\n")) ==
          "fault[1].from_position: is missing; write from_position = \"0 mm\"");
    CHECK(complaint(drop("from_position = \"20 mm\"\nto_position = \"20 mm\"\n")) ==
          "fault[1].to_position: is not beyond from_position; write the end nearer to 0 as from_position");
    CHECK(complaint(drop("from_position = \"20 mm\"\nto_position = \"401 mm\"\n")) ==
          "fault[1].to_position: \"401 mm\" is beyond the machine's travel; write less, or a longer travel there");
    CHECK(complaint(drop("from_position = \"20 deg\"\nto_position = \"81 deg\"\n")) ==
          "fault[1].to_position: \"81 deg\" is beyond the machine's travel; write less, or a longer travel there");
    CHECK(complaint(with_machine_keys(drop("from_position = \"0 deg\"\nto_position = \"9 deg\"\n"),
                                      "travel = \"400 mm\"\n")) ==
          "fault[1].from_position: is an angle, and the machine does not turn; write a length such as \"200 mm\", or "
          "travel_angle = \"60 deg\" in [machine]");
    CHECK(complaint(drop("while_machine = \"still\"\nuntil = \"machine-still\"\n"))
              .find("fault[1].until: ends the fault when the machine comes to stand") == 0);
    CHECK(complaint(drop("while = \"safe-state\"\nwhile_end = \"device\"\nuntil = \"safe-state\"\n")) ==
          "fault[1].until: ends the fault with the safe state, which while waits for; write until = \"acknowledged\", "
          "or take one away");
    CHECK(complaint(drop("until = \"5 s\"\n")).find("fault[1].until: \"5 s\" is none of safe-state") == 0);
    for (const char* key : {"while = \"running\"", "while_end = \"device\"", "from_position = \"1 mm\"",
                            "to_position = \"1 mm\"", "until = \"acknowledged\""}) {
        const std::string line(key);
        CHECK(complaint(end_fault("at = \"1 s\"\n" + line + "\n")) ==
              "fault[1]." + line.substr(0, line.find(' ')) + ": means nothing for a fault of an end; take it away");
    }
    CHECK(complaint(end_fault("at = \"1 s\"\nwhile_machine = \"still\"\n")) ==
          "fault[1].while_machine: a fault of an end can wait until the machine moves, not until it stands; write "
          "\"moving\"");
}

TEST_CASE("a fault of an end that waits may come at any time: another of its kind after it is refused") {
    Parts parts = end_fault("at = \"1 s\"\nwhile_machine = \"moving\"\n");
    parts.rest += "[[fault]]\nway = \"stall\"\nat_end = \"device\"\nlasting = \"20 ms\"\nat = \"4 s\"\n";
    CHECK(complaint(parts).find("fault[2].at: another stall of that end (line ") == 0);
}

TEST_CASE("the machine's travel arrives, and wrong ones are told") {
    const auto got = read({});
    REQUIRE(got);
    CHECK(got.value().machine->travel_um == 400'000);
    CHECK(got.value().machine->travel_angle_mdeg == 80'000);
    CHECK(complaint(with_machine_keys({}, "travel_angle = \"80 deg\"\n")) ==
          "machine.travel_angle: needs the way of the point whose speed counts over that angle; write travel = \"400 "
          "mm\"");
    CHECK(complaint(with_machine_keys({}, "travel = \"400 mm\"\ntravel_angle = \"361 deg\"\n")) ==
          "machine.travel_angle: is more than a turn; write \"360 deg\" or less");
    CHECK(complaint(with_machine_keys({}, "travel = \"0 mm\"\n")) ==
          R"(machine.travel: "0 mm" is too small; write more than 0, such as "400 mm")");
    CHECK(complaint(with_machine_keys({}, "travel = \"400\"\n")).find("machine.travel: \"400\" has no unit") == 0);
}

TEST_CASE("the keys of a safeguard arrive, and wrong ones are told") {
    const auto got =
        read(door("channels = 2\ndiscrepancy = \"30 ms\"\nlatched = true\nminimum_hold = \"7 ms\"\n",
                  "[[demand]]\nsafeguard = \"door\"\nat = \"1 s\"\nchannel = \"b\"\n[[operator]]\nat = \"4 s\"\n"
                  "does = \"reset\"\nsafeguard = \"door\"\n"));
    REQUIRE_MESSAGE(got.ok(), (got.ok() ? "" : got.error().one_line()));
    const sim::Safeguard& guard = got.value().safeguards.at(0);
    CHECK(guard.channels == 2);
    CHECK(guard.discrepancy == milliseconds(30));
    CHECK(guard.latched);
    CHECK(guard.minimum_hold == milliseconds(7));
    CHECK(got.value().safeguards.at(1).channels == 1);
    CHECK_FALSE(got.value().safeguards.at(1).latched);
    CHECK(got.value().safeguards.at(1).minimum_hold == milliseconds(55));  // R-81: watchdog and scan
    REQUIRE(got.value().demands.size() == 3);
    CHECK(got.value().demands[0].channel == sim::DemandChannel::both);
    CHECK(got.value().demands[2].channel == sim::DemandChannel::b);
    CHECK(got.value().demands[2].lasting == milliseconds(7));
    CHECK(got.value().operator_acts.at(0).act == sim::OperatorAct::Act::reset);
    CHECK(got.value().operator_acts[0].safeguard == "door");

    CHECK(complaint(door("channels = 2\n")) == "safeguard[1].discrepancy: is missing; write discrepancy = \"30 ms\"");
    CHECK(complaint(door("discrepancy = \"30 ms\"\n")) ==
          "safeguard[1].discrepancy: means nothing with one channel; write channels = 2, or take it away");
    CHECK(complaint(door("channels = 3\n")).find("safeguard[1].channels: 3 is out of range") == 0);
    CHECK(complaint(door("channels = 2\ndiscrepancy = \"0 ms\"\n")) ==
          "safeguard[1].discrepancy: 0 is too short; write more than \"0 ms\"");
    CHECK(complaint(door("minimum_hold = \"0 ms\"\n")) ==
          "safeguard[1].minimum_hold: 0 is too short; write more than \"0 ms\"");
    CHECK(complaint(door("latched = 1\n")).find("safeguard[1].latched: ") == 0);
}

TEST_CASE("a demand on one channel and a reset need a safeguard that knows them") {
    CHECK(complaint(door("", "[[demand]]\nsafeguard = \"rope\"\nat = \"1 s\"\nchannel = \"a\"\n")) ==
          "demand[3].channel: \"rope\" has one channel only; write channels = 2 there, or take it away");
    CHECK(complaint(door("", "[[demand]]\nsafeguard = \"rope\"\nat = \"1 s\"\nchannel = \"c\"\n"))
              .find("demand[3].channel: \"c\" is none of a, b") == 0);
    CHECK(complaint(door("", "[[operator]]\nat = \"1 s\"\ndoes = \"reset\"\n")) ==
          "operator[1].safeguard: is missing; write safeguard = \"rope_pull\"");
    CHECK(complaint(door("", "[[operator]]\nat = \"1 s\"\ndoes = \"reset\"\nsafeguard = \"rope\"\n")) ==
          "operator[1].safeguard: \"rope\" is not latched, so there is nothing to reset; write latched = true there");
    CHECK(complaint(door("", "[[operator]]\nat = \"1 s\"\ndoes = \"reset\"\nsafeguard = \"rop\"\n")) ==
          R"(operator[1].safeguard: "rop" is no safeguard; nearest is "rope")");
    CHECK(complaint(door("", "[[operator]]\nat = \"1 s\"\ndoes = \"acknowledge\"\nsafeguard = \"rope\"\n")) ==
          "operator[1].safeguard: means something with does = \"reset\" or \"hold-reset\" only; take it away");
}

TEST_CASE("the brake arrives, and a wrong one is told") {
    const auto got = read(with_machine_keys({}, "braking = \"1 m/s2\"\nbrake = { delay = \"60 ms\", drops = true }\n"));
    REQUIRE(got);
    REQUIRE(got.value().machine->brake);
    CHECK(got.value().machine->brake->delay == milliseconds(60));
    CHECK(got.value().machine->brake->drops);
    CHECK(complaint(with_machine_keys({}, "braking = \"1 m/s2\"\nbrake = { drops = true }\n")) ==
          "machine.brake.delay: is missing; write delay = \"60 ms\"");
    CHECK(complaint(with_machine_keys({}, "brake = { delay = \"60 ms\" }\n")) ==
          "machine.brake: needs braking, the deceleration once it has gripped; write braking = \"1500 mm/s2\"");
    CHECK(complaint(with_machine_keys({}, "braking = \"1 m/s2\"\nbrake = { delay = \"60 ms\", falls = true }\n"))
              .find("machine.brake.falls: unknown key") == 0);
}

}  // namespace
