// Several links at the bench: they move as one line, each is read by itself, and what people do reaches all of it.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "sim/drive/joined_run.hpp"
#include "sim/reading/read_cell.hpp"
#include "sim/training/drill_check.hpp"
#include "tests/support/drills.hpp"

namespace {

using sim::Bench;
using sim::End;
using State = proto::State;

sim::WholeCell cell_of(const std::string& file) {
    auto read = sim::read_cell(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/" + file);
    REQUIRE_MESSAGE(read.ok(), (read.ok() ? std::string() : read.error().one_line()));
    return std::move(read.value());
}

sim::WholeCell turner() { return cell_of("drills/plants/board_turner_1.toml"); }

constexpr std::size_t infeed = 0, drive = 1, outfeed = 2;  // the links of the turner

sim::Instant at(double seconds) { return {static_cast<std::int64_t>(seconds * 1e9)}; }

void cut(sim::WholeCell& cell, std::size_t link, proto::Duration when, proto::Duration lasting) {
    sim::Fault fault;
    fault.error = sim::ErrorKind::loss;
    fault.way = sim::FaultWay::drop;
    fault.to_device = fault.to_controller = true;
    fault.at = when;
    fault.lasting = lasting;
    cell.links[link].alone.faults.push_back(fault);
}

State state(const Bench& bench, std::size_t link, End end = End::controller) {
    return bench.of_link(link).panel(end).state;
}

std::size_t count(const Bench& bench, sim::BenchEvent::Kind kind) {
    std::size_t found = 0;
    for (std::size_t i = 0; i < bench.links(); ++i)
        for (const sim::BenchEvent& event : bench.of_link(i).events()) found += event.kind == kind ? 1U : 0U;
    return found;
}

const sim::SignalShown& signal(const std::vector<sim::SignalShown>& all, const std::string& name) {
    const auto found = std::find_if(all.begin(), all.end(), [&](const auto& one) { return one.name == name; });
    REQUIRE(found != all.end());
    return *found;
}

/// All that both ends of each link counted, and how the machines stand.
std::string told(const Bench& bench) {
    std::string text;
    for (std::size_t i = 0; i < bench.links(); ++i) {
        for (const End end : {End::controller, End::device}) {
            const proto::Counters counters = bench.of_link(i).link().end(end).endpoint().counters();
            text += std::to_string(counters.sent) + " " + std::to_string(counters.received) + " " +
                    std::to_string(counters.accepted) + " ";
        }
        if (const sim::MachineModel* machine = bench.of_link(i).plant().machine())
            text += std::to_string(machine->speed(bench.now())) + " ";
        for (const sim::BenchEvent& event : bench.of_link(i).events())
            text += std::to_string(event.at.ns) + ":" + std::to_string(static_cast<int>(event.kind)) + " ";
    }
    return text;
}

}  // namespace

TEST_CASE("several links at the bench run as they do in a rehearsal of the cell") {
    const sim::WholeCell cell = cell_of("glass_line/cell.toml");
    Bench bench(cell, 1, cell.seed);
    sim::JoinedRun rehearsed(cell, cell.seed, sim::Faults::all, {});
    REQUIRE(bench.links() == 3);
    for (const double until : {2.0, 12.0, 20.0, 36.0}) {
        bench.run_until(at(until));
        rehearsed.joined->run_until(at(until));
        for (std::size_t i = 0; i < bench.links(); ++i) {
            CAPTURE(until);
            CAPTURE(i);
            CHECK(bench.of_link(i).link_name() == cell.links[i].name);
            for (const End end : {End::controller, End::device}) {
                const proto::Endpoint& own = bench.of_link(i).link().end(end).endpoint();
                const proto::Endpoint& theirs = rehearsed.links[i]->cell.link().end(end).endpoint();
                CHECK(own.state() == theirs.state());
                CHECK(own.counters().accepted == theirs.counters().accepted);
                CHECK(own.counters().sent == theirs.counters().sent);
            }
            CHECK(bench.of_link(i).machine_moves() == rehearsed.links[i]->cell.plant().machine_moves(at(until)));
        }
    }
}

TEST_CASE("what several links do does not depend on how far a call goes") {
    sim::WholeCell cell = turner();
    cut(cell, infeed, proto::seconds(3), proto::seconds(1));
    Bench once(cell, drive, 5), stepwise(cell, drive, 5);
    const auto act = [](Bench& bench) {
        bench.demand(2);
        bench.acknowledge();
    };
    once.run_until(at(5));
    act(once);
    once.run_until(at(9));
    for (sim::Instant now = at(0); now < at(5); now = std::min(at(5), now + proto::milliseconds(37)))
        stepwise.run_until(now);
    stepwise.run_until(at(5));
    act(stepwise);
    for (sim::Instant now = at(5); now < at(9); now = now + proto::microseconds(4700)) stepwise.run_until(now);
    stepwise.run_until(at(9));
    CHECK(told(once) == told(stepwise));
}

TEST_CASE("a silent station stops a machine whose own link runs, and only the acts in their order bring it back") {
    const sim::Drill& drill = tests::drill(24);
    const auto bench = sim::bench_of(drill, drill.scenario.seed);
    CHECK(bench->link_name() == "turner");
    CHECK_FALSE(bench->anything_moves());
    CHECK(state(*bench, infeed) == State::safe_state);
    for (const std::size_t link : {drive, outfeed})
        for (const End end : {End::controller, End::device}) {
            CHECK(state(*bench, link, end) == State::running);
            CHECK_FALSE(bench->of_link(link).first_stop(end));
            CHECK(bench->of_link(link).panel(end).received_per_second > 90);
        }
    // the controller uses a substitute, and the drive obeys what it makes of it
    const sim::SignalShown curtain = signal(bench->of_link(infeed).signals(), "curtain_free");
    CHECK(curtain.sent);
    CHECK_FALSE(curtain.used);
    CHECK(curtain.substitute);
    const sim::SignalShown allowed = signal(bench->of_link(drive).signals(), "turning_allowed");
    CHECK_FALSE(allowed.sent);
    CHECK_FALSE(allowed.used);
    CHECK_FALSE(allowed.substitute);
    CHECK(bench->of_link(drive).signals().size() == 2);  // of its own link only
    CHECK(bench->start_machine() == sim::StartRefusal::stop_asked_for);

    bench->take_out_faults();
    bench->run_until(bench->now() + proto::seconds(2));
    REQUIRE(bench->asks_for_acknowledgement());
    bench->acknowledge(outfeed);  // in vain: another link asks
    bench->run_until(bench->now() + proto::seconds(1));
    CHECK(state(*bench, infeed) == State::awaiting_acknowledgement);
    bench->acknowledge(infeed);
    bench->run_until(bench->now() + proto::seconds(1));
    CHECK(state(*bench, infeed) == State::running);
    CHECK_FALSE(bench->anything_moves());
    CHECK_FALSE(bench->start_machine(drive));
    bench->run_until(bench->now() + proto::seconds(1));
    CHECK(bench->anything_moves());
    CHECK(bench->anything_moves_unstopped());
}

TEST_CASE("links are acknowledged one by one, or all together") {
    sim::WholeCell cell = turner();
    for (const std::size_t link : {infeed, outfeed}) cut(cell, link, proto::seconds(3), proto::seconds(1));
    for (const bool together : {false, true}) {
        Bench bench(cell, drive, 5);
        bench.run_until(at(6));
        for (const std::size_t link : {infeed, outfeed}) CHECK(state(bench, link) == State::awaiting_acknowledgement);
        if (together)
            bench.acknowledge();
        else
            bench.acknowledge(infeed);
        bench.run_until(at(7));
        CHECK(state(bench, infeed) == State::running);
        CHECK(state(bench, outfeed) == (together ? State::running : State::awaiting_acknowledgement));
    }
}

TEST_CASE("a station without supply is dark, and no other end is until it has it again") {
    sim::WholeCell cell = turner();
    sim::Fault dip;
    dip.way = sim::FaultWay::restart;
    dip.at_end = End::device;
    dip.at = proto::seconds(3);
    dip.lasting = proto::seconds(2);
    cell.links[outfeed].alone.faults.push_back(dip);
    Bench bench(cell, drive, 5);
    const auto dark = [&] {
        std::string all;
        for (std::size_t i = 0; i < bench.links(); ++i)
            for (const End end : {End::controller, End::device}) all += bench.of_link(i).panel(end).dark ? "1" : "0";
        return all;
    };
    // when the time line tells that it was switched on
    const auto told = [&] {
        std::vector<std::int64_t> times;
        for (const sim::BenchEvent& event : bench.of_link(outfeed).events())
            if (event.transition && event.transition->cause == proto::Cause::power_up && event.end == End::device)
                times.push_back(event.at.ns / 1'000'000);
        return times;
    };
    bench.run_until(at(2.9));
    CHECK(dark() == "000000");
    CHECK(bench.anything_moves());
    const std::size_t before = told().size();
    bench.run_until(at(4));
    CHECK(dark() == "000001");
    CHECK_FALSE(bench.anything_moves());
    CHECK(told().size() == before);
    bench.run_until(at(5.5));
    CHECK(dark() == "000000");
    CHECK(told().size() == before + 1);
    CHECK(told().back() == 5'000);
    CHECK(bench.of_link(outfeed).panel(End::device).starts == 2);
}

TEST_CASE("a guard of any station stops the machine of another, is told once, and lets go again") {
    Bench bench(turner(), drive, 5);
    bench.run_until(at(3));
    REQUIRE(bench.anything_moves());
    bench.demand(2);  // the door of the outfeed
    bench.run_until(at(4));
    CHECK_FALSE(bench.anything_moves());
    CHECK_FALSE(signal(bench.of_link(outfeed).signals(), "door_shut").sent);
    CHECK(count(bench, sim::BenchEvent::Kind::demanded) == 1);
    CHECK(bench.of_link(outfeed).reads_guard(2));
    bench.run_until(at(6));
    CHECK(count(bench, sim::BenchEvent::Kind::released) == 1);
    CHECK(signal(bench.of_link(outfeed).signals(), "door_shut").used);
    CHECK_FALSE(bench.anything_moves());
    CHECK_FALSE(bench.start_machine());
    bench.run_until(at(7));
    CHECK(bench.anything_moves());
}

TEST_CASE("isolation and emergency stop hold every machine of the line") {
    const sim::WholeCell cell = cell_of("glass_line/cell.toml");
    Bench bench(cell, 1, cell.seed);
    bench.run_until(at(2));
    const auto moving = [&] {
        std::size_t machines = 0;
        for (std::size_t i = 0; i < bench.links(); ++i) machines += bench.of_link(i).machine_moves() ? 1U : 0U;
        return machines;
    };
    REQUIRE(moving() == 2);
    bench.isolate(true);
    bench.run_until(at(2.9));
    CHECK(moving() == 0);
    CHECK(count(bench, sim::BenchEvent::Kind::machine_not_started) == 2);  // each was tried
    for (const std::size_t link : {1U, 2U}) CHECK(bench.start_machine(link) == sim::StartRefusal::isolated);
    CHECK(bench.start_machine(0) == sim::StartRefusal::no_machine);
    bench.isolate(false);
    bench.press_emergency_stop(true);
    CHECK(bench.start_machine(2) == sim::StartRefusal::emergency_stop);
    bench.press_emergency_stop(false);
    CHECK_FALSE(bench.start_machine(2));
    bench.run_until(at(2.95));
    CHECK(moving() == 1);
}
