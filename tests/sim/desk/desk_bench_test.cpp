// What a desk's bench shows of what people do.
#include <doctest/doctest.h>

#include <algorithm>
#include <memory>
#include <string>

#include "sim/desk/desk_bench.hpp"
#include "sim/desk/usual_fault.hpp"
#include "sim/reading/read.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/scenario/units.hpp"
#include "sim/scenario/whole_cell.hpp"
#include "tests/support/desk_law.hpp"

namespace {

using sim::DeskBench;
using sim::Instant;
using State = proto::State;

std::string path_of(const std::string& file) { return std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/" + file; }

sim::Scenario scenario_of(const std::string& file) {
    auto read = sim::read_scenario(path_of(file));
    REQUIRE(read.ok());
    return std::move(read.value());
}

Instant at_ms(std::int64_t ms) { return Instant{} + proto::milliseconds(ms); }

template <class List>
const auto& named(const List& list, const std::string& name) {
    const auto found = std::find_if(list.begin(), list.end(), [&](const auto& one) { return one.name == name; });
    REQUIRE(found != list.end());
    return *found;
}

/// The first signal that a guard is a source of.
sim::DeskSignal signal_of(const DeskBench& bench, const std::string& guard) {
    const sim::DeskShown shown = bench.shown();
    return named(shown.signals, named(shown.guards, guard).signals.front());
}

/// Why an act had no effect; empty: it had.
std::string said(const sim::DeskRefusal& refusal) { return refusal ? refusal->words : std::string(); }

const std::string cell = "glass_line/cell.toml";

sim::WholeCell glass_line() {
    auto read = sim::read_cell(path_of(cell));
    REQUIRE(read.ok());
    return std::move(read.value());
}

TEST_CASE("a guard at a desk goes from its contact to the machine, place by place") {
    DeskBench bench(glass_line(), 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(1000));
    for (const sim::DeskLink& link : bench.shown().links) {
        CHECK(link.controller.state == State::running);
        CHECK(link.device.state == State::running);
    }
    CHECK_FALSE(bench.start_machine("bridge"));
    bench.run_until(at_ms(2000));
    CHECK(named(bench.shown().machines, "bridge").speed_um_s == 1'200'000);
    const auto refused = bench.start_machine("bridge");
    REQUIRE(refused);
    CHECK(refused->words == "bridge runs already");

    const sim::DeskSignal before = signal_of(bench, "infeed_curtain");
    CHECK(before.used.value);
    CHECK_FALSE(bench.guard("infeed_curtain", true));
    CHECK(named(bench.shown().guards, "infeed_curtain").held);
    bench.run_until(at_ms(2600));
    const sim::DeskSignal after = signal_of(bench, "infeed_curtain");
    for (const sim::DeskValue* value : {&after.computed, &after.sent, &after.received, &after.used})
        CHECK_FALSE(value->value);
    // the sensor's 14 ms, then one place after the other
    REQUIRE(after.computed.changed);
    CHECK(*after.computed.changed >= at_ms(2014));
    CHECK(after.computed.changed <= after.sent.changed);
    CHECK(after.sent.changed < after.received.changed);
    CHECK(after.received.changed <= after.used.changed);
    const sim::DeskSignal on = named(bench.shown().signals, "bridge_may_cut");
    CHECK(on.computed.changed >= after.used.changed);
    CHECK(on.machine == "bridge");
    CHECK(on.reaction == sim::StopCategory::category_1);
    const sim::DeskMachine bridge = named(bench.shown().machines, "bridge");
    CHECK(bridge.command == sim::DriveCommand::stop_category_1);
    CHECK(bridge.last_demand == "infeed_curtain");
    REQUIRE(bridge.stands_since);
    // 15 ms until the drive reacts, 200 ms on its ramp
    CHECK(*bridge.stands_since - *bridge.commanded == proto::milliseconds(215));
    CHECK(said(bench.start_machine("bridge")) ==
          std::string("bridge does not start: a stop is asked for by bridge_may_cut"));
    CHECK(said(bench.guard("infeed_curtain", true)) == std::string("infeed_curtain is held already"));
    CHECK_FALSE(bench.guard("infeed_curtain", false));
    bench.run_until(at_ms(3000));
    CHECK_FALSE(bench.start_machine("bridge"));
}

TEST_CASE("a guard let go too soon stays interrupted for its least hold, and what is kept says so (R-81)") {
    DeskBench bench(glass_line(), 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(1000));
    CHECK_FALSE(bench.guard("table_flap", true));
    CHECK_FALSE(bench.guard("table_flap", false));
    // the longest hop on its way is the table's: its watchdog and a scan
    const auto flap = [&] { return named(bench.shown().guards, "table_flap"); };
    REQUIRE(flap().held_until);
    const Instant until = *flap().held_until;
    const auto refused = bench.guard("table_flap", true);
    REQUIRE(refused);
    CHECK(refused->words.find("by its least hold") != std::string::npos);
    bench.run_until(until);
    CHECK_FALSE(flap().contact_free);
    bench.run_until(until + proto::Duration{1});
    CHECK(flap().contact_free);
    CHECK(bench.kept_blocks().find("lasting = \"75 ms\"") != std::string::npos);
}

TEST_CASE("a latched guard wants its reset, which is refused while it is held") {
    DeskBench bench(glass_line(), 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(1000));
    CHECK_FALSE(bench.guard("rope", true));
    bench.run_until(at_ms(1500));
    CHECK(said(bench.reset("rope")) == std::string("rope is still interrupted"));
    CHECK_FALSE(bench.guard("rope", false));
    bench.run_until(at_ms(2000));
    CHECK(named(bench.shown().guards, "rope").latched);
    CHECK(named(bench.shown().guards, "rope").reset_needed);
    CHECK_FALSE(signal_of(bench, "rope").used.value);
    CHECK_FALSE(bench.reset("rope"));
    bench.run_until(at_ms(2200));
    CHECK_FALSE(named(bench.shown().guards, "rope").reset_needed);
    CHECK(signal_of(bench, "rope").used.value);
    // a refused act is one that was done
    CHECK(bench.acts().size() == 4);
    CHECK(bench.acts()[1].refused == "rope is still interrupted");
}

TEST_CASE("a cable that is out stops its link alone, and in again it waits for an acknowledgement") {
    DeskBench bench(glass_line(), 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(1000));
    CHECK_FALSE(bench.cable("bridge", false));
    CHECK(said(bench.cable("bridge", false)) == std::string("the cable is out already"));
    bench.run_until(at_ms(1500));
    const auto link = [&](const char* name) { return named(bench.shown().links, name); };
    CHECK(link("bridge").cable_out);
    CHECK(link("bridge").controller.state == State::safe_state);
    CHECK(link("bridge").controller.cause == proto::Cause::time_expectation);
    CHECK(link("table").controller.state == State::running);
    CHECK(said(bench.start_machine("bridge")) ==
          std::string("bridge does not start: bridge drive is in the safe state"));
    CHECK_FALSE(bench.cable("bridge", true));
    bench.run_until(at_ms(2500));
    CHECK(link("bridge").controller.asks_for_acknowledgement);
    CHECK_FALSE(bench.acknowledge("bridge"));
    bench.run_until(at_ms(3000));
    CHECK(link("bridge").controller.state == State::running);
    CHECK(link("bridge").faults.empty());
}

TEST_CASE("an end without power is dark until somebody gives it back, the controller's is one for all links") {
    DeskBench bench(glass_line(), 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(1000));
    CHECK_FALSE(bench.power("table", sim::End::controller, false));
    bench.run_until(at_ms(20'000));
    for (const sim::DeskLink& link : bench.shown().links) {
        CHECK(link.controller.dark);
        CHECK_FALSE(link.device.dark);
        CHECK(link.device.state == State::safe_state);
        CHECK(link.controller.counters.sent == 0);
    }
    CHECK(said(bench.power("bridge", sim::End::controller, false)) ==
          std::string("the power of line controller is off already"));
    CHECK_FALSE(bench.power("infeed", sim::End::controller, true));
    bench.run_until(at_ms(21'000));
    for (const sim::DeskLink& link : bench.shown().links) {
        CHECK_FALSE(link.controller.dark);
        CHECK(link.controller.counters.sent > 0);
    }
}

TEST_CASE("ends that disagree stay starting, with the refusal, whatever people do") {
    const sim::Scenario scenario = scenario_of("glass_table/four_settings_differ.toml");
    DeskBench bench(scenario, 1, DeskBench::Begin::by_hand);
    bool refused = false;
    for (int i = 1; i <= 100; ++i) {
        bench.run_until(at_ms(i * 100));
        if (i % 10 == 0) static_cast<void>(bench.acknowledge());
        const sim::DeskLink link = bench.shown().links.front();
        CHECK(link.controller.state != State::running);
        CHECK(link.device.state != State::running);
        refused =
            refused || link.device.refusal != proto::Refusal::none || link.controller.refusal != proto::Refusal::none;
    }
    CHECK(refused);
    const auto why = bench.start_machine();
    REQUIRE(why);
    CHECK(why->words.find("has not started: its link does not run") != std::string::npos);
}

TEST_CASE("what cannot be done at a desk is refused in words, and leaves nothing") {
    DeskBench bench(glass_line(), 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(500));
    CHECK(said(bench.guard("infeed", true)) == std::string("there is no guard named \"infeed\""));
    CHECK(said(bench.guard("rope", false)) == std::string("rope is not held by anybody at the desk"));
    CHECK(said(bench.acknowledge("saw")) == std::string("there is no link named \"saw\""));
    CHECK(said(bench.start_machine()) == std::string("there are several machines: say which"));
    CHECK(said(bench.start_machine("saw")) == std::string("there is no machine named \"saw\""));
    CHECK(said(bench.select_mode("setting")) == std::string("there is no mode named \"setting\""));
    CHECK(said(bench.cable("table", true)) == std::string("the cable is in already"));
    CHECK(said(bench.take_out_faults()) == std::string("no fault is in"));
    const sim::Scenario link = glass_line().links[1].alone;
    const sim::Fault swap = sim::usual_fault(link, sim::FaultWay::swap, sim::FaultDirection::both);
    const auto refused = bench.put_in("bridge", swap, {});
    REQUIRE(refused);
    CHECK(refused->words.find("needs a neighbour link") != std::string::npos);
    // of one link it can be kept exactly, of several it could not
    const sim::Fault drift =
        sim::usual_fault(link, sim::FaultWay::clock_drift, sim::FaultDirection::both, sim::End::controller);
    const auto no_drift = bench.put_in("bridge", drift, {});
    REQUIRE(no_drift);
    CHECK(no_drift->words.find("the clock of a controller with several links") == 0);
    sim::Fault late = sim::usual_fault(link, sim::FaultWay::step, sim::FaultDirection::to_device);
    late.lasting.reset();
    late.times = 5;
    CHECK(said(bench.put_in("bridge", late, {})) ==
          std::string("a polled link rides through one late telegram: say for how long"));
    CHECK(bench.acts().empty());
    CHECK(bench.kept_blocks().empty());
}

TEST_CASE("an emergency stop at a desk cuts its machine without the link, latches, and starts nothing when released") {
    DeskBench bench(glass_line(), 1, DeskBench::Begin::by_hand);
    const auto bridge = [&] { return named(bench.shown().machines, "bridge"); };
    bench.run_until(at_ms(1000));
    CHECK_FALSE(bench.start_machine("bridge"));
    bench.run_until(at_ms(2000));
    // nothing of the link is asked for it
    CHECK_FALSE(bench.cable("bridge", false));
    bench.run_until(bench.now() + proto::milliseconds(1));
    REQUIRE(bridge().command == sim::DriveCommand::run);
    CHECK_FALSE(bench.emergency_stop("bridge", true));
    const Instant pressed = bench.acts().back().at;
    CHECK(bridge().emergency_stop);
    CHECK(bridge().command == sim::DriveCommand::stop_category_0);
    CHECK(bridge().asked == sim::DriveCommand::run);
    CHECK(said(bench.emergency_stop("bridge", true)) == "the emergency stop of bridge is pressed already");
    // its own stop without power, from the press
    for (const sim::CellLink& link : glass_line().links)
        if (link.alone.machine && link.alone.machine->name == "bridge") {
            const auto takes = sim::MachineModel::stopping_time(*link.alone.machine, sim::StopCategory::category_0);
            bench.run_until(pressed + takes - proto::milliseconds(1));
            CHECK(bridge().moves);
            CHECK(bridge().speed_um_s < bridge().full_um_s);
            bench.run_until(pressed + takes + proto::Duration{1});
            CHECK_FALSE(bridge().moves);
        }
    // the other machine knows nothing of it
    for (const sim::DeskMachine& one : bench.shown().machines) CHECK(one.emergency_stop == (one.name == "bridge"));
    CHECK_FALSE(bench.cable("bridge", true));
    bench.run_until(bench.now() + proto::milliseconds(500));
    CHECK_FALSE(bench.acknowledge());
    bench.run_until(bench.now() + proto::milliseconds(500));
    const sim::DeskRefusal why = bench.start_machine("bridge");
    REQUIRE(why);
    CHECK(why->kind == sim::DeskNo::emergency_stop);
    CHECK(why->words == "bridge does not start: its emergency stop is pressed");
    CHECK_FALSE(bench.emergency_stop("bridge", false));
    CHECK(said(bench.emergency_stop("bridge", false)) == "the emergency stop of bridge is released already");
    bench.run_until(bench.now() + proto::seconds(1));
    CHECK(bridge().command == sim::DriveCommand::run);
    CHECK(bridge().speed_um_s == 0);
    CHECK_FALSE(bridge().started);
    CHECK(bridge().stopped_by_hand);
    CHECK_FALSE(bench.start_machine("bridge"));
    CHECK_FALSE(bridge().stopped_by_hand);
    bench.run_until(bench.now() + proto::seconds(1));
    CHECK(bridge().speed_um_s == bridge().full_um_s);
}

TEST_CASE("what is kept of a desk ends where an emergency stop was pressed first") {
    DeskBench bench(glass_line(), 1, DeskBench::Begin::by_hand);
    bench.run_until(at_ms(1000));
    CHECK_FALSE(bench.start_machine("bridge"));
    bench.run_until(at_ms(2000));
    CHECK_FALSE(bench.guard("infeed_curtain", true));
    const Instant held = bench.acts().back().at;
    bench.run_until(at_ms(2100));
    const std::string before = bench.kept_blocks();
    CHECK_FALSE(bench.emergency_stop("bridge", true));
    const Instant pressed = bench.acts().back().at;
    CHECK(bench.kept_until() == pressed);
    bench.run_until(at_ms(3000));
    CHECK_FALSE(bench.emergency_stop("bridge", false));
    CHECK_FALSE(bench.cable("bridge", false));
    CHECK_FALSE(bench.acknowledge());
    bench.run_until(at_ms(60'000));
    CHECK(bench.kept_until() == pressed);
    // the guard is held until then; nothing later is there
    const std::string kept = bench.kept_blocks();
    CHECK(kept.find("lasting = \"" + sim::written(pressed - held) + "\"") != std::string::npos);
    CHECK(kept.find("[[fault]]") == std::string::npos);
    CHECK(kept.find("acknowledge") == std::string::npos);
    CHECK(bench.kept_duration() < proto::seconds(20));
    CHECK(std::count(kept.begin(), kept.end(), '[') == std::count(before.begin(), before.end(), '['));
}

}  // namespace
