// Reading faults of ends from files: the right ones, and each wrong one with its mend.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace {

/// What is wrong with a fault in a file, "fault[1].key: message"; empty if nothing is.
std::string complaint(const std::string& fault, const std::string& machine = "") {
    const auto folder = std::filesystem::temp_directory_path() / "linkdrill_read_end_faults_test";
    std::filesystem::create_directories(folder);
    const std::string file = (folder / "plant.toml").string();
    std::ofstream(file)
        << "title = \"t\"\nduration = \"5 s\"\n[link]\nexchange = \"polled\"\nprofile = \"" << LINKDRILL_SOURCE_DIR
        << "/scenarios/profiles/crc32_carried.toml\"\n"
        << "cycle = \"10 ms\"\nwatchdog = \"45 ms\"\n[controller]\naddress = 1\n[device]\naddress = 2\n"
        << "[[safeguard]]\nname = \"door\"\nat = \"controller\"\n[[signal]]\nname = \"go\"\n"
        << "direction = \"to-device\"\nall_of = [\"door\"]\n[bits]\ngo = \"0.0\"\n[machine]\n"
        << "speed = \"1 m/s\"\nramp = \"1 m/s2\"\nreaction = [{ signal = \"go\", stop = \"category-1\" }]\n"
        << machine << fault;
    const auto read = sim::read_scenario(file);
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
    if (read) return "";
    const std::string line = read.error().one_line();
    CHECK(line.find('\n') == std::string::npos);
    CHECK(line.find(file) == 0);
    return line.substr(line.find(": ") + 2);
}

TEST_CASE("right faults of ends are read") {
    CHECK(complaint("[[fault]]\nway = \"restart\"\nat_end = \"device\"\nat = \"1 s\"\nlasting = \"0.1 s\"\n") == "");
    CHECK(complaint("[[fault]]\nway = \"stall\"\nat_end = \"controller\"\nat = \"1 s\"\nlasting = \"0.1 s\"\n") == "");
    CHECK(complaint("[[fault]]\nway = \"frozen-data\"\nat_end = \"device\"\nat = \"1 s\"\n") == "");
    CHECK(complaint("[[fault]]\nway = \"clock-drift\"\nat_end = \"device\"\nat = \"0 s\"\ndrift_ppm = -100\n") == "");
    CHECK(complaint("", "output_watchdog = \"20 ms\"\n") == "");
}

TEST_CASE("wrong faults of ends are told in one line with the mend") {
    const std::string stall = "[[fault]]\nway = \"stall\"\nat_end = \"device\"\nat = \"1 s\"\nlasting = \"0.5 s\"\n";
    CHECK(complaint("[[fault]]\nway = \"stall\"\nat_end = \"drive\"\nat = \"1 s\"\nlasting = \"1 s\"\n") ==
          "fault[1].at_end: \"drive\" is none of controller, device; write one of them");
    CHECK(complaint("[[fault]]\nway = \"stall\"\nat = \"1 s\"\nlasting = \"1 s\"\n") ==
          R"(fault[1].at_end: is missing; write at_end = "controller" or "device")");
    CHECK(complaint("[[fault]]\nway = \"stall\"\nat_end = \"device\"\nat = \"1 s\"\n") ==
          "fault[1].lasting: is missing; write lasting = \"0.5 s\"");
    CHECK(complaint("[[fault]]\nway = \"restart\"\nat_end = \"device\"\nat = \"1 s\"\n") ==
          "fault[1].lasting: is missing; write lasting = \"0.5 s\"");
    CHECK(complaint("[[fault]]\nway = \"restart\"\nat_end = \"device\"\nat = \"1 s\"\nlasting = \"0 s\"\n") ==
          "fault[1].lasting: 0 is too short; write more than \"0 ms\"");
    CHECK(complaint("[[fault]]\nway = \"clock-drift\"\nat_end = \"device\"\nat = \"1 s\"\ndrift_ppm = 0\n") ==
          "fault[1].drift_ppm: 0 is no drift; write how many millionths the clock is fast, or slow with a minus");
    CHECK(complaint("[[fault]]\nway = \"clock-drift\"\nat_end = \"device\"\nat = \"1 s\"\n") ==
          "fault[1].drift_ppm: is missing; write drift_ppm = 20000");
    CHECK(complaint("[[fault]]\nway = \"clock-drift\"\nat_end = \"device\"\nat = \"1 s\"\ndrift_ppm = 1000000\n")
              .find("fault[1].drift_ppm: 1000000 is out of range") == 0);
    CHECK(complaint(stall + "drift_ppm = 5\n") ==
          "fault[1].drift_ppm: means nothing with way = \"stall\"; take it away");
    CHECK(complaint(stall + "direction = \"both\"\n") ==
          "fault[1].direction: means nothing for a fault of an end; take it away");
    CHECK(complaint(stall + "times = 2\n") == "fault[1].times: means nothing for a fault of an end; take it away");
    CHECK(complaint(stall + "on_telegram = 2\n") ==
          "fault[1].on_telegram: means nothing for a fault of an end; take it away");
    CHECK(complaint(stall + "error = \"loss\"\n").find("fault[1].way: \"stall\" is a way of none, not of loss") == 0);
    CHECK(complaint("[[fault]]\nway = \"stall\"\nat_end = \"device\"\nlasting = \"1 s\"\n") ==
          "fault[1].at: is missing; write at = \"2 s\"");
    CHECK(complaint("[[fault]]\nway = \"stall\"\nat_end = \"device\"\nat = \"5 s\"\nlasting = \"1 s\"\n") ==
          "fault[1].at: 5 s is after the end of the run; write less than \"5 s\", or lengthen duration");
    CHECK(complaint("[[fault]]\nway = \"drop\"\nat_end = \"device\"\nat = \"1 s\"\n") ==
          "fault[1].at_end: \"drop\" happens on the way, not at an end; take it away, or write restart, stall, "
          "frozen-data, clock-drift or drive-does-not-slow");
    // two of a kind at once; other ends, other kinds or one after the other are right
    const std::string inside = "[[fault]]\nway = \"stall\"\nat_end = \"device\"\nat = \"1.4 s\"\nlasting = \"1 s\"\n";
    CHECK(complaint(stall + inside).find("fault[2].at: another stall of that end (line ") == 0);
    CHECK(complaint(inside + stall).find("fault[2].at: another stall of that end (line ") == 0);
    CHECK(complaint("[[fault]]\nway = \"frozen-data\"\nat_end = \"device\"\nat = \"1 s\"\n"
                    "[[fault]]\nway = \"frozen-data\"\nat_end = \"device\"\nat = \"4 s\"\n")
              .find("has not ended then; write a later time, or end that one with lasting") != std::string::npos);
    CHECK(complaint(stall + "[[fault]]\nway = \"stall\"\nat_end = \"device\"\nat = \"1.5 s\"\nlasting = \"1 s\"\n") ==
          "");
    CHECK(complaint(stall + "[[fault]]\nway = \"stall\"\nat_end = \"controller\"\nat = \"1 s\"\nlasting = \"1 s\"\n") ==
          "");
    CHECK(complaint("", "output_watchdog = \"10 ms\"\n") ==
          "machine.output_watchdog: is not longer than a scan of its end, so it would switch off at once; write more "
          "than \"10 ms\"");
    CHECK(complaint("", "output_watchdog = \"0 ms\"\n") ==
          "machine.output_watchdog: 0 is too short; write more than \"0 ms\"");
}

}  // namespace
