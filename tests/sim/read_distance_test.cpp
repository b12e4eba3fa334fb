// [distance], [stopping], [[part]], [limit] and a CSV of stopping times: every key, and what is said about wrong ones.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "sim/reading/read.hpp"
#include "sim/reading/stopping_times.hpp"
#include "sim/scenario/scenario.hpp"

#include <unistd.h>

namespace fs = std::filesystem;

namespace {

using proto::milliseconds;

constexpr const char* head = R"(title = "Test press"
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
name = "curtain"
at = "controller"
[[signal]]
name = "closing"
direction = "to-device"
all_of = ["curtain"]
[bits]
closing = "0.0"
[machine]
speed = "60 mm/s"
braking = "600 mm/s2"
reaction = [{ signal = "closing", stop = "category-0" }]
)";

constexpr const char* profile = R"(address = { presence = "carried", bits = 16 }
sequence = { presence = "carried", bits = 16 }
crc = "CRC-32/ISCSI"
)";

/// A folder of its own that goes with the test.
class Folder {
  public:
    Folder() : path_(fs::temp_directory_path() / ("linkdrill-distance-" + std::to_string(::getpid()))) {
        fs::create_directories(path_ / "profiles");
        write("profiles/plain.toml", profile);
    }
    ~Folder() { fs::remove_all(path_); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;

    void write(const std::string& name, const std::string& text) const { std::ofstream(path_ / name) << text; }
    /// Its path.
    [[nodiscard]] std::string written(const std::string& name, const std::string& text) const {
        write(name, text);
        return (path_ / name).string();
    }
    [[nodiscard]] proto::Result<sim::Scenario, sim::FileError> read(const std::string& more) const {
        return sim::read_scenario(written("scenario.toml", head + more));
    }
    /// The message about a scenario with these lines behind the good ones, with its line counted from there.
    [[nodiscard]] std::string wrong(const std::string& more) const {
        const auto read_one = read(more);
        if (read_one) return "nothing wrong";
        const std::string text = read_one.error().one_line();
        return text.substr(text.find_last_of('/') + 1);
    }
    /// The message about a CSV file of stopping times.
    [[nodiscard]] std::string wrong_csv(const std::string& csv) const {
        write("stops.csv", csv);
        return wrong("[stopping]\nmeasured = \"stops.csv\"\n");
    }

  private:
    fs::path path_;
};

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

std::string rows(int count) {
    std::string csv = "run,stopping_ms\n";
    for (int i = 1; i <= count; ++i) csv += std::to_string(i) + ", " + std::to_string(110 + i) + ".5\n";
    return csv;
}

std::string guard(const std::string& lines) { return "[distance]\nsafeguard = \"curtain\"\n" + lines; }

}  // namespace

TEST_CASE("every key of the distance, the stop, the outside parts and the limits is read") {
    const Folder folder;
    folder.write("stops.csv", rows(10));
    const auto read = folder.read(
        "[distance]\nsafeguard = \"curtain\"\nedition = 2024\ncase = \"right-angle\"\nresolution = \"30 mm\"\n"
        "reaching_over = \"40 cm\"\nsupplement = \"12.5 mm\"\nthere = \"0.78 m\"\n"
        "[stopping]\nramp_monitored = true\nstandstill_monitored = true\nreduced_speed_ends_hazard = true\n"
        "power_off_after = \"0.2 s\"\nmeasured = \"stops.csv\"\n"
        "[[part]]\nname = \"relay\"\nat = \"after-link\"\ndelay = \"15 ms\"\nwith_fault = \"40 ms\"\nsource = \"data "
        "sheet\"\n"
        "[[part]]\nname = \"filter\"\nat = \"before-link\"\ndelay = \"3 ms\"\nsource = \"measured\"\n"
        "[limit]\ntrips_per_year = 0.5\none_way_delay = \"8 ms\"\n[required]\noverall = \"300 ms\"\n");
    REQUIRE_MESSAGE(read.ok(), read.error().one_line());
    const sim::Scenario& s = read.value();
    REQUIRE(s.distance);
    CHECK(s.distance->how.edition == sim::Edition::iso_13855_2024);
    CHECK(s.distance->how.approach == sim::Approach::right_angle);
    CHECK(s.distance->how.resolution_um == 30'000);
    CHECK(s.distance->how.reaching_over_um == 400'000);
    CHECK(s.distance->how.supplement_um == 12'500);
    CHECK(s.distance->there_um == 780'000);
    CHECK(s.stopping.ramp_monitored);
    CHECK(s.stopping.standstill_monitored);
    CHECK(s.stopping.reduced_speed_ends_hazard);
    CHECK(s.stopping.power_off_after == milliseconds(200));
    REQUIRE(s.stopping.measured.size() == 10);
    CHECK(s.stopping.measured.front() == proto::microseconds(111'500));
    REQUIRE(s.outside_parts.size() == 2);
    CHECK(s.outside_parts[0].with_fault == milliseconds(40));
    CHECK(s.outside_parts[1].with_fault == milliseconds(3));
    CHECK(s.trip_limit.per_year == 0.5);
    CHECK(s.trip_limit.stated);
    CHECK(s.declared_delay == milliseconds(8));
    CHECK(s.required.overall == milliseconds(300));
}

TEST_CASE("without them nothing is stated, and the limit is one stop for nothing in ten years") {
    const Folder folder;
    const auto read = folder.read("");
    REQUIRE(read.ok());
    CHECK_FALSE(read.value().distance);
    CHECK(read.value().outside_parts.empty());
    CHECK(read.value().trip_limit.per_year == 0.1);
    CHECK_FALSE(read.value().trip_limit.stated);
    CHECK_FALSE(read.value().declared_delay);
    CHECK_FALSE(read.value().stopping.ramp_monitored);
}

TEST_CASE("what is wrong with a distance is one line with file, line and key") {
    const Folder folder;
    const std::string angle = "edition = \"2010\"\ncase = \"right-angle\"\n";
    CHECK(has(folder.wrong(guard(angle)), "scenario.toml:25: distance.resolution: is missing"));
    CHECK(has(folder.wrong(guard(angle + "resolution = \"-14 mm\"\n")), "scenario.toml:29: distance.resolution: "));
    CHECK(has(folder.wrong(guard(angle + "resolution = \"71 mm\"\n")), "over 70 mm"));
    CHECK(has(folder.wrong(guard(angle + "resolution = 14\n")), "has no unit; write \"14 mm\""));
    CHECK(
        has(folder.wrong(guard(angle + "resolution = \"14 mm\"\nthere = \"99 mm\"\n")),
            "scenario.toml:30: distance.there: 99 mm is too short for any response, however fast; write at least 100"));
    CHECK(has(folder.wrong(guard("edition = \"2010\"\ncase = \"two-hand\"\nthere = \"249 mm\"\n")), "at least 250 mm"));
    CHECK(has(folder.wrong(guard("edition = \"2010\"\ncase = \"parallel\"\nheight = \"1001 mm\"\n")),
              "distance.height: 1001 mm is out of range; write 0 to 1000 mm"));
    CHECK(
        has(folder.wrong(guard("edition = \"2010\"\ncase = \"parallel\"\nheight = \"-1 mm\"\n")), "distance.height: "));
    CHECK(has(folder.wrong(guard("edition = \"2012\"\ncase = \"mat\"\n")), "distance.edition: \"2012\""));
    CHECK(has(folder.wrong(guard("edition = 2012\ncase = \"mat\"\n")), "distance.edition: 2012"));
    CHECK(has(folder.wrong(guard("case = \"mat\"\n")), "distance.edition: is missing"));
    CHECK(has(folder.wrong(guard("edition = \"2010\"\ncase = \"right-angel\"\n")), "did you mean \"right-angle\"?"));
    CHECK(has(folder.wrong(guard("edition = \"2010\"\ncase = \"mat\"\nheigth = \"1 mm\"\n")),
              "did you mean \"height\"?"));
    CHECK(has(folder.wrong("[distance]\nsafeguard = \"curtains\"\nedition = \"2010\"\ncase = \"mat\"\n"),
              R"(distance.safeguard: "curtains" is no safeguard; nearest is "curtain")"));
    CHECK(has(folder.wrong("[limit]\ntrips_per_year = 0\n"), "limit.trips_per_year: "));
    CHECK(
        has(folder.wrong("[channel]\ndelay = \"9 ms\"\n[limit]\none_way_delay = \"8 ms\"\n"), "limit.one_way_delay: "));
    CHECK(has(folder.wrong("[[part]]\nname = \"x\"\nat = \"after-link\"\ndelay = \"5 ms\"\nwith_fault = \"4 ms\"\n"
                           "source = \"y\"\n"),
              "part[1].with_fault: 4 ms is shorter"));
}

TEST_CASE("what is wrong with measured stopping times is one line with the file of the times and its line") {
    const Folder folder;
    CHECK(folder.wrong_csv(rows(10)) == "nothing wrong");
    CHECK(has(folder.wrong_csv(rows(1)), "stops.csv: holds 1 stopping time; ISO 13855 asks for 10"));
    CHECK(has(folder.wrong_csv(rows(9)), "measure 1 more"));
    CHECK(has(folder.wrong_csv("run,stopping_ms\n"), "stops.csv: holds 0 stopping times"));
    CHECK(has(folder.wrong_csv(""), "stops.csv:1: stopping_ms: is no column of the first line"));
    CHECK(has(folder.wrong_csv("time\n1\n"), "stops.csv:1: stopping_ms: is no column"));
    CHECK(has(folder.wrong_csv("stopping_ms,stopping_ms\n1,1\n"), "named twice"));
    CHECK(has(folder.wrong_csv(rows(10) + "11, fast\n"), "stops.csv:12: stopping_ms: \"fast\" is no time"));
    CHECK(has(folder.wrong_csv(rows(10) + "11, -3\n"), "stops.csv:12: stopping_ms: \"-3\" is no stopping time"));
    CHECK(has(folder.wrong_csv(rows(10) + "11, 0\n"), "stops.csv:12: stopping_ms: \"0\" is no stopping time"));
    CHECK(has(folder.wrong_csv(rows(10) + "11\n"), "stops.csv:12: stopping_ms: \"\" is no time"));
    CHECK(has(folder.wrong_csv(rows(10) + "11, 4000000\n"), "too long"));
    CHECK(has(folder.wrong("[stopping]\nmeasured = \"none.csv\"\n"), "none.csv: is no file"));
}

TEST_CASE("a stopping time finer than a nanosecond is rounded up") {
    const Folder folder;
    std::string csv = "stopping_ms\n";
    for (int i = 0; i < 10; ++i) csv += "118.4000001\r\n";
    const auto read = sim::read_stopping_times(folder.written("stops.csv", csv));
    REQUIRE(read.ok());
    CHECK(read.value().front() == proto::Duration{118'400'001});
}
