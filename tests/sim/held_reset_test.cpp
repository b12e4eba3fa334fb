// A reset counts on letting go of the button, once, only if all safeguards of its function are free from pressing to
// letting go; a held or stuck button resets nothing (ISO 13849-1, manual reset, from memory).
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "sim/drive/rehearsal.hpp"
#include "sim/judge/time_line.hpp"
#include "sim/plant/plant.hpp"
#include "sim/reading/read.hpp"
#include "sim/scenario/scenario.hpp"

namespace {

using proto::Instant;
using proto::milliseconds;
using proto::seconds;
using Act = sim::OperatorAct;

constexpr std::int64_t full = 800'000, slow = 120'000;

/// The log debarker: the selector slows it down from 2 s to 3 s, and only a reset gives the speed back.
sim::Scenario slowed() {
    auto read = sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/log_debarker/guards.toml");
    REQUIRE(read.ok());
    sim::Scenario s = std::move(read).value();
    s.faults.clear();
    s.demands = {{"speed_selector", seconds(2), seconds(1), {}}};
    s.operator_acts.erase(std::remove_if(s.operator_acts.begin(), s.operator_acts.end(),
                                         [](const Act& act) { return act.event == Act::Event::time; }),
                          s.operator_acts.end());
    s.functions[2].returns = sim::Returns::after_reset;
    s.duration = seconds(8);
    return s;
}

void hold(sim::Scenario& s, std::int64_t at_ms, std::int64_t for_ms) {
    Act act{Act::Event::time, Act::Act::reset, milliseconds(at_ms), {}, "speed_selector"};
    act.held_for = milliseconds(for_ms);
    s.operator_acts.push_back(act);
}
void press(sim::Scenario& s, std::int64_t at_ms) { hold(s, at_ms, 0); }
void stick(sim::Scenario& s, std::int64_t at_ms) {
    s.operator_acts.push_back({Act::Event::time, Act::Act::hold_reset, milliseconds(at_ms), {}, "speed_selector"});
}

std::int64_t speed_at(const sim::Scenario& s, std::int64_t ms) {
    sim::TimeLine line(s);
    sim::rehearse(s, 11, {.line = &line});
    std::int64_t um_s = 0;
    for (const auto& corner : line.speed())
        if (corner.at <= Instant{} + milliseconds(ms)) um_s = corner.um_s;
    return um_s;
}
std::int64_t last_speed(const sim::Scenario& s) { return speed_at(s, 8000); }

TEST_CASE("a reset that is held counts as it is let go, not before") {
    sim::Scenario s = slowed();
    CHECK(last_speed(s) == slow);
    hold(s, 4000, 2000);
    CHECK(speed_at(s, 5900) == slow);
    CHECK(last_speed(s) == full);
}

TEST_CASE("a press that began before the demand, or within it, resets nothing when it is let go") {
    for (const std::int64_t pressed : {1500, 1999, 2500, 3000}) {
        CAPTURE(pressed);
        sim::Scenario s = slowed();  // the contact opens 20 ms after the demand, and closes 20 ms after its end
        hold(s, pressed, 4500 - pressed);
        CHECK(last_speed(s) == slow);
        press(s, 5000);
        CHECK(last_speed(s) == full);
    }
    sim::Scenario s = slowed();
    hold(s, 3021, 1000);
    CHECK(last_speed(s) == full);
}

TEST_CASE("a button that is let go while it is still demanded resets nothing") {
    sim::Scenario s = slowed();
    hold(s, 2100, 400);
    CHECK(last_speed(s) == slow);
}

TEST_CASE("a stuck button never resets, nor does anybody with it") {
    sim::Scenario s = slowed();
    stick(s, 1000);
    CHECK(last_speed(s) == slow);
    press(s, 4000);
    hold(s, 5000, 500);
    CHECK(last_speed(s) == slow);
    sim::Scenario later = slowed();
    stick(later, 4000);
    CHECK(last_speed(later) == slow);
    sim::Scenario after = slowed();
    press(after, 4000);
    stick(after, 5000);
    CHECK(last_speed(after) == full);  // it had counted before
}

TEST_CASE("of two fingers on one button the last to let go counts") {
    sim::Scenario s = slowed();
    hold(s, 4000, 3000);
    hold(s, 4500, 1000);
    press(s, 5000);
    CHECK(speed_at(s, 6900) == slow);
    CHECK(last_speed(s) == full);
}

TEST_CASE(
    "another safeguard of the function that is open when it is let go, or was in between, keeps it from counting") {
    sim::Scenario s = slowed();
    s.functions[2].safeguards = {"speed_selector", "pull_cord"};
    s.functions.erase(s.functions.begin(), s.functions.begin() + 2);
    // the cord stands for another guard of the same reset: its own signal would stop the rollers
    s.machine->reactions = {{"full_speed_allowed", sim::StopCategory::reduced_speed, {}}};
    hold(s, 3500, 2000);
    CHECK(last_speed(s) == full);
    s.demands.push_back({"pull_cord", milliseconds(5000), seconds(1), {}});
    CHECK(last_speed(s) == slow);
    s.demands.back().at = milliseconds(4000);  // free again when it is let go
    s.demands.back().lasting = milliseconds(500);
    CHECK(last_speed(s) == slow);
    s.demands.back().at = milliseconds(3000);  // open when it was pressed
    s.demands.back().lasting = milliseconds(1000);
    CHECK(last_speed(s) == slow);
}

TEST_CASE("one press is one reset") {
    const sim::Scenario s = slowed();
    sim::Plant plant(s);
    using Reset = sim::Plant::ResetAct;
    const auto at = [](std::int64_t ms) { return Instant{} + milliseconds(ms); };
    plant.reset(3, Reset::let_go, at(1));  // nobody pressed it
    CHECK(plant.safeguard(3).resets() == 0);
    plant.reset(3, Reset::press, at(2));
    plant.reset(3, Reset::let_go, at(3));
    plant.reset(3, Reset::let_go, at(4));
    CHECK(plant.safeguard(3).resets() == 1);
    plant.reset(3, Reset::press, at(5));
    plant.begin_again();
    plant.reset(3, Reset::let_go, at(6));
    CHECK(plant.safeguard(3).resets() == 0);
}

}  // namespace
