// A stop once commanded is completed: every ordered pair of reactions, the second at every place of the first one's
// ramp, with and without the return of the first signal, beside a model that goes in small steps and knows nothing of
// pieces of motion. Categories: IEC 60204-1, 9.2; that a stop is not given up for a milder demand: ISO 12100, 6.2.11
// (from memory).
#include "sim/plant/machine.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace {

using proto::Duration;
using proto::Instant;
using proto::microseconds;
using proto::milliseconds;
using sim::DriveCommand;
using sim::MachineModel;

Instant at(std::int64_t ms) { return Instant{} + milliseconds(ms); }

/// 320 mm/s, to 120 mm/s reduced; braking 1 m/s2, ramp 2 m/s2; the drive needs 10 ms.
sim::Machine rollers() {
    sim::Machine machine;
    machine.reaction_delay = milliseconds(10);
    machine.speed_um_s = 320'000;
    machine.reduced_speed_um_s = 120'000;
    machine.braking_um_s2 = 1'000'000;
    machine.ramp_um_s2 = 2'000'000;
    return machine;
}

constexpr std::array reactions{DriveCommand::reduce, DriveCommand::stop_category_2, DriveCommand::stop_category_1,
                               DriveCommand::stop_category_0};

/// What the drive is asked for over time: the most severe so far, each from its command and the drive's delay on.
struct Asked {
    DriveCommand first, second;
    double second_at;  ///< s
    [[nodiscard]] DriveCommand at(double t) const {
        constexpr double delay = 0.010, first_at = 0.100;
        DriveCommand most = DriveCommand::run;
        if (t >= first_at + delay) most = first;
        if (t >= second_at + delay) most = std::max(most, second);
        return most;
    }
};

struct Slow {
    double reduced = -1.0, stands = -1.0;  ///< s; below 0: not within 3 s
    double speed_at_end = 0.0;             ///< mm/s
};

/// In steps of 10 us: speed alone, from 320 mm/s.
Slow in_steps(const Asked& asked) {
    constexpr double step = 1e-5;
    double speed = 320.0;
    Slow seen;
    for (int i = 0; i < 300'000; ++i) {
        const double t = step * i;
        const DriveCommand most = asked.at(t);
        const double slope = most == DriveCommand::stop_category_0 ? 1000.0 : 2000.0;
        const double target = most == DriveCommand::run ? 320.0 : most == DriveCommand::reduce ? 120.0 : 0.0;
        if (speed > target) speed = std::max(target, speed - slope * step);
        if (speed <= 120.0 && seen.reduced < 0.0) seen.reduced = t;
        if (speed <= 0.0 && seen.stands < 0.0) seen.stands = t;
    }
    seen.speed_at_end = speed;
    return seen;
}

double in_s(Instant when) { return static_cast<double>(when.ns) / 1e9; }

TEST_CASE("whatever comes second, and whenever, the more severe of two reactions is completed") {
    unsigned checked = 0;
    for (const DriveCommand first : reactions)
        for (const DriveCommand second : reactions)
            for (std::int64_t after_us = 0; after_us <= 400'000; after_us += 7'300)
                for (const bool returns : {false, true}) {
                    MachineModel machine(rollers());
                    REQUIRE(machine.start(at(0)));
                    machine.command(first, at(100));
                    const Instant then = at(100) + microseconds(after_us);
                    // the first signal turns 1 again a moment before the second falls
                    if (returns) machine.command(DriveCommand::run, then - microseconds(1));
                    machine.command(returns ? second : std::max(first, second), then);
                    machine.command(DriveCommand::run, then + milliseconds(20));  // and both again
                    const Slow slow = in_steps({first, second, in_s(then)});
                    CAPTURE(static_cast<int>(first));
                    CAPTURE(static_cast<int>(second));
                    CAPTURE(after_us);
                    CAPTURE(returns);
                    CHECK(std::abs(in_s(machine.reduced_at()) - slow.reduced) < 5e-5);
                    CHECK((machine.still_at() == proto::never) == (slow.stands < 0.0));
                    if (slow.stands >= 0.0) CHECK(std::abs(in_s(machine.still_at()) - slow.stands) < 5e-5);
                    const auto speed = static_cast<double>(machine.speed(at(3000))) / 1000.0;
                    CHECK(std::abs(speed - slow.speed_at_end) < 0.5);
                    ++checked;
                }
    CHECK(checked == 4 * 4 * 55 * 2);
}

TEST_CASE("a reduced-speed demand in a ramp to standstill does not let the machine run on") {
    MachineModel machine(rollers());
    REQUIRE(machine.start(at(0)));
    machine.command(DriveCommand::stop_category_1, at(100));
    machine.command(DriveCommand::run, at(120));
    machine.command(DriveCommand::reduce, at(130));
    CHECK(machine.still_at() == at(100 + 10 + 160));
    CHECK(machine.speed(at(5000)) == 0);
}

TEST_CASE("reduced speed and standstill are two moments") {
    MachineModel machine(rollers());
    CHECK(machine.reduced_at() <= at(0));  // it stands
    REQUIRE(machine.start(at(0)));
    CHECK(machine.reduced_at() == proto::never);
    machine.command(DriveCommand::stop_category_1, at(100));
    CHECK(machine.reduced_at() == at(100 + 10 + 100));
    CHECK(machine.still_at() == at(100 + 10 + 160));
    MachineModel slow(rollers());
    REQUIRE(slow.start(at(0)));
    slow.command(DriveCommand::reduce, at(100));
    CHECK(slow.reduced_at() == at(210));
    CHECK(slow.still_at() == proto::never);
    // from reduced speed a stop has only the way that is left
    slow.command(DriveCommand::stop_category_1, at(500));
    CHECK(slow.reduced_at() <= at(500));
    CHECK(slow.still_at() == at(500 + 10 + 60));
}

TEST_CASE("a machine without a reduced speed never comes down to it") {
    sim::Machine plain = rollers();
    plain.reduced_speed_um_s = 0;
    MachineModel machine(plain);
    REQUIRE(machine.start(at(0)));
    machine.command(DriveCommand::stop_category_0, at(100));
    CHECK(machine.reduced_at() == proto::never);
}

TEST_CASE("speed returns without a start only from reduced speed, and only to a machine that was started") {
    MachineModel machine(rollers());
    CHECK_FALSE(machine.speed_up(at(0)));  // it stands
    REQUIRE(machine.start(at(10)));
    CHECK_FALSE(machine.speed_up(at(20)));  // nothing slowed it
    machine.command(DriveCommand::reduce, at(100));
    CHECK_FALSE(machine.speed_up(at(300)));  // its signal is 0 still
    machine.command(DriveCommand::run, at(400));
    CHECK(machine.speed_up(at(400)));
    CHECK(machine.speed(at(400)) == 320'000);
    machine.command(DriveCommand::reduce, at(500));
    machine.command(DriveCommand::stop_category_2, at(600));
    machine.command(DriveCommand::run, at(900));
    CHECK_FALSE(machine.speed_up(at(900)));  // a stop came between
    CHECK(machine.speed(at(2000)) == 0);
}

TEST_CASE("a drive that does not slow down is stopped by its speed monitor, and without one runs on") {
    sim::Machine machine = rollers();
    for (const bool monitored : {false, true}) {
        if (monitored)
            machine.reduced_speed_monitor = sim::SpeedMonitor{10'000, milliseconds(20), sim::StopCategory::category_1};
        MachineModel model(machine);
        model.let_slow(false);
        REQUIRE(model.start(at(0)));
        model.command(DriveCommand::reduce, at(100));
        CHECK(model.speed(at(200)) == 320'000);
        if (!monitored) {
            CHECK(model.speed(at(5000)) == 320'000);
            CHECK(model.reduced_at() == proto::never);
            continue;
        }
        // 10 ms drive and 100 ms of ramp, 20 ms over it, again 10 ms, then 160 ms to standstill
        CHECK(model.speed(at(240)) == 320'000);
        CHECK(model.reduced_at() == at(100 + 110 + 20 + 10 + 100));
        CHECK(model.still_at() == at(100 + 110 + 20 + 10 + 160));
        model.command(DriveCommand::run, at(1000));
        CHECK_FALSE(model.speed_up(at(1000)));
        CHECK(model.start(at(1000)));
    }
}

TEST_CASE("a stop that is demanded before the monitor trips is completed as it was demanded") {
    sim::Machine machine = rollers();
    machine.reduced_speed_monitor = sim::SpeedMonitor{10'000, milliseconds(20), sim::StopCategory::category_1};
    MachineModel model(machine);
    model.let_slow(false);
    REQUIRE(model.start(at(0)));
    model.command(DriveCommand::reduce, at(100));
    model.command(DriveCommand::stop_category_0, at(150));
    CHECK(model.still_at() == at(150 + 10 + 320));
}

TEST_CASE("a machine that is never faster than its reduced speed takes no time to it") {
    sim::Machine slow = rollers();
    slow.speed_um_s = slow.reduced_speed_um_s;
    CHECK(MachineModel::stopping_time(slow, sim::StopCategory::reduced_speed) == Duration{});
    CHECK(MachineModel::stopping_distance(slow, sim::StopCategory::reduced_speed) == 0);
}

}  // namespace
