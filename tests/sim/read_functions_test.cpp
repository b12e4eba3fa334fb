// [[function]]: every key, its defaults, and what is said about each wrong one: file, line, key, mend.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string>

#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

#include <unistd.h>

namespace fs = std::filesystem;

namespace {

using proto::milliseconds;

// Our own plant: a log debarker with a flap, a pit door and a pull cord.
constexpr const char* plant = R"(title = "Debarker"
duration = "20 s"
[link]
exchange = "polled"
profile = "plain"
cycle = "10 ms"
watchdog = "45 ms"
[controller]
address = "0x0010"
[device]
address = "0x0020"
[[safeguard]]
name = "flap"
at = "controller"
[[safeguard]]
name = "pit_door"
at = "controller"
[[safeguard]]
name = "cord"
at = "controller"
[[signal]]
name = "closed"
direction = "to-device"
all_of = ["flap", "pit_door"]
[[signal]]
name = "cord_taut"
direction = "to-device"
all_of = ["cord"]
[bits]
closed = "0.0"
cord_taut = "0.1"
[machine]
name = "rollers"
speed = "600 mm/s"
braking = "1500 mm/s2"
ramp = "1200 mm/s2"
[[machine.reaction]]
signal = "closed"
stop = "category-0"
[[machine.reaction]]
signal = "cord_taut"
stop = "category-2"
)";

constexpr const char* profile = R"(address = { presence = "carried", bits = 16 }
sequence = { presence = "carried", bits = 16 }
crc = "CRC-32/ISCSI"
)";

/// A folder of its own that goes with the test.
class Folder {
  public:
    Folder() : path_(fs::temp_directory_path() / ("linkdrill-functions-" + std::to_string(::getpid()))) {
        fs::create_directories(path_ / "profiles");
        std::ofstream(path_ / "profiles/plain.toml") << profile;
    }
    ~Folder() { fs::remove_all(path_); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    Folder(Folder&&) = delete;
    Folder& operator=(Folder&&) = delete;

    proto::Result<sim::Scenario, sim::FileError> read(const std::string& text) const {
        std::ofstream(path_ / "plant.toml") << text;
        return sim::read_scenario((path_ / "plant.toml").string());
    }
    /// What is said about the plant with `more` at its end: "LINE after the plant: key: message".
    [[nodiscard]] std::string wrong(const std::string& more) const { return wrong_in(plant, more); }
    [[nodiscard]] std::string wrong_in(const std::string& before, const std::string& more) const {
        const auto result = read(before + more);
        if (result) return "nothing";
        const sim::FileError& error = result.error();
        CHECK(fs::path(error.file).filename() == "plant.toml");
        const auto lines = std::count(before.begin(), before.end(), '\n');
        return std::to_string(error.line - lines) + ": " + error.key + ": " + error.message;
    }

  private:
    fs::path path_;
};

const std::string named = "[[function]]\nname = \"opening the flap stops the rollers\"\n";

}  // namespace

TEST_CASE("a function with every key, and with its defaults") {
    const Folder folder;
    const auto read = folder.read(plant + named +
                                  "safeguards = [\"flap\", \"pit_door\"]\n"
                                  "must = [{ machine = \"rollers\", must = \"category-0\", within = \"700 ms\" }]\n"
                                  "level = \"PL d\"\nreturns = \"after-reset\"\nhazard_ends = \"reduced-speed\"\n"
                                  "distance = { edition = \"2010\", case = \"interlocked-guard\", "
                                  "reaching_through = \"60 mm\", there = \"1200 mm\" }\n"
                                  "[[function]]\nname = \"the cord\"\nsafeguards = \"cord\"\nmust = \"category-2\"\n");
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    REQUIRE(read.value().functions.size() == 2);
    const sim::SafetyFunction& all = read.value().functions[0];
    CHECK(all.name == "opening the flap stops the rollers");
    CHECK(all.safeguards == std::vector<std::string>{"flap", "pit_door"});
    REQUIRE(all.must.size() == 1);
    CHECK(all.must[0].machine == "rollers");
    CHECK(all.must[0].must == sim::StopCategory::category_0);
    CHECK(all.must[0].within == milliseconds(700));
    REQUIRE(all.level);
    CHECK(sim::written(*all.level) == "PL d");
    CHECK(all.level->sil() == 2);
    CHECK(all.returns == sim::Returns::after_reset);
    CHECK(all.reduced_speed_ends_hazard);
    REQUIRE(all.distance);
    CHECK(all.distance->there_um == 1'200'000);
    CHECK(all.distance->safeguard.empty());
    const sim::SafetyFunction& least = read.value().functions[1];
    CHECK(least.safeguards == std::vector<std::string>{"cord"});
    CHECK(least.must[0].machine == "rollers");
    CHECK_FALSE(least.must[0].within);
    CHECK_FALSE(least.level);
    CHECK_FALSE(least.distance);
    CHECK(least.returns == sim::Returns::after_start);
    CHECK_FALSE(least.reduced_speed_ends_hazard);
}

TEST_CASE("levels side by side: PL a has no SIL, b and c are 1, d is 2, e is 3, nothing else is one") {
    const Folder folder;
    const std::string rest = "safeguards = [\"flap\"]\nmust = \"category-0\"\nlevel = ";
    const std::pair<const char*, unsigned> levels[] = {{"PL a", 0}, {"PL b", 1},  {"PL c", 1},  {"PL d", 2},
                                                       {"PL e", 3}, {"SIL 1", 1}, {"SIL 2", 2}, {"SIL 3", 3}};
    for (const auto& [typed, sil] : levels) {
        std::string text = plant;
        text.append(named).append(rest).append("\"").append(typed).append("\"\n");
        const auto read = folder.read(text);
        REQUIRE(read.ok());
        CHECK(read.value().functions[0].level->sil() == sil);
        CHECK(sim::written(*read.value().functions[0].level) == typed);
    }
    for (const char* typed : {"SIL 0", "SIL 4", "PL f", "PL", "2", "sil 2", "SIL2", "SIL 2 "})
        CHECK(folder.wrong(named + rest + "\"" + typed + "\"\n") ==
              "5: function[1].level: \"" + std::string(typed) +
                  "\" is no level; write \"SIL 1\" to \"SIL 3\" or \"PL a\" to \"PL e\"");
    CHECK(folder.wrong(named + rest + "2\n").find("5: function[1].level: is a whole number; write") == 0);
}

TEST_CASE("what a function asks for must exist") {
    const Folder folder;
    CHECK(folder.wrong(named + "safeguards = [\"flab\"]\nmust = \"category-0\"\n") ==
          "3: function[1].safeguards: \"flab\" is no safeguard; nearest is \"flap\"");
    CHECK(folder.wrong(named + "safeguards = [\"flap\", \"flap\"]\nmust = \"category-0\"\n") ==
          "3: function[1].safeguards: \"flap\" stands there twice; write it once");
    CHECK(folder.wrong(named + "safeguards = []\nmust = \"category-0\"\n").find("is empty; write which guards") !=
          std::string::npos);
    CHECK(folder.wrong(named + "must = \"category-0\"\n") ==
          "1: function[1].safeguards: is missing; write safeguards = [\"front_curtain\"]");
    CHECK(folder.wrong(named + "safeguards = [\"flap\"]\nmust = \"category-0\"\nmachine = \"roller\"\n") ==
          "5: function[1].machine: \"roller\" is no machine; nearest is \"rollers\"");
    CHECK(folder.wrong(named + "safeguards = [\"flap\"]\nmust = \"category-3\"\n")
              .find("4: function[1].must: \"category-3\" is none of category-0, category-1") == 0);
    CHECK(folder.wrong(named + "safeguards = [\"flap\"]\n") ==
          "1: function[1].must: is missing; write must = \"category-0\"");
    CHECK(folder.wrong(named + "safeguards = [\"flap\"]\nmust = []\n").find("function[1].must: is empty; write") !=
          std::string::npos);
    CHECK(folder.wrong("[[function]]\nsafeguards = [\"flap\"]\nmust = \"category-0\"\n")
              .find("1: function[1].name: is missing; write name = ") == 0);
    CHECK(folder.wrong(named + "safeguards = [\"flap\"]\nmust = \"category-0\"\nmus = 3\n")
              .find("5: function[1].mus: unknown key; did you mean \"must\"?") == 0);
}

TEST_CASE("what no machine can do is refused") {
    const Folder folder;
    const std::string flap = named + "safeguards = [\"flap\"]\n";
    CHECK(folder.wrong(flap + "must = \"reduced-speed\"\n") ==
          "4: function[1].must: asks for a reduced speed, and rollers has none; write reduced_speed = \"120 mm/s\" in "
          "[machine]");
    std::string without_ramp = plant;
    without_ramp.replace(without_ramp.find("ramp = \"1200 mm/s2\"\n"), 20, "");
    without_ramp.replace(without_ramp.find("stop = \"category-2\""), 19, "stop = \"category-0\"");
    CHECK(folder.wrong_in(without_ramp, flap + "must = \"category-1\"\n")
              .find("function[1].must: \"category-1\" needs ramp, and rollers has none; write ramp = \"1500 mm/s2\"") !=
          std::string::npos);
    std::string no_machine = plant;
    no_machine.resize(no_machine.find("[machine]"));
    CHECK(folder.wrong_in(no_machine, flap + "must = \"category-0\"\n") ==
          "4: function[1].must: there is no machine that could; write a table [machine]");
}

TEST_CASE("within is above 0, at most an hour, and has a unit") {
    const Folder folder;
    const std::string flap = named + "safeguards = [\"flap\"]\nmust = \"category-0\"\nwithin = ";
    CHECK(folder.wrong(flap + "\"0 ms\"\n") == "5: function[1].within: 0 is too short; write more than \"0 ms\"");
    CHECK(folder.wrong(flap + "\"-600 ms\"\n") == "5: function[1].within: -600 ms is negative; write \"600 ms\"");
    CHECK(folder.wrong(flap + "\"2 h\"\n") == "5: function[1].within: 2 h is too long; write \"1 h\" or less");
    CHECK(folder.wrong(flap + "600\n") == "5: function[1].within: 600 has no unit; write \"600 ms\"");
    CHECK(folder.wrong(named + "safeguards = [\"flap\"]\nmust = [{ must = \"category-0\", within = \"0 ms\" }]\n") ==
          "4: function[1].must[1].within: 0 is too short; write more than \"0 ms\"");
    CHECK(folder.wrong(named + "safeguards = [\"flap\"]\nwithin = \"1 s\"\nmust = [{ must = \"category-0\" }]\n") ==
          "4: function[1].within: stands in each row of must already; take it away here");
}

TEST_CASE("two functions may not ask different things of one guard and machine, nor one function twice") {
    const Folder folder;
    const std::string first = named + "safeguards = [\"flap\"]\nmust = \"category-0\"\n";
    const std::string other = "[[function]]\nname = \"again\"\nsafeguards = [\"pit_door\", \"flap\"]\n";
    CHECK(folder.wrong(first + other + "must = \"category-0\"\n") == "nothing");
    CHECK(folder.wrong(first + other + "must = \"category-2\"\n")
              .find("8: function[2].must: \"category-2\" of rollers for \"flap\", but \"opening the flap stops the "
                    "rollers\" "
                    "asks for category-0 (line ") == 0);
    CHECK(folder
              .wrong(named + "safeguards = [\"flap\"]\nmust = [{ must = \"category-0\" }, { must = \"category-0\" "
                             "}]\n")
              .find("function[1].must[2].machine: \"rollers\" is asked twice") != std::string::npos);
    CHECK(folder.wrong(first + first).find("function[2].name: ") != std::string::npos);
}

TEST_CASE("returns and hazard_ends take their words only, a distance is that of one of the function's guards") {
    const Folder folder;
    const std::string flap = named + "safeguards = [\"flap\"]\nmust = \"category-0\"\n";
    CHECK(folder.wrong(flap + "returns = \"by-itsel\"\n") ==
          "5: function[1].returns: \"by-itsel\" is none of after-start, after-reset, by-itself; did you mean "
          "\"by-itself\"?");
    CHECK(
        folder.wrong(flap + "hazard_ends = \"reduced\"\n").find("5: function[1].hazard_ends: \"reduced\" is none of") ==
        0);
    const std::string distance = R"(distance = { edition = "2010", case = "mat", there = "1 m")";
    CHECK(folder.wrong(flap + distance + " }\n")
              .find("1000 mm is too short for any response, however fast; write at "
                    "least 1200 mm") != std::string::npos);
    CHECK(folder.wrong(flap + "distance = { edition = \"2010\", case = \"mat\", safeguard = \"cord\" }\n") ==
          "5: function[1].distance.safeguard: \"cord\" is no safeguard of this function; write one of its own");
}

TEST_CASE(
    "a distance from reduced speed names the function whose guards are passed first, which may stand further down") {
    const Folder folder;
    const std::string flap = named + "safeguards = [\"flap\"]\nmust = \"category-0\"\n";
    const std::string cord = "[[function]]\nname = \"the cord\"\nsafeguards = \"cord\"\nmust = \"category-2\"\n";
    const auto distance = [](const std::string& more) {
        return R"(distance = { edition = "2010", case = "interlocked-guard", reaching_through = "60 mm")" + more +
               " }\n";
    };
    const std::string there = ", there = \"900 mm\"", reduced = ", from_speed = \"reduced\"";
    const auto read = folder.read(plant + flap + distance(there + reduced + ", after = \"the cord\"") + cord);
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    CHECK(read.value().functions[0].slowed_by == "the cord");
    CHECK(read.value().functions[1].slowed_by.empty());
    CHECK(folder.wrong(flap + distance(there + ", from_speed = \"full\"") + cord) == "nothing");
    CHECK(folder.wrong(flap + distance(there + reduced + ", after = \"the cort\"") + cord) ==
          "5: function[1].distance.after: \"the cort\" is no function; nearest is \"the cord\"");
    CHECK(folder.wrong(flap + distance(there + reduced + ", after = \"the cord\"")) ==
          "5: function[1].distance.after: \"the cord\" is no function; write its [[function]]");
    CHECK(folder.wrong(flap + distance(there + reduced + ", after = \"opening the flap stops the rollers\"")) ==
          "5: function[1].distance.after: names its own function; write the one whose guards are passed first");
    CHECK(folder.wrong(flap + distance(there + reduced) + cord)
              .find("5: function[1].distance.from_speed: is \"reduced\", and nothing says what has slowed the machine "
                    "down; write after = ") == 0);
    CHECK(folder.wrong(flap + distance(there + ", after = \"the cord\"") + cord) ==
          "5: function[1].distance.after: means nothing without from_speed = \"reduced\"; write that, or take it away");
    CHECK(folder.wrong(flap + distance(reduced + ", after = \"the cord\"") + cord)
              .find("5: function[1].distance.from_speed: is \"reduced\", and without there nobody knows the way") == 0);
    CHECK(folder.wrong(flap + distance(there + ", from_speed = \"slow\"") + cord)
              .find("5: function[1].distance.from_speed: \"slow\" is none of full, reduced") == 0);
    // [distance] is of a guard alone, whatever its functions are
    CHECK(
        folder.wrong("[distance]\nsafeguard = \"flap\"\nedition = \"2010\"\ncase = \"mat\"\nfrom_speed = \"reduced\"\n")
            .find("distance.from_speed: unknown key") != std::string::npos);
}

TEST_CASE("a safeguard that no function needs says so and why, and then stands in none") {
    const Folder folder;
    const auto with = [](const std::string& keys) {
        std::string text = plant;
        const std::string cord = "name = \"cord\"\nat = \"controller\"\n";
        return text.insert(text.find(cord) + cord.size(), keys);
    };
    const auto read = folder.read(with("function = \"none\"\nreason = \"stops nothing: it only warns\"\n"));
    REQUIRE(read.ok());
    CHECK(read.value().safeguards[2].no_function == "stops nothing: it only warns");
    CHECK(folder.wrong_in(with("function = \"none\"\n"), "").find("safeguard[3].reason: is missing; write reason = ") !=
          std::string::npos);
    CHECK(folder.wrong_in(with("reason = \"why\"\n"), "")
              .find("safeguard[3].reason: means something with function = "
                    "\"none\" only") != std::string::npos);
    CHECK(folder.wrong_in(with("function = \"cord\"\n"), "").find("safeguard[3].function: \"cord\" is none of none") !=
          std::string::npos);
    CHECK(folder
              .wrong_in(with("function = \"none\"\nreason = \"why\"\n"),
                        named + "safeguards = [\"cord\"]\nmust = \"category-2\"\n")
              .find("3: function[1].safeguards: \"cord\" says function = \"none\" (line 18); take one of them away") ==
          0);
}
