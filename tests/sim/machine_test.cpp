#include "sim/plant/machine.hpp"

#include <doctest/doctest.h>

#include "sim/drive/rehearsal.hpp"
#include "tests/support/scenarios.hpp"

namespace {

using proto::Duration;
using proto::Instant;
using proto::milliseconds;
using sim::DriveCommand;
using sim::MachineModel;
using sim::StopCategory;

Instant at(std::int64_t ms) { return Instant{} + milliseconds(ms); }

/// 400 mm/s, to 50 mm/s reduced; braking 1 m/s2, ramp 2 m/s2; the drive needs 10 ms.
sim::Machine lift() {
    sim::Machine machine;
    machine.reaction_delay = milliseconds(10);
    machine.speed_um_s = 400'000;
    machine.reduced_speed_um_s = 50'000;
    machine.braking_um_s2 = 1'000'000;
    machine.ramp_um_s2 = 2'000'000;
    return machine;
}

TEST_CASE("the stopping time is the drive's delay and speed over deceleration") {
    // IEC 60204-1, 9.2: category 0 brakes without power, 1 and 2 along the ramp
    CHECK(MachineModel::stopping_time(lift(), StopCategory::category_0) == milliseconds(10 + 400));
    CHECK(MachineModel::stopping_time(lift(), StopCategory::category_1) == milliseconds(10 + 200));
    CHECK(MachineModel::stopping_time(lift(), StopCategory::category_2) == milliseconds(10 + 200));
    CHECK(MachineModel::stopping_time(lift(), StopCategory::reduced_speed) == milliseconds(10 + 175));
}

TEST_CASE("a time that is no whole nanosecond is rounded up") {
    sim::Machine machine = lift();
    machine.speed_um_s = 1;
    machine.braking_um_s2 = 3;
    CHECK(MachineModel::stopping_time(machine, StopCategory::category_0) - machine.reaction_delay ==
          Duration{333'333'334});
}

TEST_CASE("the machine moves as the closed form says and stands afterwards") {
    MachineModel machine(lift());
    CHECK(machine.speed(at(0)) == 0);
    CHECK_FALSE(machine.moving(at(0)));
    REQUIRE(machine.start(at(100)));
    CHECK(machine.moving(at(5000)));
    machine.command(DriveCommand::stop_category_1, at(1000));
    CHECK(machine.speed(at(1010)) == 400'000);
    CHECK(machine.speed(at(1110)) == 200'000);
    CHECK(machine.settles_at() == at(1210));
    CHECK(machine.moving(at(1209)));
    CHECK_FALSE(machine.moving(at(1210)));
    CHECK(machine.speed(at(1210)) == 0);
    CHECK_FALSE(machine.started());
}

TEST_CASE("a milder command never undoes a stop, and only a start moves the machine again") {
    for (const auto stop :
         {DriveCommand::stop_category_0, DriveCommand::stop_category_1, DriveCommand::stop_category_2}) {
        MachineModel machine(lift());
        REQUIRE(machine.start(at(0)));
        machine.command(stop, at(100));
        const Instant harmless = machine.settles_at();
        CHECK_FALSE(machine.start(at(110)));  // refused while a signal stops it
        machine.command(DriveCommand::reduce, at(120));
        CHECK_FALSE(machine.start(at(121)));
        machine.command(DriveCommand::run, at(130));
        CHECK(machine.settles_at() == harmless);
        CHECK(machine.speed(at(1000)) == 0);
        CHECK(machine.start(at(1000)));
        CHECK(machine.speed(at(1000)) == 400'000);
    }
}

TEST_CASE("a reduced speed stays until a start, and a stop goes on from it") {
    MachineModel machine(lift());
    REQUIRE(machine.start(at(0)));
    machine.command(DriveCommand::reduce, at(100));
    CHECK(machine.settles_at() == at(285));
    machine.command(DriveCommand::run, at(400));
    CHECK(machine.speed(at(1000)) == 50'000);
    machine.command(DriveCommand::stop_category_1, at(1000));
    CHECK(machine.speed(at(1011)) == 48'000);
    CHECK(machine.speed(at(1035)) == 0);
}

TEST_CASE("a harder stop during a milder one takes over from the speed that is left") {
    sim::Machine hard = lift();
    hard.braking_um_s2 = 8'000'000;
    MachineModel machine(hard);
    REQUIRE(machine.start(at(0)));
    machine.command(DriveCommand::stop_category_1, at(100));  // 200 mm/s left at 210 ms
    machine.command(DriveCommand::stop_category_0, at(200));
    CHECK(machine.settles_at() == at(235));
    CHECK(machine.speed(at(205)) == 210'000);  // the drive still ramps while it has not reacted
}

/// A table that goes slowly while the curtain is interrupted and stops for the rope.
sim::Scenario slow_table() {
    sim::Scenario s = tests::polled_link();
    s.signals.push_back({"full_speed", sim::Direction::to_device, {"curtain_free"}, {}});
    s.signals[1].all_of = {"rope_pull"};
    for (sim::TypedEnd* end : {&s.controller, &s.device}) end->bits.push_back({"full_speed", {0, 2}, {}});
    tests::use_typed_bits(s);
    s.machine->reduced_speed_um_s = 50'000;
    s.machine->reactions.push_back({"full_speed", StopCategory::reduced_speed, {}});
    return s;
}

TEST_CASE("a stop from reduced speed is no motion by itself") {
    sim::Scenario s = slow_table();
    s.demands = {tests::demand_of("table_curtain", proto::seconds(1)),
                 tests::demand_of("rope_pull", milliseconds(1400))};
    s.demands[0].lasting = milliseconds(800);
    const auto result = sim::rehearse(s, 1);
    CHECK(result.twin.recovered);
    CHECK(result.verdict == sim::RunVerdict::pass);
    s.demands.pop_back();
    s.faults = {tests::lasting(tests::on(tests::fault_of(sim::FaultWay::drop, milliseconds(1400)), tests::Ways::both),
                               milliseconds(300))};
    CHECK(sim::rehearse(s, 1).twin.recovered);
}

}  // namespace
