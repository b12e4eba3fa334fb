// A bench runs on while people act on it: each act does what the endpoints and the machine do, and no more.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "sim/reading/read.hpp"
#include "sim/training/bench.hpp"
#include "sim/training/bench_clock.hpp"

namespace {

sim::Scenario press() {
    const auto read =
        sim::read_scenario(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/drills/plants/veneer_press_1.toml");
    REQUIRE(read.ok());
    return read.value();
}

sim::Instant at(double seconds) { return {static_cast<std::int64_t>(seconds * 1e9)}; }

sim::Fault cut() {
    sim::Fault fault;
    fault.error = sim::ErrorKind::loss;
    fault.way = sim::FaultWay::drop;
    fault.to_device = fault.to_controller = true;
    fault.lasting = proto::seconds(1);
    return fault;
}

}  // namespace

TEST_CASE("acknowledgement, reset and restart are three acts, and only the last moves the machine") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(2));
    CHECK(bench.machine_moves());
    REQUIRE(bench.put_in(cut()));
    bench.run_until(at(4));
    CHECK_FALSE(bench.machine_moves());
    REQUIRE(bench.panel(sim::End::controller).asks_for_acknowledgement);
    CHECK(bench.start_machine() == sim::StartRefusal::link_stopped);
    bench.acknowledge();
    bench.run_until(at(5));
    CHECK(bench.panel(sim::End::controller).state == proto::State::running);
    CHECK_FALSE(bench.machine_moves());
    CHECK_FALSE(bench.start_machine());
    bench.run_until(at(5.5));
    CHECK(bench.machine_moves());
    CHECK(bench.start_machine() == sim::StartRefusal::runs_already);
}

TEST_CASE("an acknowledgement that nobody asked for has no effect and is noted") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(2));
    bench.acknowledge();
    bench.run_until(at(3));
    bool noted = false;
    for (const sim::BenchEvent& event : bench.events())
        noted = noted || event.kind == sim::BenchEvent::Kind::acknowledged_in_vain;
    CHECK(noted);
    CHECK(bench.panel(sim::End::controller).state == proto::State::running);
}

TEST_CASE("a guard demanded by hand stops the machine and is let go again") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(2));
    bench.demand(0);
    bench.run_until(at(3));
    CHECK_FALSE(bench.machine_moves());
    CHECK_FALSE(bench.plant().safeguard(0).free());
    bench.run_until(at(5));
    CHECK(bench.plant().safeguard(0).free());
    CHECK_FALSE(bench.machine_moves());
}

TEST_CASE("a bench knows that its link runs, and which demand is still on its way, though nobody judges there") {
    sim::Bench bench(press(), 1);
    CHECK_FALSE(bench.link().running());
    bench.run_until(at(2));
    CHECK(bench.link().running());
    CHECK_FALSE(bench.plant().demand_open());
    bench.demand(0);
    // from the contact's opening until the output's end has used it
    const proto::Instant contact = at(2) + bench.scenario().safeguards[0].delay;
    bench.run_until(contact + proto::Duration{1});
    CHECK(bench.plant().demand_open());
    bench.run_until(at(3));
    CHECK_FALSE(bench.plant().demand_open());
    REQUIRE(bench.put_in(cut()));
    bench.run_until(at(3.5));
    CHECK_FALSE(bench.link().running());
}

TEST_CASE("a fault put in by hand can be taken out again") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(2));
    sim::Fault fault = cut();
    fault.lasting = proto::seconds(1000);
    REQUIRE(bench.put_in(fault));
    bench.run_until(at(4));
    CHECK(bench.panel(sim::End::device).received_per_second == 0);
    bench.take_out_faults();
    bench.run_until(at(6));
    CHECK(bench.panel(sim::End::device).received_per_second > 0);
    CHECK(bench.panel(sim::End::controller).asks_for_acknowledgement);
}

TEST_CASE("a fault by hand begins after its time, or with the next demand and not before") {
    sim::Bench later(press(), 1);
    later.run_until(at(2));
    REQUIRE(later.put_in(cut(), proto::seconds(3)));
    later.run_until(at(4.9));
    CHECK(later.panel(sim::End::device).state == proto::State::running);
    later.run_until(at(5.5));
    CHECK(later.panel(sim::End::device).state != proto::State::running);

    sim::Bench waiting(press(), 1);
    waiting.run_until(at(2));
    REQUIRE(waiting.put_in_at_next_demand(cut()));
    waiting.run_until(at(8));
    CHECK(waiting.panel(sim::End::device).state == proto::State::running);
    waiting.demand(0);
    waiting.run_until(at(8.5));
    CHECK(waiting.panel(sim::End::device).state != proto::State::running);

    sim::Bench taken_out(press(), 1);
    taken_out.run_until(at(2));
    REQUIRE(taken_out.put_in_at_next_demand(cut()));
    taken_out.take_out_faults();
    taken_out.demand(0);
    taken_out.run_until(at(4));
    CHECK(taken_out.panel(sim::End::device).state == proto::State::running);
}

TEST_CASE("the emergency stop needs no link, latches, and starts nothing when it is pulled again") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(2));
    sim::Fault frozen;
    frozen.way = sim::FaultWay::frozen_data;
    frozen.at_end = sim::End::device;
    REQUIRE(bench.put_in(frozen));
    bench.run_until(at(3));
    bench.demand(0);
    bench.run_until(at(4));
    CHECK(bench.machine_moves());  // no guard reaches the drive any more
    bench.press_emergency_stop(true);
    bench.run_until(at(5));
    CHECK_FALSE(bench.machine_moves());
    CHECK(bench.start_machine() == sim::StartRefusal::emergency_stop);
    bench.press_emergency_stop(false);
    bench.run_until(at(6));
    CHECK_FALSE(bench.machine_moves());
    CHECK_FALSE(bench.start_machine());
}

TEST_CASE("isolation stops a machine, whatever the link says, and no start sets it in motion before it is given back") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(2));
    REQUIRE(bench.machine_moves());
    bench.isolate(true);
    bench.run_until(at(3));
    CHECK_FALSE(bench.machine_moves());
    CHECK(bench.plant().machine()->held(sim::MachineModel::Hold::isolation));
    CHECK(bench.panel(sim::End::device).state == proto::State::running);
    CHECK(bench.start_machine() == sim::StartRefusal::isolated);
    // one is no substitute for the other: each holds it alone
    bench.press_emergency_stop(true);
    bench.press_emergency_stop(false);
    CHECK(bench.start_machine() == sim::StartRefusal::isolated);
    bench.run_until(at(4));
    CHECK_FALSE(bench.machine_moves());
    bench.isolate(false);
    bench.run_until(at(5));
    CHECK_FALSE(bench.machine_moves());
    CHECK_FALSE(bench.start_machine());
    bench.run_until(at(6));
    CHECK(bench.machine_moves());
}

TEST_CASE("isolation is seen to hold: a start is tried, and told as refused") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(2));
    bench.isolate(true);
    bench.isolate(true);  // it is so already
    std::vector<sim::BenchEvent::Kind> told;
    for (const sim::BenchEvent& event : bench.events())
        if (event.kind == sim::BenchEvent::Kind::isolated || event.kind == sim::BenchEvent::Kind::machine_not_started)
            told.push_back(event.kind);
    REQUIRE(told == std::vector{sim::BenchEvent::Kind::isolated, sim::BenchEvent::Kind::machine_not_started});
    CHECK(bench.events().back().detail == static_cast<std::size_t>(sim::StartRefusal::isolated));
}

TEST_CASE("a machine that a guard keeps still says that a stop is asked for") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(2));
    bench.demand(0);
    bench.run_until(at(3));
    CHECK(bench.start_machine() == sim::StartRefusal::stop_asked_for);
}

TEST_CASE("the telegrams that are shown stay for a second, and are the last ones once no more come") {
    sim::Bench bench(press(), 7);
    sim::Fault off;
    off.error = sim::ErrorKind::none;
    off.way = sim::FaultWay::restart;
    off.at_end = sim::End::controller;
    off.lasting = proto::seconds(5);
    REQUIRE(bench.put_in(off, proto::seconds(3)));
    const auto serials = [&](double seconds) {
        bench.run_until(at(seconds));
        std::vector<std::uint64_t> all;
        for (const sim::Seen& seen : bench.recorder().readable(bench.now())) all.push_back(seen.serial);
        return all;
    };
    const auto first = serials(1.1);
    CHECK(first.size() == sim::Recorder::readable_at_once);
    CHECK(serials(1.9) == first);
    CHECK(serials(2.1) != first);
    serials(3.5);
    const sim::Seen last = bench.recorder().latest().back();
    CHECK(serials(3.6).back() != last.serial);
    CHECK(serials(5.0).back() == bench.recorder().latest().back().serial);
    CHECK(bench.recorder().latest().back().at < at(3.1));
}

TEST_CASE("telegrams are recorded in the order of time, whatever the steps") {
    sim::Bench one(press(), 7), other(press(), 7);
    REQUIRE(one.put_in(cut(), proto::seconds(2)));
    REQUIRE(other.put_in(cut(), proto::seconds(2)));
    one.run_until(at(4));
    for (int i = 1; i <= 4000; ++i) other.run_until(at(i * 0.001));
    for (const sim::Bench* bench : {&one, &other}) {
        sim::Instant before{};
        for (const sim::Seen& seen : bench->recorder().latest()) {
            CHECK(seen.at >= before);
            before = seen.at;
        }
    }
    const auto &held = one.recorder().around_first_stop(), &again = other.recorder().around_first_stop();
    REQUIRE(held.size() == again.size());
    REQUIRE(held.size() > sim::Recorder::around_after);
    for (std::size_t i = 0; i < held.size(); ++i) {
        CHECK(held[i].at == again[i].at);
        CHECK(held[i].bytes == again[i].bytes);
        CHECK(held[i].verdict.has_value() == again[i].verdict.has_value());
    }
    CHECK(one.panel(sim::End::device).longest_cycle == other.panel(sim::End::device).longest_cycle);
}

TEST_CASE("the same bench in other steps shows the same") {
    sim::Bench one(press(), 7), other(press(), 7);
    one.run_until(at(3));
    for (int i = 1; i <= 300; ++i) other.run_until(at(i * 0.01));
    CHECK(one.panel(sim::End::device).counters.received == other.panel(sim::End::device).counters.received);
    CHECK(one.plant().machine()->position(one.now()) == other.plant().machine()->position(other.now()));
    CHECK(one.events().size() == other.events().size());
}

TEST_CASE("the strip keeps the last twenty seconds, one sample each 50 ms") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(30));
    REQUIRE(bench.record().latest.size() == sim::Bench::samples_kept);
    CHECK(bench.record().latest.back().at - bench.record().latest.front().at == proto::milliseconds(50) * 399);
}

TEST_CASE("what was before the record is not counted, not shown, and not drawn") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(2));
    const auto before = bench.panel(sim::End::device).counters;
    REQUIRE(bench.events().size() > 2);
    bench.begin_record();
    CHECK(bench.events().empty());
    CHECK(bench.panel(sim::End::device).counters.received == 0);
    bench.run_until(at(3));
    const sim::Panel panel = bench.panel(sim::End::device);
    CHECK(panel.counters.received == 100);
    CHECK(panel.counters.number_sent > before.number_sent);
    CHECK(panel.counted_since == at(2));
    CHECK(bench.record().latest.front().at == at(2));
    CHECK(bench.record().at_begin.samples().front().at == at(2));
    // an end that starts anew counts from then on
    sim::Fault restart;
    restart.way = sim::FaultWay::restart;
    restart.at_end = sim::End::device;
    restart.lasting = proto::milliseconds(100);
    REQUIRE(bench.put_in(restart));
    bench.run_until(at(5));
    CHECK(bench.panel(sim::End::device).counted_since >= at(3));
    CHECK(bench.panel(sim::End::device).counters.received < 200);
}

TEST_CASE("samples around the first stop and around the first demands stay, however much later somebody looks") {
    sim::Bench bench(press(), 1);
    bench.run_until(at(5));
    bench.demand(1);
    bench.run_until(at(60));
    const auto& around = bench.record().around_demands.samples();
    REQUIRE_FALSE(around.empty());
    CHECK(around.front().at == at(3));
    CHECK(around.back().at == at(8));
    CHECK(around[45].demanded == 2);
    CHECK(bench.record().around_stop.samples().empty());
    CHECK(bench.record().latest.front().at > at(39));
}

TEST_CASE("a trail over a long run has few points, from its begin to its end") {
    sim::Trail trail;
    for (int i = 0; i < 100'000; ++i) trail.note(at(i * 0.01), proto::milliseconds(i / 100));
    CHECK(trail.points().size() <= sim::Trail::points_max);
    CHECK(trail.points().size() > sim::Trail::points_max / 3);
    CHECK(trail.points().front().at == at(0));
    CHECK(trail.points().back().at > at(980));
    for (std::size_t i = 1; i < trail.points().size(); ++i) CHECK(trail.points()[i].at > trail.points()[i - 1].at);
}

TEST_CASE("a bench clock follows at its pace and stands while paused") {
    sim::BenchClock clock(at(10), at(100));
    CHECK(clock.at(at(101)) == at(11));
    clock.set_pace(sim::Pace::quarter, at(104));
    CHECK(clock.at(at(108)) == at(15));
    clock.set_pace(sim::Pace::paused, at(108));
    CHECK(clock.at(at(500)) == at(15));
    clock.set_pace(sim::Pace::real, at(500));
    CHECK(clock.at(at(501)) == at(16));
}
