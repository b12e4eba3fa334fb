// Safeguards and the machine by hand-computed values; lengths in micrometres, speeds in um/s.
#include <doctest/doctest.h>

#include "sim/drive/rehearsal.hpp"
#include "sim/plant/machine.hpp"
#include "sim/plant/safeguard.hpp"
#include "sim/timing/bounds.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Instant;
using proto::milliseconds;
using sim::DemandChannel;
using sim::DriveCommand;
using sim::MachineModel;
using sim::SafeguardModel;
using sim::StopCategory;

Instant at(std::int64_t ms) { return Instant{} + milliseconds(ms); }

sim::Safeguard two_channels(bool latched = false) {
    sim::Safeguard guard;
    guard.channels = 2;
    guard.discrepancy = milliseconds(30);
    guard.latched = latched;
    return guard;
}

TEST_CASE("either channel takes the signal away at once, and a short difference is no fault") {
    SafeguardModel guard(two_channels());
    CHECK(guard.free());
    guard.demand(DemandChannel::a, at(100));
    CHECK_FALSE(guard.free());
    CHECK(guard.next_check() == at(130));
    guard.demand(DemandChannel::b, at(130));  // exactly the discrepancy time: not longer
    guard.check(at(130));
    CHECK_FALSE(guard.faulty());
    guard.release(DemandChannel::both, at(400));
    CHECK(guard.free());
}

TEST_CASE("a channel that stays behind latches a fault until both were off together and a reset came") {
    SafeguardModel guard(two_channels());
    guard.demand(DemandChannel::b, at(100));
    guard.check(at(130));
    CHECK(guard.faulty());
    CHECK(guard.discrepancies() == 1);
    guard.release(DemandChannel::b, at(200));
    guard.reset();  // both are on again, but nobody has seen channel a open
    CHECK_FALSE(guard.free());
    guard.demand(DemandChannel::both, at(300));
    guard.reset();  // still demanded
    guard.release(DemandChannel::both, at(400));
    CHECK_FALSE(guard.free());
    guard.reset();
    CHECK(guard.free());
}

TEST_CASE("a latched safeguard stays off until it is reset, and not while it is pulled") {
    sim::Safeguard rope;
    rope.latched = true;
    SafeguardModel guard(rope);
    guard.demand(DemandChannel::both, at(0));
    guard.reset();
    guard.release(DemandChannel::both, at(100));
    CHECK_FALSE(guard.free());
    CHECK(guard.latched());
    guard.reset();
    CHECK(guard.free());
}

TEST_CASE("resetting a rope pull starts nothing") {  // ISO 13850: a reset only permits the restart
    sim::Scenario s = tests::polled_link();
    s.duration = proto::seconds(3);
    s.safeguards[1].latched = true;
    s.demands = {tests::demand_of("rope_pull", proto::seconds(1)), tests::demand_of("rope_pull", proto::seconds(2))};
    const auto never_reset = sim::rehearse(s, 1);
    CHECK(never_reset.safeguards[1].state == sim::SafeguardState::latched);
    sim::OperatorAct reset;
    reset.event = sim::OperatorAct::Event::time;
    reset.act = sim::OperatorAct::Act::reset;
    reset.after = milliseconds(1500);
    reset.safeguard = "rope_pull";
    s.operator_acts.push_back(reset);
    const auto stands = sim::rehearse(s, 1);
    REQUIRE(stands.demands.size() == 2);
    CHECK(stands.demands[0].standstill.has_value());
    CHECK_FALSE(stands.demands[1].standstill.has_value());  // reset, but not started: it did not move
    sim::OperatorAct start = reset;
    start.act = sim::OperatorAct::Act::start_machine;
    start.after = milliseconds(1700);
    s.operator_acts.push_back(start);
    CHECK(sim::rehearse(s, 1).demands[1].standstill.has_value());
}

TEST_CASE("R-81: a demand is held over every number that a stream may miss") {
    sim::Scenario s = tests::streaming_link();
    CHECK(sim::least_hold(s, sim::End::device) == milliseconds(55));   // 45 + 10
    s.controller.link.missing_allowed = 12;                            // what the receiver allows
    CHECK(sim::least_hold(s, sim::End::device) == milliseconds(140));  // 13 cycles and a scan
    CHECK(sim::least_hold(s, sim::End::controller) == milliseconds(55));
}

/// 400 mm/s, braking and ramp 2 m/s2, the drive needs 10 ms.
sim::Machine lift() {
    sim::Machine machine;
    machine.reaction_delay = milliseconds(10);
    machine.speed_um_s = 400'000;
    machine.braking_um_s2 = 2'000'000;
    machine.ramp_um_s2 = 2'000'000;
    return machine;
}

TEST_CASE("the way of a stop: the delay at full speed, then v*v / 2a") {
    // 0.4 m/s * 10 ms = 4 mm; 0.16 / 4 m = 40 mm
    CHECK(MachineModel::stopping_distance(lift(), StopCategory::category_1) == 44'000);
    MachineModel machine(lift());
    REQUIRE(machine.start(at(0)));
    machine.command(DriveCommand::stop_category_1, at(1000));
    CHECK(machine.travelled(at(1000)) == 400'000);
    CHECK(machine.travelled(at(1110)) == 400'000 + 4'000 + 30'000);  // 0.4 * 0.1 - 2 * 0.1 * 0.1 / 2 m
    CHECK(machine.travelled(at(5000)) == 444'000);
    CHECK(machine.standstills(at(1209)) == 0);
    CHECK(machine.standstills(at(1210)) == 1);
}

TEST_CASE("a load drops until the brake grips, and only without power") {
    sim::Machine machine = lift();
    machine.brake = sim::Brake{milliseconds(60), true};
    // v grows by 9.80665 * 0.06 = 0.588399 m/s to 0.988399 m/s; then 0.988399 / 2 = 0.4941995 s
    CHECK(MachineModel::stopping_time(machine, StopCategory::category_0) ==
          milliseconds(70) + proto::Duration{494'199'500});
    // 4 mm + 0.4 * 60 ms = 24 mm + g * 0.0036 / 2 = 17.65197 mm + 0.988399^2 / 4 = 244.233 mm (0.244233146 m)
    CHECK(MachineModel::stopping_distance(machine, StopCategory::category_0) == 4'000 + 24'000 + 17'651 + 244'233);
    CHECK(MachineModel::stopping_time(machine, StopCategory::category_1) == milliseconds(210));
    machine.brake->drops = false;  // goes on at 0.4 m/s for 60 ms
    CHECK(MachineModel::stopping_time(machine, StopCategory::category_0) == milliseconds(10 + 60 + 200));
    CHECK(MachineModel::stopping_distance(machine, StopCategory::category_0) == 4'000 + 24'000 + 40'000);
}

TEST_CASE("a load that the drive holds drops from standstill, one that the brake holds does not") {
    sim::Machine machine = lift();
    machine.brake = sim::Brake{milliseconds(60), true};
    for (const bool held_by_drive : {true, false}) {
        MachineModel model(machine);
        REQUIRE(model.start(at(0)));
        model.command(held_by_drive ? DriveCommand::stop_category_2 : DriveCommand::stop_category_1, at(100));
        CHECK(model.speed(at(1000)) == 0);
        model.command(DriveCommand::stop_category_0, at(1000));
        CHECK(model.speed(at(1070)) == (held_by_drive ? 588'399 : 0));
        CHECK(model.moving(at(1070)) == held_by_drive);
    }
}

TEST_CASE("the position goes there and back") {
    sim::Machine machine = lift();
    machine.travel_um = 100'000;
    MachineModel model(machine);
    REQUIRE(model.start(at(0)));
    CHECK(model.position(at(100)) == 40'000);
    CHECK(model.position(at(250)) == 100'000);
    CHECK(model.position(at(300)) == 80'000);
    CHECK(model.position(at(500)) == 0);
    CHECK(model.position(at(600)) == 40'000);
}

}  // namespace
