// Round trips of a capture without what the device takes: by a second capture there, or by its least.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <unistd.h>

#include <doctest/doctest.h>

#include "sim/odds/trip_odds.hpp"
#include "sim/reading/capture.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"
#include "sim/studies/cross_check.hpp"
#include "tests/support/written_capture.hpp"

namespace {

using proto::Duration;
using proto::microseconds;
using tests::WrittenCapture;

constexpr std::int64_t cycle = 10'000'000;
constexpr unsigned controller = 1, device = 2, controller_port = 5000, device_port = 6000;

/// Both captures of the same exchanges. Times are those of the controller's clock, in nanoseconds; the device's clock
/// is `ahead`.
struct Both {
    explicit Both(std::int64_t ahead = 0) : ahead_(ahead) {}
    void ask(std::int64_t sent, std::int64_t arrived, const std::string& bytes) {
        at_controller.packet(sent, controller, device, controller_port, device_port, bytes);
        at_device.packet(arrived + ahead_, controller, device, controller_port, device_port, bytes);
    }
    void answer(std::int64_t sent, std::int64_t arrived, const std::string& bytes) {
        at_device.packet(sent + ahead_, device, controller, device_port, controller_port, bytes);
        at_controller.packet(arrived, device, controller, device_port, controller_port, bytes);
    }
    /// Asked at the begin of cycle i; `out`, `wait` and `back` in nanoseconds.
    void exchange(std::int64_t i, std::int64_t out, std::int64_t wait, std::int64_t back) {
        const std::int64_t at = i * cycle + begin;
        ask(at, at + out, "ask " + std::to_string(i));
        answer(at + out + wait, at + out + wait + back, "answer " + std::to_string(i));
    }
    [[nodiscard]] proto::Result<sim::CapturedDelays, sim::FileError> line() const {
        sim::CaptureWish wish;
        wish.path = at_controller.written();
        wish.at_device = at_device.written();
        return sim::delays_in_capture(wish);
    }
    static constexpr std::int64_t begin = 1'000'000'000'000;
    WrittenCapture at_controller, at_device;

  private:
    std::int64_t ahead_;
};

std::vector<std::int64_t> ns_of(const std::vector<Duration>& times) {
    std::vector<std::int64_t> ns;
    ns.reserve(times.size());
    for (const Duration time : times) ns.push_back(time.ns);
    return ns;
}

TEST_CASE("what lies between request and answer at the device is taken off exactly, whatever its clock says") {
    for (const std::int64_t ahead : {std::int64_t{0}, std::int64_t{3'600'000'000'000}, std::int64_t{-7'000'000'000}}) {
        Both both(ahead);
        std::vector<std::int64_t> expected;
        for (std::int64_t i = 0; i < 50; ++i) {
            const std::int64_t out = 200'000 + i * 1'000, wait = i * i % 7 * 700'001, back = 300'000 + i % 3 * 4;
            both.exchange(i, out, wait, back);
            expected.push_back((out + back) / 2);
        }
        const auto read = both.line();
        REQUIRE(read);
        CHECK(ns_of(read.value().times) == expected);
        CHECK(read.value().with_device == 0);
    }
}

TEST_CASE(
    "without the other capture each time holds what the device takes, less what it takes at least if that is told") {
    Both both;
    for (std::int64_t i = 0; i < 4; ++i) both.exchange(i, 200'000, 2'000'000 + i * 100'000, 200'000);
    sim::CaptureWish wish;
    wish.path = both.at_controller.written();
    const auto whole = sim::delays_in_capture(wish);
    REQUIRE(whole);
    CHECK(ns_of(whole.value().times) == std::vector<std::int64_t>{1'200'000, 1'250'000, 1'300'000, 1'350'000});
    CHECK(whole.value().with_device == 4);
    wish.subtract = microseconds(2'000);
    const auto less = sim::delays_in_capture(wish);
    REQUIRE(less);
    CHECK(ns_of(less.value().times) == std::vector<std::int64_t>{200'000, 250'000, 300'000, 350'000});
    CHECK(less.value().with_device == 0);
    CHECK(less.value().under == 0);
    wish.subtract = microseconds(2'550);
    const auto under = sim::delays_in_capture(wish);
    REQUIRE(under);
    CHECK(ns_of(under.value().times) == std::vector<std::int64_t>{0, 0, 25'000, 75'000});
    CHECK(under.value().under == 2);
}

TEST_CASE("telegrams that are said again, or of which one is lost, keep their own waits") {
    Both both(5'000'000'000);
    both.exchange(0, 200'000, 1'000'000, 300'000);
    // said again after a cycle, since the answer is late: both copies are answered, with the same bytes
    const std::int64_t at = Both::begin + cycle;
    both.ask(at, at + 200'000, "again");
    both.at_device.packet(at + 9'000'000 + 5'000'000'000, device, controller, device_port, controller_port, "answer");
    both.ask(at + cycle, at + cycle + 200'000, "again");
    both.at_controller.packet(at + cycle + 400'000, device, controller, device_port, controller_port, "answer");
    both.answer(at + cycle + 1'000'000, at + cycle + 1'300'000, "answer");
    // the first copy is lost on its way: nobody can tell that wait from the line, so the line has it
    const std::int64_t later = at + 3 * cycle;
    both.at_controller.packet(later, controller, device, controller_port, device_port, "lost once");
    both.ask(later + cycle, later + cycle + 200'000, "lost once");
    both.answer(later + cycle + 700'000, later + cycle + 1'000'000, "found");
    both.exchange(9, 200'000, 1'000'000, 300'000);
    const auto read = both.line();
    REQUIRE(read);
    CHECK(ns_of(read.value().times) ==
          std::vector<std::int64_t>{250'000, (cycle + 400'000 - 8'800'000) / 2, (cycle + 500'000) / 2, 250'000});
    CHECK(read.value().with_device == 0);
}

TEST_CASE("what the other capture did not last for is left out, and what it lacks in between keeps its whole time") {
    Both both;
    for (std::int64_t i = 0; i < 20; ++i) {
        const bool there = i >= 5 && i < 15 && i != 8;
        if (there) {
            both.exchange(i, 200'000, 1'000'000, 200'000);
            continue;
        }
        const std::int64_t at = Both::begin + i * cycle;
        both.at_controller.packet(at, controller, device, controller_port, device_port, "ask " + std::to_string(i));
        both.at_controller.packet(at + 1'400'000, device, controller, device_port, controller_port,
                                  "answer " + std::to_string(i));
    }
    const auto read = both.line();
    REQUIRE(read);
    std::vector<std::int64_t> expected(10, 200'000);
    expected[3] = 700'000;
    CHECK(ns_of(read.value().times) == expected);
    CHECK(read.value().with_device == 1);
}

TEST_CASE("numbers that come round again are told apart by when they came") {
    Both both(40'000'000);
    std::vector<std::int64_t> expected;
    for (std::int64_t i = 0; i < 60; ++i) {
        const std::int64_t at = Both::begin + i * cycle, wait = 500'000 + i * 10'000;
        const std::string number = std::to_string(i % 16);
        const bool in_both = i >= 20;  // the capture at the device began later, after the first round
        if (in_both) {
            both.ask(at, at + 200'000, "ask " + number);
            both.answer(at + 200'000 + wait, at + 400'000 + wait, "answer " + number);
            expected.push_back(200'000);
        } else {
            both.at_controller.packet(at, controller, device, controller_port, device_port, "ask " + number);
            both.at_controller.packet(at + 400'000 + wait, device, controller, device_port, controller_port,
                                      "answer " + number);
        }
    }
    const auto read = both.line();
    REQUIRE(read);
    CHECK(ns_of(read.value().times) == expected);
    CHECK(read.value().with_device == 0);
}

TEST_CASE("captures that do not belong together, or whose requests are all alike, are refused with the mend") {
    Both both, other;
    for (std::int64_t i = 0; i < 5; ++i) {
        both.exchange(i, 200'000, 1'000'000, 200'000);
        other.exchange(i + 100, 200'000, 1'000'000, 200'000);
    }
    sim::CaptureWish wish;
    wish.path = both.at_controller.written();
    wish.at_device = other.at_device.written();
    const auto apart = sim::delays_in_capture(wish);
    REQUIRE_FALSE(apart);
    CHECK(apart.error().file == wish.at_device);
    CHECK(apart.error().message.find("holds 0 of the 5 exchanges") == 0);
    wish.at_device = "no_such_file.pcapng";
    const auto missing = sim::delays_in_capture(wish);
    REQUIRE_FALSE(missing);
    CHECK((missing.error().file == "no_such_file.pcapng" && missing.error().message.find("is no file") == 0));

    Both alike;
    for (std::int64_t i = 0; i < 5; ++i) {
        const std::int64_t at = Both::begin + i * cycle;
        alike.ask(at, at + 200'000, "status?");
        alike.answer(at + 1'000'000, at + 1'200'000, "fine");
    }
    const auto refused = alike.line();
    REQUIRE_FALSE(refused);
    CHECK(refused.error().message.find("write subtract in place of at_device") != std::string::npos);
}

/// A small press with such a delay.
proto::Result<sim::Scenario, sim::FileError> scenario_with(const std::string& delay) {
    namespace fs = std::filesystem;
    const std::string source = LINKDRILL_SOURCE_DIR;
    std::ifstream file(source + "/tests/live/short_press.toml");
    std::string text((std::istreambuf_iterator<char>(file)), {});
    const auto put = [&text](const std::string& what, const std::string& instead) {
        const std::size_t at = text.find(what);
        REQUIRE(at != std::string::npos);
        text.replace(at, what.size(), instead);
    };
    put("../../scenarios", source + "/scenarios");
    put(R"(delay = { from = "0.2 ms", to = "0.35 ms" })", "delay = " + delay);
    const fs::path path = fs::temp_directory_path() / ("linkdrill_captured_" + std::to_string(::getpid()) + ".toml");
    std::ofstream(path) << text;
    auto read = sim::read_scenario(path.string());
    fs::remove(path);
    return read;
}

bool any_has(const std::vector<std::string>& texts, const std::string& part) {
    return std::any_of(texts.begin(), texts.end(),
                       [&](const auto& text) { return text.find(part) != std::string::npos; });
}

TEST_CASE("check and watchdog caution that a capture at the controller alone holds the device's wait") {
    Both both;
    for (std::int64_t i = 0; i < 30; ++i) both.exchange(i, 200'000, 1'000'000 + i * 10'000, 200'000);
    const std::string capture = "{ capture = \"" + both.at_controller.written() + "\"";
    const std::string clause = "hold what the device waits for its scan";
    const auto alone = scenario_with(capture + " }");
    REQUIRE_MESSAGE(alone, alone.error().message);
    CHECK(alone.value().to_device.delay.with_device == 30);
    CHECK(any_has(sim::cross_check(alone.value()).cautions, clause));
    CHECK(any_has(sim::cautions_about(alone.value()), "The delays of the capture " + clause));
    for (const std::string& key :
         {", at_device = \"" + both.at_device.written() + "\" }", std::string(", subtract = \"1 ms\" }")}) {
        const auto without = scenario_with(capture + key);
        REQUIRE(without);
        CHECK_FALSE(any_has(sim::cross_check(without.value()).cautions, clause));
        CHECK_FALSE(any_has(sim::cautions_about(without.value()), clause));
        CHECK(without.value().to_device.delay.halved);
    }
    const auto too_much = scenario_with(capture + ", subtract = \"3 ms\" }");
    REQUIRE(too_much);
    CHECK(any_has(sim::cross_check(too_much.value()).cautions, "30 of 30 times: the device takes less than that"));
    CHECK(any_has(sim::cautions_about(too_much.value()), "what comes of them is too good"));
}

TEST_CASE("keys of a capture that mean nothing together are refused") {
    Both both;
    for (std::int64_t i = 0; i < 30; ++i) both.exchange(i, 200'000, 1'000'000, 200'000);
    const std::string capture = "{ capture = \"" + both.at_controller.written() + "\"";
    const std::string there = ", at_device = \"" + both.at_device.written() + "\"";
    const auto complaint = [](const std::string& delay) {
        const auto read = scenario_with(delay);
        return read ? std::string() : read.error().key + ": " + read.error().message;
    };
    CHECK(complaint(capture + there + ", subtract = \"1 ms\" }").find("delay.subtract: stands beside at_device") !=
          std::string::npos);
    CHECK(complaint(capture + there + ", use = \"gaps\" }").find("delay.at_device: means nothing to use") !=
          std::string::npos);
    CHECK(complaint(capture + ", subtract = \"1 ms\", use = \"gaps\" }").find("delay.subtract: means nothing to use") !=
          std::string::npos);
    CHECK(complaint(capture + ", subtract = \"0 ms\" }").find("delay.subtract") != std::string::npos);
    CHECK(complaint(capture + there + " }").empty());
}

}  // namespace
