// What may stand in [channel]: shapes of delay, measured delays, losses in bursts and a queue.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>
#include <string_view>

#include "sim/channel/delay.hpp"
#include "sim/channel/delay_law.hpp"
#include "sim/numeric/random.hpp"
#include "sim/odds/channel_cautions.hpp"
#include "sim/odds/trip_odds.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "sim/timing/bounds.hpp"
#include "tests/support/close.hpp"

namespace fs = std::filesystem;

namespace {

/// A folder with a scenario whose [channel] is written by each test.
class Plant {
  public:
    Plant()
        : path_(fs::temp_directory_path() /
                ("linkdrill_channel_test_" + std::to_string(reinterpret_cast<std::uintptr_t>(this)))) {
        fs::remove_all(path_);
        fs::create_directories(path_);
    }
    Plant(const Plant&) = delete;
    Plant& operator=(const Plant&) = delete;
    ~Plant() {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    void write(const std::string& name, std::string_view text) const {
        std::ofstream(path_ / name, std::ios::binary) << text;
    }
    [[nodiscard]] proto::Result<sim::Scenario, sim::FileError> with(const std::string& channel) const {
        write("plant.toml", R"(title = "Channel"
duration = "1 s"
[link]
exchange = "polled"
profile = ")" LINKDRILL_SOURCE_DIR R"(/scenarios/profiles/crc32_carried.toml"
cycle = "10 ms"
watchdog = "45 ms"
[controller]
address = 1
[device]
address = 2
[[signal]]
name = "free"
direction = "to-device"
all_of = ["rope"]
[[safeguard]]
name = "rope"
at = "controller"
[bits]
free = "0.0"
[channel]
)" + channel + "\n");
        return sim::read_scenario((path_ / "plant.toml").string());
    }
    /// The complaint without the folder; empty if there is none.
    [[nodiscard]] std::string complaint(const std::string& channel) const {
        const auto read = with(channel);
        if (read) return "";
        const std::string line = read.error().one_line();
        CHECK(line.find('\n') == std::string::npos);
        const std::string folder = path_.string() + "/";
        return line.starts_with(folder) ? line.substr(folder.size()) : line;
    }

  private:
    fs::path path_;
};

TEST_CASE("the forms of a delay are read") {
    const Plant plant;
    const auto delay = [&](const std::string& text) {
        const auto read = plant.with("delay = " + text);
        REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
        return read.value().to_controller.delay;
    };
    CHECK(delay("\"2 ms\"").low == proto::milliseconds(2));
    CHECK(sim::shortest_of(delay(R"({ shape = "lognormal", offset = "4 ms", median = "2.2 ms", sigma = 0.5 })")) >
          proto::milliseconds(4));
    CHECK(sim::shortest_of(delay(R"({ shape = "normal", mean = "5 ms", deviation = "2 ms", floor = "3 ms" })")) ==
          proto::milliseconds(3));
    CHECK(sim::shortest_of(delay(R"({ shape = "normal", mean = "5 ms", deviation = "2 ms" })")) == proto::Duration{});
    CHECK(sim::shortest_of(delay(R"({ shape = "gamma", offset = "1 ms", mean = "3 ms", alpha = 1 })")) ==
          proto::milliseconds(1));
    CHECK(delay(R"({ preset = "wifi-busy" })").preset == "wifi-busy");
}

TEST_CASE("delays that were measured come from a file, round trips whole") {
    const Plant plant;
    plant.write("a.csv", "time,one_way_ms\n1,0.4\n2,0.6\r\n\n3, 0.4 \n");
    plant.write("b.csv", "round_trip_ms\n0.8\n1.2345678\n");
    const auto a = plant.with(R"(delay = { file = "a.csv" })");
    REQUIRE(a.ok());
    const auto& cells = a.value().to_device.delay.cells;
    REQUIRE(cells.size() == 2);
    CHECK(cells[0].low == proto::microseconds(400));
    CHECK(cells[0].weight == 2);
    const auto b = plant.with(R"(delay = { file = "b.csv" })");
    REQUIRE(b.ok());
    // half of the shortest one way, always, and all the rest the other
    CHECK(sim::shortest_of(b.value().to_device.delay) == proto::microseconds(400));
    CHECK(sim::longest_of(b.value().to_device.delay).ns == 834'567);
    CHECK(sim::shortest_of(b.value().to_controller.delay) == proto::microseconds(400));
    CHECK(sim::longest_of(b.value().to_controller.delay) == proto::microseconds(400));
    CHECK(b.value().to_controller.delay.was_measured());
}

TEST_CASE("of a round trip the way that varies is chosen by split, and files of one way have none") {
    const Plant plant;
    plant.write("trips.csv", "round_trip_ms\n0.8\n12.1\n0.9\n");
    plant.write("one_way.csv", "one_way_ms\n0.8\n12.1\n0.9\n");
    const auto back = plant.with(R"(delay = { file = "trips.csv", split = "back" })");
    REQUIRE(back.ok());
    CHECK(sim::longest_of(back.value().to_device.delay) == proto::microseconds(400));
    CHECK(sim::longest_of(back.value().to_controller.delay) == proto::microseconds(11'700));
    const auto named_twice = plant.with(R"([channel.to_device]
delay = { file = "trips.csv" }
[channel.to_controller]
delay = { file = "trips.csv" })");
    REQUIRE(named_twice.ok());
    CHECK(sim::longest_of(named_twice.value().to_device.delay) == proto::microseconds(11'700));
    CHECK(sim::longest_of(named_twice.value().to_controller.delay) == proto::microseconds(400));
    // told of one way only, or of each way by another file, all that varies may be on that way
    const auto one = plant.with(R"([channel.to_controller]
delay = { file = "trips.csv" })");
    REQUIRE(one.ok());
    CHECK(sim::longest_of(one.value().to_controller.delay) == proto::microseconds(11'700));
    const auto refused = plant.with(R"(delay = { file = "one_way.csv", split = "out" })");
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().one_line().find("split: is for round trips") != std::string::npos);
}

TEST_CASE("blocks keep the order in which times were measured, and are no longer than the file") {
    const Plant plant;
    plant.write("times.csv", "one_way_ms\n1\n2\n3\n4\n5\n");
    const auto read = plant.with(R"(delay = { file = "times.csv", blocks_of = 3 })");
    REQUIRE(read.ok());
    const sim::DelayTable table(read.value().to_device.delay);
    const sim::Random draws(4, sim::Concern::delay);
    for (std::uint64_t block = 0; block < 100; ++block)
        for (std::uint64_t i = 0; i + 1 < 3; ++i) {
            const std::int64_t now = table.of(draws, 3 * block + i).ns / 1'000'000;
            const std::int64_t next = table.of(draws, 3 * block + i + 1).ns / 1'000'000;
            CHECK(next == now % 5 + 1);
        }
    const auto refused = plant.with(R"(delay = { file = "times.csv", blocks_of = 6 })");
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().one_line().find("6 are more than the 5 times") != std::string::npos);
}

TEST_CASE("measured times are read as spreadsheets write them") {
    const Plant plant;
    struct Row {
        const char* text;
        int shortest_us, longest_us;  ///< of the way that varies
    };
    const Row rows[] = {
        {"\xEF\xBB\xBFno,round_trip_ms\r\n1,0.8\r\n2,12.5\r\n", 400, 12'100},
        {"no;round_trip_ms\n1;0,8\n2;12,5\n", 400, 12'100},
        {"\xEF\xBB\xBF\"no\";\"round_trip_ms\"\n1;\"0,8\"\n2;\"12,5\"\n", 400, 12'100},
        {"no\tround_trip_ms\n1\t0,8\n2\t12.5\n", 400, 12'100},
        {"round_trip_ms\n0,8\n12,5\n", 400, 12'100},
        {"what,round_trip_ms\n\"a, b\",\"0,8\"\n\"say \"\"c\"\"\",12.5\n", 400, 12'100},
    };
    for (const Row& row : rows) {
        CAPTURE(row.text);
        plant.write("sheet.csv", row.text);
        const auto read = plant.with(R"(delay = { file = "sheet.csv" })");
        REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
        CHECK(sim::shortest_of(read.value().to_device.delay) == proto::microseconds(row.shortest_us));
        CHECK(sim::longest_of(read.value().to_device.delay) == proto::microseconds(row.longest_us));
        CHECK(read.value().to_device.delay.of_round_trips.has_value());
    }
}

TEST_CASE("times that never came are refused with their number, or are losses when asked for") {
    const Plant plant;
    plant.write("pings.csv", "no,round_trip_ms\n1,8\n2,\n3,timeout\n4,9\n5,10\n6,11\n7,12\n8,13\n9,14\n10,15\n");
    const auto refused = plant.with(R"(delay = { file = "pings.csv" })");
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.error().one_line().find("pings.csv:3: has no time, as 2 rows of the file") != std::string::npos);
    const auto read = plant.with(R"(delay = { file = "pings.csv", no_answer = "losses" })");
    REQUIRE(read.ok());
    const sim::Scenario& s = read.value();
    CHECK(s.to_device.delay.samples == 8);
    // two of ten without an answer: neither way lost in 8 of 10
    CHECK(tests::close_to((1.0 - s.to_device.loss) * (1.0 - s.to_controller.loss), 0.8, 1e-12));
    const auto both = plant.with("delay = { file = \"pings.csv\", no_answer = \"losses\" }\nloss = 0.1");
    REQUIRE_FALSE(both.ok());
    CHECK(both.error().one_line().find("channel.loss: is stated beside measured times") != std::string::npos);
}

TEST_CASE("losses that were measured in a row leave no upper figure, and the caution says what to state") {
    const Plant plant;
    std::string rows = "round_trip_ms\n", scattered = rows;
    for (int i = 0; i < 1000; ++i) {
        rows += i >= 500 && i < 504 ? "\"\"\n" : "8\n";
        scattered += i % 250 == 100 ? "\"\"\n" : "8\n";
    }
    plant.write("together.csv", rows);
    plant.write("scattered.csv", scattered);
    const sim::Scenario together = plant.with(R"(delay = { file = "together.csv", no_answer = "losses" })").value();
    CHECK(together.to_device.delay.lost_together == 4);
    CHECK(together.to_device.loss > 0.0);
    CHECK_FALSE(trip_odds(model_of(together), {}).high.has_value());
    const auto cautions = sim::cautions_about(together);
    CHECK(std::any_of(cautions.begin(), cautions.end(),
                      [](const std::string& one) { return one.find("up to 4 in a row") != std::string::npos; }));
    // every second one of a stretch: never two in a row, and far nearer than by chance
    std::string near = "round_trip_ms\n";
    for (int i = 0; i < 1000; ++i) near += i >= 500 && i < 540 && i % 2 == 0 ? "\"\"\n" : "8\n";
    plant.write("near.csv", near);
    CHECK(plant.with(R"(delay = { file = "near.csv", no_answer = "losses" })").value().to_device.delay.lost_together !=
          0);
    const sim::Scenario alone = plant.with(R"(delay = { file = "scattered.csv", no_answer = "losses" })").value();
    CHECK(alone.to_device.delay.lost_together == 0);
    CHECK(trip_odds(model_of(alone), {}).high.has_value());
}

TEST_CASE("the longest measured times are fitted if that is asked for, and check says what came of it") {
    const Plant plant;
    // 2 ms and an exponential part with a mean of half a millisecond
    std::string times = "one_way_ms\n";
    constexpr int count = 5000;
    const sim::Random random(12, sim::Concern::delay);
    for (int i = 0; i < count; ++i) {
        const double u = (static_cast<double>(random.at(static_cast<std::uint64_t>(i)) >> 11) + 0.5) * 0x1p-53;
        times += std::to_string(2.0 - 0.5 * std::log(u)) + "\n";
    }
    plant.write("long.csv", times);
    const auto cautions_of = [](const sim::Scenario& scenario) {
        std::string all;
        for (const std::string& caution : sim::cross_check(scenario).cautions) all += caution + "\n";
        return all;
    };
    const auto seen = plant.with(R"(delay = { file = "long.csv" })");
    REQUIRE_MESSAGE(seen.ok(), (seen.ok() ? "" : seen.error().one_line()));
    CHECK_FALSE(seen.value().to_device.delay.fitted);
    CHECK(plant.with(R"(delay = { file = "long.csv", tail = "as-seen" })").value().to_device.delay.tail.empty());

    const auto fitted = plant.with(R"(delay = { file = "long.csv", tail = "generalised-pareto" })");
    REQUIRE_MESSAGE(fitted.ok(), (fitted.ok() ? "" : fitted.error().one_line()));
    const sim::DelayShape& delay = fitted.value().to_device.delay;
    REQUIRE(delay.fitted);
    CHECK(delay.fitted->excesses > 100);
    CHECK(delay.samples == count);
    REQUIRE(delay.fitted->refused.empty());
    CHECK_FALSE(delay.tail.empty());
    CHECK(sim::longest_of(delay) == sim::longest_of(seen.value().to_device.delay));  // bounds stay
    CHECK(sim::latest_of(delay) == delay.fitted->reach);
    CHECK(cautions_of(fitted.value()).find("times) they are taken to follow a generalised Pareto law of shape") !=
          std::string::npos);

    plant.write("few.csv", "one_way_ms\n2.0\n2.1\n2.5\n");
    const auto few = plant.with(R"(delay = { file = "few.csv", tail = "generalised-pareto" })");
    REQUIRE(few.ok());
    CHECK(cautions_of(few.value()).find("of 3 times too few are long") != std::string::npos);
    CHECK(
        plant.complaint(R"(delay = { file = "few.csv", tail = "weibull" })").find("channel.delay.tail: \"weibull\"") !=
        std::string::npos);
}

TEST_CASE("seconds in a column of milliseconds are asked about") {
    const Plant plant;
    plant.write("seconds.csv", "round_trip_ms\n0.009\n0.0095\n0.012\n");
    const auto cautions = sim::cautions_about(plant.with(R"(delay = { file = "seconds.csv" })").value());
    CHECK(std::any_of(cautions.begin(), cautions.end(),
                      [](const std::string& one) { return one.find("were they seconds") != std::string::npos; }));
}

TEST_CASE("losses in bursts and a queue are read, and one way stands before both") {
    const Plant plant;
    const auto read = plant.with(R"(loss = { good_to_bad = 0.02, bad_to_good = 0.25, in_good = 0.01, in_bad = 0.9 }
queue = { service = "50 us", background = "bursts", load = 0.7, burst = 20, room = "20 ms", ramp = { to = 1.05, at = "2 s", lasting = "5 s" } }
[channel.to_controller]
loss = 1e-3)");
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? "" : read.error().one_line()));
    const sim::Scenario& s = read.value();
    REQUIRE(s.to_device.bursts);
    CHECK(s.to_device.bursts->in_bad == 0.9);
    CHECK_FALSE(s.to_controller.bursts);
    CHECK(s.to_controller.loss == 1e-3);
    REQUIRE(s.to_controller.queue);
    CHECK(s.to_controller.queue->burst == 20);
    CHECK(s.to_controller.queue->ramp_to == 1.05);
    CHECK(s.to_controller.queue->ramp_lasting == proto::seconds(5));
}

TEST_CASE("check says that a preset is illustrative and that a queue is not declared") {
    const Plant plant;
    const auto cautions = [&](const std::string& channel) {
        std::string all;
        for (const std::string& caution : sim::cross_check(plant.with(channel).value()).cautions) all += caution + "\n";
        return all;
    };
    CHECK(cautions(R"(delay = { preset = "5g-campus" })").find("5g-campus, which is illustrative") !=
          std::string::npos);
    CHECK(cautions("delay = \"1 ms\"").find("illustrative") == std::string::npos);
    CHECK(cautions(R"(queue = { service = "50 us", background = "constant", load = 0.5 })")
              .find("not part of the declared delay") != std::string::npos);
}

TEST_CASE("what is wrong in a channel is told in one line with its place") {
    const Plant plant;
    plant.write("none.csv", "delay\n1\n");
    plant.write("two.csv", "one_way_ms,round_trip_ms\n1,2\n");
    plant.write("bad.csv", "one_way_ms\n1\n1e-3\n");
    plant.write("negative.csv", "one_way_ms\n-1\n");
    plant.write("empty.csv", "one_way_ms\n");
    plant.write("comma.csv", "no,one_way_ms\n1,0,4\n");
    plant.write("open.csv", "no,one_way_ms\n1,\"0.4\n");
    plant.write("wide.csv", "\xFF\xFEo");
    struct Row {
        const char* channel;
        const char* message;
    };
    const Row rows[] = {
        {R"(delay = { shape = "pareto" })",
         "plant.toml:22: channel.delay.shape: \"pareto\" is none of normal, lognormal, gamma"},
        {R"(delay = { shape = "lognormal", median = "2 ms" })", "channel.delay.sigma: is missing; write sigma = 0.5"},
        {R"(delay = { shape = "lognormal", median = "2 ms", sigma = 3 })",
         "channel.delay.sigma: is no number from 0.001 to 2"},
        {R"(delay = { shape = "lognormal", median = "2 ms", sigma = nan })", "channel.delay.sigma: is no number"},
        {R"(delay = { shape = "lognormal", median = "1 h", sigma = 2 })", "channel.delay.shape: reaches up to"},
        {R"(delay = { shape = "gamma", mean = "2 ms", alpha = "2" })",
         "channel.delay.alpha: is no number from 0.1 to 1000"},
        {R"(delay = { shape = "gamma", mean = "2 ms", alpha = 2, median = "1 ms" })",
         "channel.delay.median: unknown key"},
        {R"(delay = { shape = "normal", mean = "2 ms", deviation = "1 ms", floor = "6 ms" })",
         "leaves hardly anything"},
        {R"(delay = { preset = "5g-campis" })", "did you mean \"5g-campus\"?"},
        {R"(delay = { preset = "5g-campus", sigma = 1 })", "channel.delay.sigma: unknown key"},
        {R"(delay = { from = "1 ms" })", "channel.delay.to: is missing"},
        {R"(delay = { })", "channel.delay: is neither one delay nor a distribution"},
        {R"(delay = { file = "absent.csv" })", "absent.csv: is no file"},
        {R"(delay = { file = "none.csv" })", "none.csv:1: names no column one_way_ms or round_trip_ms, but \"delay\""},
        {R"(delay = { file = "comma.csv" })", "comma.csv:2: has 3 fields, and the first line has 2"},
        {R"(delay = { file = "open.csv" })", "open.csv:2: has a quote that is never closed"},
        {R"(delay = { file = "wide.csv" })", "wide.csv:1: is UTF-16"},
        {R"(delay = { file = "two.csv", no_answer = "zero" })", "channel.delay.no_answer: \"zero\" is none of"},
        {R"(delay = { file = "two.csv" })", "two.csv:1: names more than one column"},
        {R"(delay = { file = "bad.csv" })", "bad.csv:3: \"1e-3\" is no time in milliseconds"},
        {R"(delay = { file = "negative.csv" })", "negative.csv:2: \"-1\" is no time"},
        {R"(delay = { file = "empty.csv" })", "empty.csv: holds no delays"},
        {R"(loss = { good_to_bad = 0.1 })", "channel.loss.bad_to_good: is missing"},
        {R"(loss = { good_to_bad = 1.1, bad_to_good = 0.2 })", "channel.loss.good_to_bad: 1.1 is no probability"},
        {R"(queue = { service = "50 us", load = 0.7 })", "channel.queue.background: is missing"},
        {R"(queue = { service = "50 us", background = "constant", load = 17 })",
         "channel.queue.load: is no number from 0 to 16"},
        {R"(queue = { service = "5 ns", background = "constant", load = 0.7 })",
         "channel.queue.service: 0.000005 ms is too short"},
        {R"(queue = { service = "50 us", background = "constant", load = 0.7, burst = 3 })",
         "channel.queue.burst: unknown key"},
        {R"(queue = { service = "5 ms", background = "constant", load = 0.7, room = "1 ms" })",
         "channel.queue.room: 1 ms is less than one service"},
        {R"(queue = { service = "50 us", background = "constant", load = 0.7, ramp = { to = 1.1 } })",
         "channel.queue.ramp.at: is missing"},
    };
    for (const Row& row : rows) {
        const std::string got = plant.complaint(row.channel);
        CAPTURE(std::string(row.channel));
        CAPTURE(got);
        CHECK(got.find(row.message) != std::string::npos);
    }
}

}  // namespace
