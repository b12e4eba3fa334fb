// What people did at a desk, kept and rehearsed, passes through the same states at the same nanoseconds.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "tests/support/desk_law.hpp"

namespace {

using Begin = sim::DeskBench::Begin;

using Stops = tests::RandomPeople::Stops;

/// So many acts at random, then what was done is kept and run again. Up to when.
sim::Instant try_acts(const std::string& name, std::uint64_t seed, unsigned acts, Begin begin,
                      Stops stops = Stops::none) {
    const tests::DeskFile file = tests::desk_file(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/" + name);
    const std::vector<sim::Scenario> links = tests::links_of(file);
    sim::DeskTrace trace;
    const auto bench = tests::bench_of(file, seed, begin, &trace);
    tests::RandomPeople people(seed, stops);
    unsigned done = 0;
    for (unsigned tries = 0; done < acts && tries < acts * 20; ++tries) done += people.act(*bench, links) ? 1U : 0U;
    bench->run_until(bench->now() + proto::milliseconds(400));
    CHECK(done == acts);
    const std::string differs = tests::what_differs(file, seed, begin, *bench, trace);
    CHECK_MESSAGE(differs.empty(), name << ", seed " << seed << ": " << differs);
    return bench->kept_until();
}

TEST_CASE("what was done at a desk is rehearsed to the nanosecond") {
    for (const char* name :
         {"templates/both_directions.toml", "templates/guards_in_one_bit.toml", "templates/over_two_links.toml",
          "templates/rope_pull.toml", "templates/stream_with_time_stamps.toml", "glass_line/cell.toml",
          "glass_table/over_radio.toml", "glass_table/speed_as_value.toml", "log_debarker/guards.toml",
          "stage_lift/two_copies.toml", "stage_lift/streaming_errors.toml", "stage_lift/channels_disagree.toml",
          "veneer_press/drive_interference.toml", "veneer_press/second_error_stops.toml",
          "glass_table/other_subnet.toml"})
        for (std::uint64_t seed = 1; seed <= 5; ++seed) static_cast<void>(try_acts(name, seed, 50, Begin::by_hand));
}

TEST_CASE("what people did besides at a bench as written is rehearsed so with the file's own") {
    for (const char* name : {"templates/both_directions.toml", "templates/over_two_links.toml", "glass_line/cell.toml",
                             "stage_lift/rope_pull_reset.toml", "veneer_press/all_errors.toml"})
        for (std::uint64_t seed = 1; seed <= 4; ++seed) static_cast<void>(try_acts(name, seed, 30, Begin::as_written));
}

TEST_CASE("with emergency stops, what was done is rehearsed to the nanosecond up to the first") {
    unsigned stopped = 0;
    for (const char* name : {"templates/guards_in_one_bit.toml", "templates/over_two_links.toml",
                             "glass_line/cell.toml", "glass_table/speed_as_value.toml", "stage_lift/two_copies.toml"})
        for (std::uint64_t seed = 1; seed <= 6; ++seed) {
            const sim::Instant with = try_acts(name, seed, 50, Begin::by_hand, Stops::now_and_then);
            stopped += with > sim::Instant{} + proto::milliseconds(500) ? 1U : 0U;
        }
    CHECK(stopped >= 15);
    for (std::uint64_t seed = 1; seed <= 4; ++seed)
        static_cast<void>(try_acts("glass_line/cell.toml", seed, 30, Begin::as_written, Stops::now_and_then));
}

TEST_CASE("what came after an emergency stop would be rehearsed otherwise: it is no act of a file") {
    const tests::DeskFile file =
        tests::desk_file(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/templates/guards_in_one_bit.toml");
    sim::DeskTrace shown, run;
    const auto bench = tests::bench_of(file, 1, Begin::by_hand, &shown);
    bench->run_until(sim::Instant{} + proto::milliseconds(500));
    CHECK_FALSE(bench->start_machine());
    bench->run_until(sim::Instant{} + proto::milliseconds(1000));
    CHECK_FALSE(bench->emergency_stop("", true));
    bench->run_until(sim::Instant{} + proto::milliseconds(2000));
    CHECK(tests::what_differs(file, 1, Begin::by_hand, *bench, shown).empty());
    tests::DeskFile kept = file;
    kept.text = tests::lasting(file.text, bench->kept_duration(), false) + "\n" + bench->kept_blocks();
    const auto again = tests::bench_of(kept, 1, Begin::as_written, &run);
    again->run_until(bench->now());
    CHECK(bench->shown().machines.front().speed_um_s == 0);
    CHECK(again->shown().machines.front().speed_um_s > 0);
    CHECK(shown.front().size() > run.front().size());
}

TEST_CASE("the law of a desk is one that can be broken") {
    const tests::DeskFile file =
        tests::desk_file(std::string(LINKDRILL_SOURCE_DIR) + "/scenarios/glass_line/cell.toml");
    const std::vector<sim::Scenario> links = tests::links_of(file);
    sim::DeskTrace trace;
    const auto bench = tests::bench_of(file, 23, Begin::by_hand, &trace);
    tests::RandomPeople people(23);
    for (unsigned i = 0; i < 40; ++i) people.act(*bench, links);
    CHECK(tests::what_differs(file, 23, Begin::by_hand, *bench, trace).empty());
    // other draws, another run
    CHECK_FALSE(tests::what_differs(file, 24, Begin::by_hand, *bench, trace).empty());
    // a change that was not shown
    trace[1].pop_back();
    CHECK_FALSE(tests::what_differs(file, 23, Begin::by_hand, *bench, trace).empty());
}

}  // namespace
