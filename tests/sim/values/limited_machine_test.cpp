// A machine whose reduced speed is lowered from elsewhere while it moves.
#include <doctest/doctest.h>

#include "sim/plant/machine.hpp"

namespace {

using proto::Instant;
using proto::milliseconds;
using sim::DriveCommand;
using sim::MachineModel;

Instant at(std::int64_t ms) { return Instant{} + milliseconds(ms); }

/// 250 mm/s, reduced 50 mm/s, 1 m/s2, reacts after 10 ms.
sim::Machine table() {
    sim::Machine machine;
    machine.reaction_delay = milliseconds(10);
    machine.speed_um_s = 250'000;
    machine.reduced_speed_um_s = 50'000;
    machine.ramp_um_s2 = machine.braking_um_s2 = 1'000'000;
    return machine;
}

TEST_CASE("a limit over the typed reduced speed changes nothing, and neither does the same limit again") {
    MachineModel model(table());
    CHECK(!model.limit_reduced(50'000, at(0)));
    CHECK(!model.limit_reduced(900'000, at(0)));
    CHECK(model.limit_reduced(20'000, at(0)));
    CHECK(!model.limit_reduced(20'000, at(1)));
    CHECK(model.limit_reduced(-5, at(2)));  // as 0
    CHECK(!model.limit_reduced(0, at(3)));
    CHECK(model.limit_reduced(60'000, at(4)));
    CHECK(!model.limit_reduced(50'000, at(5)));
}

TEST_CASE("the ramp goes on to the lower speed, and what is told of the reduced speed stays that of the typed one") {
    MachineModel model(table());
    model.start(at(0));
    model.command(DriveCommand::reduce, at(1000));
    CHECK(model.settles_at() == at(1210));  // 10 ms, then 200 mm/s
    CHECK(model.reduced_at() == at(1210));
    CHECK(model.limit_reduced(20'000, at(1100)));
    CHECK(model.settles_at() == at(1240));
    CHECK(model.reduced_at() == at(1210));
    CHECK(model.speed(at(1100)) == 160'000);
    CHECK(model.speed(at(1240)) == 20'000);
    CHECK(model.moving(at(9000)));
    // from the lower one up again, at once, once the drive reacts
    CHECK(model.limit_reduced(45'000, at(2000)));
    CHECK(model.speed(at(2005)) == 20'000);
    CHECK(model.speed(at(2010)) == 45'000);
    model.command(DriveCommand::stop_category_1, at(2500));
    CHECK(model.still_at() == at(2555));
}

TEST_CASE("at full speed a limit waits for the command") {
    MachineModel model(table());
    model.start(at(0));
    CHECK(model.limit_reduced(20'000, at(500)));
    CHECK(model.speed(at(900)) == 250'000);
    model.command(DriveCommand::reduce, at(1000));
    CHECK(model.settles_at() == at(1240));
}

TEST_CASE("what a limit of 0 brought to rest moves by a start only, whatever the limit becomes") {
    MachineModel model(table());
    model.start(at(0));
    model.command(DriveCommand::reduce, at(1000));
    CHECK(model.limit_reduced(0, at(1000)));
    CHECK(model.still_at() == at(1260));
    CHECK(model.limit_reduced(50'000, at(2000)));
    CHECK(!model.moving(at(2500)));
    model.command(DriveCommand::run, at(2600));
    CHECK(!model.speed_up(at(2600)));
    CHECK(model.start(at(2700)));
    CHECK(model.speed(at(2700)) == 250'000);
}

TEST_CASE("a machine begun again has its typed reduced speed, and a drive that does not slow down heeds no limit") {
    MachineModel model(table());
    CHECK(model.limit_reduced(20'000, at(0)));
    model.begin_again();
    model.start(at(0));
    model.command(DriveCommand::reduce, at(1000));
    CHECK(model.settles_at() == at(1210));
    MachineModel stuck(table());
    stuck.start(at(0));
    stuck.let_slow(false);
    stuck.command(DriveCommand::reduce, at(1000));
    CHECK(stuck.limit_reduced(20'000, at(1100)));
    CHECK(stuck.speed(at(5000)) == 250'000);
}

}  // namespace
